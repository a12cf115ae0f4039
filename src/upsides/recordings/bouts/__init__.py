"""What a clean track says the horse did: bouts at each gait, and the clock of each."""

from upsides.recordings.bouts.along import Along, along_of
from upsides.recordings.bouts.best import Best, fastest
from upsides.recordings.bouts.bins import Bins
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.bouts.furlongs import Section
from upsides.recordings.bouts.gaits import USUAL, Settings, faster_than
from upsides.recordings.bouts.measuring import Measures, measures
from upsides.recordings.bouts.strides import Striding, strides_of

__all__ = [
    "USUAL",
    "Along",
    "Best",
    "Bins",
    "Bout",
    "Measures",
    "Section",
    "Settings",
    "Striding",
    "along_of",
    "bouts_of",
    "faster_than",
    "fastest",
    "measures",
    "pieces_of",
    "strides_of",
]
