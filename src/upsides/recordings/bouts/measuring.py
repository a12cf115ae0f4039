"""What is measured of one bout."""

from dataclasses import dataclass

import numpy as np

from upsides.recordings.bouts.along import Along, along_of
from upsides.recordings.bouts.best import Best, bests
from upsides.recordings.bouts.bins import Bins, binned
from upsides.recordings.bouts.bout import Bout
from upsides.recordings.bouts.furlongs import Section, furlongs
from upsides.recordings.bouts.strides import Striding
from upsides.recordings.track import Track

TOP_S = 2.0
"""The highest speed is the highest mean over so many seconds."""


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
        top_ms: the highest mean speed over `TOP_S`; a little too high where speeds are uncertain, as it is picked.
        top_sd_ms: its standard deviation, the pick not held.
        furlongs: every whole furlong from its start, of canter and fast work.
        bests: the fastest 1, 2, 3 and 5 furlongs in it, of canter and fast work.
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
    return Measures(
        bout=bout,
        metres=along.metres,
        metres_sd=metres_sd,
        rise_m=float(along.height_m[-1] - along.height_m[0]),
        mean_ms=along.metres / bout.seconds,
        mean_sd_ms=metres_sd / bout.seconds,
        top_ms=top,
        top_sd_ms=top_sd,
        furlongs=furlongs(along) if works else (),
        bests=bests(along) if works else (),
        bins=binned(along, striding),
    )


def _top(along: Along) -> tuple[float, float]:
    """Return the highest mean speed over `TOP_S`, or over all of a shorter bout, and its standard deviation."""
    over = min(TOP_S, float(along.time_s[-1] - along.time_s[0]))
    begins = np.minimum(along.time_s, along.time_s[-1] - over)
    means = (along.gone(begins + over) - along.gone(begins)) / over
    highest = int(np.argmax(means))
    sd = along.gone_sd(begins[highest : highest + 1], begins[highest : highest + 1] + over) / over
    return float(means[highest]), float(sd[0])
