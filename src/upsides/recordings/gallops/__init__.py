"""The yard's gallops as lines on the ground: recognised by shape, timed at their marks, learned from tracks."""

from upsides.recordings.gallops.from_track import gallop_from
from upsides.recordings.gallops.marks import Passing, passings, sections
from upsides.recordings.gallops.matching import Match, moved, recognise
from upsides.recordings.gallops.shape import Gallop, furlong_marks, gallop_line

__all__ = [
    "Gallop",
    "Match",
    "Passing",
    "furlong_marks",
    "gallop_from",
    "gallop_line",
    "moved",
    "passings",
    "recognise",
    "sections",
]
