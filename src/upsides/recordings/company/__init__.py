"""Horses that worked together: which, who led where, who finished in front, and by how much with what error."""

from upsides.recordings.company.clocks import Clocks, Paced, clocks_of, paced
from upsides.recordings.company.gaps import Gaps, gaps_of
from upsides.recordings.company.outcome import LENGTH_M, Outcome
from upsides.recordings.company.placing import Placed, placed
from upsides.recordings.company.thumb import by_thumb, by_thumb_of
from upsides.recordings.company.together import USUAL, Company, Pair, Settings, companies_of
from upsides.recordings.company.told import Stood, Told, told

__all__ = [
    "LENGTH_M",
    "USUAL",
    "Clocks",
    "Company",
    "Gaps",
    "Outcome",
    "Paced",
    "Pair",
    "Placed",
    "Settings",
    "Stood",
    "Told",
    "by_thumb",
    "by_thumb_of",
    "clocks_of",
    "companies_of",
    "gaps_of",
    "paced",
    "placed",
    "told",
]
