"""What an exercise usually comes to before a yard has measured any: a table of whole outings, part by part."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from upsides.condition.done.spreading import spread
from upsides.errors import ExerciseTableError
from upsides.errors.wording import gettext as _
from upsides.recordings.bouts.bins import COUNT, STEP_MS

Floats = NDArray[np.float64]

SHIPPED: Final = "exercises.toml"
FARTHEST_M: Final = 40_000.0
FASTEST_MS: Final = 20.0


@dataclass(frozen=True, slots=True)
class Part:
    """One part of an outing.

    Attributes:
        metres: how far.
        speed_ms, sd_ms: mean speed and its standard deviation from one moment and horse to another, m/s.
        at_pace: whether it is the part that an ordered distance, or told minutes, stand for.
        source: who says so.
    """

    metres: float
    speed_ms: float
    sd_ms: float
    at_pace: bool
    source: str


@dataclass(frozen=True, slots=True)
class Exercise:
    """What an exercise usually comes to.

    Attributes:
        name: a word of the diary.
        parts: of the outing; none where nothing is gone, or how far cannot be told (turned out, swimming).
        from_ms: from which speed on a step belongs to the part at pace.
        besides: whether it is done apart from the ridden outing.
    """

    name: str
    parts: tuple[Part, ...]
    from_ms: float
    besides: bool

    @property
    def profile(self) -> Floats:
        """Return (COUNT,) metres by step of speed."""
        told = [spread(one.metres, one.speed_ms, one.sd_ms)[0] for one in self.parts]
        return np.asarray(np.sum([np.zeros(COUNT), *told], axis=0))

    @property
    def at_pace(self) -> Floats:
        """Return (COUNT,) which steps belong to the part at pace, as 0 and 1."""
        return (np.arange(COUNT) >= round(self.from_ms / STEP_MS)).astype(np.float64)

    @property
    def pace_ms(self) -> float:
        """Return the speed of the part at pace, m/s; 0 where there is none."""
        return next((one.speed_ms for one in self.parts if one.at_pace), 0.0)


def exercises(own: Path | None = None) -> dict[str, Exercise]:
    """Return what each exercise usually comes to, by its word in the diary.

    Args:
        own: a table of the yard's own, laid out like the shipped one; what stands in it goes before that.

    Raises:
        ExerciseTableError: the table cannot be used.
    """
    shipped = tomllib.loads(files("upsides.condition").joinpath("data", SHIPPED).read_text(encoding="utf-8"))
    found = dict(_read(shipped, SHIPPED))
    if own is not None:
        found |= dict(_read(_table(own), own))
    return found


def _table(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ExerciseTableError(
            path, _("the file itself"), _("it cannot be opened ({error})", error=error.strerror)
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ExerciseTableError(
            path, _("the file itself"), _("it is not TOML in UTF-8 ({error})", error=error)
        ) from error


def _read(table: Mapping[str, Any], file: object) -> Iterator[tuple[str, Exercise]]:
    listed = table.get("exercise")
    if not isinstance(listed, Mapping):
        raise ExerciseTableError(file, _("the table itself"), _("it has no [exercise.NAME]"))
    for name, body in listed.items():
        parts = tuple(_part(one, str(table.get("source", "")), file, name) for one in _parts(body, file, name))
        if parts and sum(one.at_pace for one in parts) != 1:
            raise ExerciseTableError(file, name, _("one part, and only one, is at_pace"))
        beginning = _number(body, "from_ms", (0.0, FASTEST_MS), file, name) if parts else 0.0
        yield name, Exercise(name, parts, beginning, bool(body.get("besides", False)))


def _parts(body: Any, file: object, name: str) -> list[Any]:
    if not isinstance(body, Mapping) or not isinstance(body.get("parts"), list):
        raise ExerciseTableError(file, name, _("it has no list of parts"))
    return list(body["parts"])


def _part(part: Any, source: str, file: object, name: str) -> Part:
    if not isinstance(part, Mapping):
        raise ExerciseTableError(file, name, _("a part is metres, speed_ms and sd_ms in curly brackets"))
    spans = {"metres": (0.0, FARTHEST_M), "speed_ms": (0.5, FASTEST_MS), "sd_ms": (0.05, 4.0)}
    metres, speed, sd = (_number(part, key, span, file, name) for key, span in spans.items())
    return Part(metres, speed, sd, bool(part.get("at_pace", False)), str(part.get("source", source)))


def _number(body: Mapping[str, Any], key: str, span: tuple[float, float], file: object, name: str) -> float:
    value, (low, high) = body.get(key), span
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise ExerciseTableError(
            file,
            name,
            _(
                "{key} is a number from {low:g} to {high:g}, and here it is {value!r}",
                key=key,
                low=low,
                high=high,
                value=value,
            ),
        )
    return float(value)
