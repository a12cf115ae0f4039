"""Horses that worked together: which, who led where, who finished in front, and by how much with what error."""

from upsides.recordings.company.clocks import Clocks, Paced, clocks_of, paced
from upsides.recordings.company.gaps import Gaps, gaps_of
from upsides.recordings.company.outcome import LENGTH_M, Led, Outcome, led
from upsides.recordings.company.thumb import ONE_START_S, by_thumb
from upsides.recordings.company.together import USUAL, Company, Pair, Settings, companies_of
from upsides.recordings.company.told import Stood, Told, told
from upsides.recordings.company.upsides import Upsides, upsides_of

__all__ = [
    "LENGTH_M",
    "ONE_START_S",
    "USUAL",
    "Clocks",
    "Company",
    "Gaps",
    "Led",
    "Outcome",
    "Paced",
    "Pair",
    "Settings",
    "Stood",
    "Told",
    "Upsides",
    "by_thumb",
    "clocks_of",
    "companies_of",
    "gaps_of",
    "led",
    "paced",
    "told",
    "upsides_of",
]
