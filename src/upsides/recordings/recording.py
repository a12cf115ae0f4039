"""A recording as a file holds it: what one device wrote down, nothing mended, nothing left out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal, Self

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.sentences import Values, sentence

COLUMNS: Final = (
    "time_s", "latitude", "longitude", "height_m", "speed_ms", "accuracy_m", "distance_m", "heart_bpm", "air_c",
)  # fmt: skip
"""What a fix may say."""

FormatName = Literal["gpx", "tcx", "fit", "csv", "nmea"]


@dataclass(frozen=True, slots=True)
class Device:
    """The device that wrote a recording, as far as the file says; "" where it does not."""

    maker: str = ""
    product: str = ""
    serial: str = ""

    def __bool__(self) -> bool:
        return bool(self.maker or self.product or self.serial)


@dataclass(frozen=True, slots=True)
class Message:
    """Something about a file that a person should know: what was lost, mended, or is odd.

    Attributes:
        code: what happened, in one stable word, e.g. "cut_off"; `sentences` has its sentence.
        values: what the sentence says, by name; `count` is how many fixes, bytes or lines it is about. One that an
            earlier version kept has the sentence itself, as `text`.
    """

    code: str
    values: Values = field(default_factory=dict, hash=False)

    @property
    def text(self) -> str:
        """The plain sentence, in English."""
        return sentence(self.code, self.values)

    @property
    def count(self) -> int:
        """How many fixes, bytes or lines it is about; 0 where that is not the question."""
        return int(self.values.get("count", 0))

    def as_json(self) -> dict[str, Any]:
        """Return it as it is kept."""
        return {"code": self.code, "values": dict(self.values)}

    @classmethod
    def of_json(cls, kept: Mapping[str, Any] | Sequence[Any]) -> Self:
        """Return it out of what is kept; earlier versions kept [code, sentence, count]."""
        if isinstance(kept, Mapping):
            return cls(kept["code"], kept["values"])
        code, text, count = kept
        return cls(code, {"text": text, "count": count})


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """Acceleration at a rate of its own.

    Attributes:
        time_s: (k,) seconds since 1970-01-01 UTC.
        g: (k, 3) acceleration along the device's three axes, in standard gravities, gravity included.
    """

    time_s: NDArray[np.float64]
    g: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Speeds:
    """The receiver's own speed where it was written more often than fixes.

    Attributes:
        time_s: (k,) seconds since 1970-01-01 UTC.
        ms: (k,) metres a second.
    """

    time_s: NDArray[np.float64]
    ms: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """One session of one device: n fixes in the order of the file, NaN where the file says nothing.

    Attributes:
        file: the name of the file; for one out of an archive "archive/member".
        format: the format it was read as.
        time_s: (n,) seconds since 1970-01-01 UTC, as written: not sorted, repeated times kept.
        latitude: (n,) degrees north, WGS 84.
        longitude: (n,) degrees east.
        height_m: (n,) metres, above whatever the device measures from.
        speed_ms: (n,) the receiver's own speed, m/s.
        accuracy_m: (n,) what the receiver says of its own horizontal error, m: radial, so that on one axis it is
            less by the square root of 2.
        distance_m: (n,) the device's own running distance, m.
        heart_bpm: (n,) beats a minute, as written (255 and 0 where they stand for nothing are NaN).
        air_c: (n,) the device's own thermometer, degrees Celsius: it hangs on a warm horse, and reads above the air.
        segment: (n,) number of the lap or track segment that a fix belongs to, from 0.
        device: who wrote it.
        sport: what the file calls it, "" where it does not.
        motion: acceleration, where recorded.
        speeds: the receiver's speed at a rate of its own, where it was written more often than fixes.
        messages: what a person should know of the reading.
    """

    file: str
    format: FormatName
    time_s: NDArray[np.float64]
    latitude: NDArray[np.float64]
    longitude: NDArray[np.float64]
    height_m: NDArray[np.float64]
    speed_ms: NDArray[np.float64]
    accuracy_m: NDArray[np.float64]
    distance_m: NDArray[np.float64]
    heart_bpm: NDArray[np.float64]
    air_c: NDArray[np.float64]
    segment: NDArray[np.int64]
    device: Device = field(default_factory=Device)
    sport: str = ""
    motion: Motion | None = None
    speeds: Speeds | None = None
    messages: tuple[Message, ...] = ()

    def __len__(self) -> int:
        return self.time_s.size

    @property
    def with_position(self) -> int:
        """How many fixes have a position."""
        return int(np.count_nonzero(np.isfinite(self.latitude) & np.isfinite(self.longitude)))

    @property
    def with_heart(self) -> int:
        """How many fixes have a heart rate."""
        return int(np.count_nonzero(np.isfinite(self.heart_bpm)))

    @classmethod
    def of_columns(
        cls,
        file: str,
        format: FormatName,  # noqa: A002 -- it is what the field is called
        fixes: int,
        /,
        *,
        segment: NDArray[np.int64] | None = None,
        device: Device | None = None,
        sport: str = "",
        motion: Motion | None = None,
        speeds: Speeds | None = None,
        messages: tuple[Message, ...] = (),
        **columns: NDArray[np.float64],
    ) -> Self:
        """Make a recording of the columns that a file has; the others are NaN.

        Raises:
            ValueError: a column that is not of one number a fix.
        """
        if unknown := set(columns) - set(COLUMNS):
            raise ValueError(f"no such column: {', '.join(sorted(unknown))}")
        filled = {name: np.asarray(columns.get(name, np.full(fixes, np.nan)), dtype=np.float64) for name in COLUMNS}
        if wrong := [name for name, column in filled.items() if column.shape != (fixes,)]:
            raise ValueError(f"not one number a fix: {', '.join(wrong)}")
        parts = np.zeros(fixes, dtype=np.int64) if segment is None else segment
        return cls(
            file,
            format,
            **filled,
            segment=parts,
            device=device or Device(),
            sport=sport,
            motion=motion,
            speeds=speeds,
            messages=messages,
        )
