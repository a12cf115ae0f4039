"""The programme of races to come, as of a moment: races by a short code that stays theirs when they are moved."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from upsides.books.queries.moments import Moment
from upsides.placing import Race, races_of, settled
from upsides.placing.programme import Refused, identity
from upsides.results.programme import FOLDER, GONE, kept_programmes

CODE_LENGTH = 12


@dataclass(frozen=True, slots=True, eq=False)
class Programme:
    """What was heard of races to come.

    Args:
        races: all of them by code, in order of day, course and number; those that are over too.
        refused: rows of which no race could be made.
        heard: the day of the last programme, None where none was heard.
    """

    races: Mapping[str, Race]
    refused: tuple[Refused, ...] = ()
    heard: date | None = None

    def between(self, first: date, last: date) -> dict[str, Race]:
        """Return the races of some days, both included."""
        return {code: race for code, race in self.races.items() if first <= race.day <= last}


def code_of(race: Race) -> str:
    """Return a race's code, the same in every programme of its source that names it by its own number."""
    return sha256("\x1f".join(identity(race)).encode()).hexdigest()[:CODE_LENGTH]


def programme(folder: Path, moment: Moment) -> Programme:
    """Return the programme as it was heard up to the moment's day; nothing where none was.

    Args:
        folder: of the library.
        moment: when to look from.
    """
    return _read(folder, _state(folder), moment.day)


def _state(folder: Path) -> tuple[tuple[str, int], ...]:
    """Return what changes whenever a programme is kept or taken back."""
    kept = (path for ending in ("*.parquet", f"*{GONE}") for path in (folder / FOLDER).glob(ending))
    return tuple(sorted((path.name, path.stat().st_mtime_ns) for path in kept))


@lru_cache(maxsize=8)
def _read(folder: Path, _files: tuple[tuple[str, int], ...], day: date) -> Programme:
    known: tuple[Race, ...] = ()
    refused: list[Refused] = []
    heard = None
    for frame in kept_programmes(folder, day):
        races, wrong = races_of(frame)
        known, _heard = settled(known, races)
        refused += wrong
        heard = max(heard or frame["heard"][0], frame["heard"][0])
    return Programme(_by_code(known), tuple(refused), heard)


def _by_code(races: Iterable[Race]) -> dict[str, Race]:
    return {code_of(race): race for race in races}
