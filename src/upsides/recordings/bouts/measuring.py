"""What is measured of one bout."""

from dataclasses import dataclass

import numpy as np

from upsides.recordings.bouts.along import Along, along_of
from upsides.recordings.bouts.best import Best, bests
from upsides.recordings.bouts.bins import Bins, binned
from upsides.recordings.bouts.bout import Bout
from upsides.recordings.bouts.furlongs import Section, furlongs
from upsides.recordings.bouts.gaits import TROT_CANTER
from upsides.recordings.bouts.strides import Striding
from upsides.recordings.track import Track

TOP_S, SECOND_S, STEP_S = 5.0, 1.0, 0.5
"""The highest speed is the highest held for the first, by means over the second that begin at steps of the third, s."""


SWING_MS = 1.5
"""What is faster than the highest speed held by more than this, of stride and noise, is a leap of the receiver's; our
own limit."""


@dataclass(frozen=True, slots=True, eq=False)
class Measures:
    """One bout in numbers.

    Attributes:
        bout: which.
        metres: how far.
        metres_sd: standard deviation of that.
        rise_m: metres that its end stands above its start; NaN where heights are not known.
        mean_ms: mean speed, m/s.
        mean_sd_ms: its standard deviation.
        top_ms: the highest speed held for `TOP_S`.
        top_sd_ms: the standard deviation of the mean over that time.
        furlongs: every whole furlong from its start, of canter and fast work; none where places come too rarely.
        bests: the fastest 1, 2, 3 and 5 furlongs in it, likewise.
        bins: distance and strides by speed.
    """

    bout: Bout
    metres: float
    metres_sd: float
    rise_m: float
    mean_ms: float
    mean_sd_ms: float
    top_ms: float
    top_sd_ms: float
    furlongs: tuple[Section, ...]
    bests: tuple[Best, ...]
    bins: Bins


def measures(track: Track, bout: Bout, striding: Striding | None = None) -> Measures:
    """Measure a bout, or a piece of work, of a track.

    Args:
        track: the whole track.
        bout: the bout in it.
        striding: its strides, where the recording holds them.
    """
    along = along_of(track, bout)
    whole = along.time_s[:1], along.time_s[-1:]
    metres_sd = float(along.gone_sd(*whole)[0])
    top, top_sd = _top(along)
    works = bout.kind in {"canter", "fast"}
    clocked = works and not track.rare
    return Measures(
        bout=bout,
        metres=along.metres,
        metres_sd=metres_sd,
        rise_m=float(along.height_m[-1] - along.height_m[0]),
        mean_ms=along.metres / bout.seconds,
        mean_sd_ms=metres_sd / bout.seconds,
        top_ms=top,
        top_sd_ms=top_sd,
        furlongs=furlongs(along) if clocked else (),
        bests=bests(along) if clocked else (),
        bins=binned(along, striding, min(top + SWING_MS, np.inf if works else TROT_CANTER.up_ms)),
    )


def _top(along: Along) -> tuple[float, float]:
    """Return the highest speed held for `TOP_S`, or for all of a shorter bout, and its standard deviation.

    It is held where no whole second is slower, so that a leap of the receiver's that lasts for less does not make it.
    """
    lasted = float(along.time_s[-1] - along.time_s[0])
    over = min(TOP_S, lasted)
    second = min(SECOND_S, over)
    begins = along.time_s[0] + STEP_S * np.arange(int((lasted - second) / STEP_S + 1e-6) + 1)
    means = (along.gone(begins + second) - along.gone(begins)) / second
    width = min(int((over - second) / STEP_S + 1e-6) + 1, means.size)
    held = np.lib.stride_tricks.sliding_window_view(means, width).min(axis=1)
    highest = int(np.argmax(held))
    sd = along.gone_sd(begins[highest : highest + 1], begins[highest : highest + 1] + over) / over
    return float(held[highest]), float(sd[0])
