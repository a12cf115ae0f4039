"""A work judged: what a gap between horses that worked together says of what they are worth, reserves and all."""

from upsides.recordings.judging.ages import age_lb
from upsides.recordings.judging.belief import Belief, with_works
from upsides.recordings.judging.judged import Beside, JudgedWork, log_likelihood, margin_lb
from upsides.recordings.judging.reserves import USUAL, Reading, Ridden

__all__ = [
    "USUAL",
    "Belief",
    "Beside",
    "JudgedWork",
    "Reading",
    "Ridden",
    "age_lb",
    "log_likelihood",
    "margin_lb",
    "with_works",
]
