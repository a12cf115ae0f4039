"""A clean track: what one horse did, in metres on a plane, smoothed, each value with its error."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.recording import Message


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane that touches the earth (WGS 84) at a point, good to a centimetre within ten kilometres of it.

    Attributes:
        latitude: degrees north of the point.
        longitude: degrees east.
    """

    latitude: float
    longitude: float


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """One recording, cleaned and smoothed: m moments in rising order of time, none twice.

    Attributes:
        plane: where the plane of `east_m` and `north_m` touches the earth; None without positions.
        time_s: (m,) seconds since 1970-01-01 UTC.
        east_m: (m,) metres east of the plane's point; NaN within gaps; short ones are bridged, with a wider error.
        north_m: (m,) metres north.
        position_sd_m: (m,) standard deviation of the position along the way, m.
        speed_ms: (m,) horizontal speed, m/s.
        speed_sd_ms: (m,) its standard deviation, m/s.
        along_m: (m,) distance gone since the start, m, not counted over gaps.
        height_m: (m,) metres above mean sea level where `height_from` says so.
        gradient: (m,) rise over run along the way, a fraction; NaN where height is not known.
        heart_bpm: (m,) beats a minute, NaN where none was kept.
        stretch: (m,) number of the unbroken stretch, from 0: a new one after each gap.
        kept: share of the fixes with a position that were kept, 0 to 1.
        heart_kept: share of the heart rates that were kept, 0 to 1; NaN without a heart rate.
        height_from: "device", "tile", or "".
        messages: what was mended or left out, in plain sentences.
    """

    plane: Plane | None
    time_s: NDArray[np.float64]
    east_m: NDArray[np.float64]
    north_m: NDArray[np.float64]
    position_sd_m: NDArray[np.float64]
    speed_ms: NDArray[np.float64]
    speed_sd_ms: NDArray[np.float64]
    along_m: NDArray[np.float64]
    height_m: NDArray[np.float64]
    gradient: NDArray[np.float64]
    heart_bpm: NDArray[np.float64]
    stretch: NDArray[np.int64]
    kept: float
    heart_kept: float
    height_from: str = ""
    messages: tuple[Message, ...] = ()

    def __len__(self) -> int:
        return self.time_s.size

    @property
    def rare(self) -> bool:
        """Whether places come too rarely to tell fast work, furlongs and shares of speed."""
        return any(one.code == "fixes_rare" for one in self.messages)
