"""What a worker found out about the level of horses that have not run."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from upsides.books.models.answer import UNRACED
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.standings import Level


@dataclass(frozen=True, slots=True)
class Said:
    """What one work says.

    Args:
        when: when it began.
        horses: numbers of those of known level beside it.
        moved: by how much this work alone would move the level, lb.
    """

    when: datetime
    horses: tuple[int, ...]
    moved: float


@dataclass(frozen=True, slots=True)
class Unraced:
    """What is thought of the level of a horse that has not run.

    Args:
        before: by what such horses are usually worth.
        after: with its works.
        works: what each says alone, the last first.
    """

    before: Level
    after: Level
    works: tuple[Said, ...]


def unraced(moment: Moment, horse: int) -> Unraced | None:
    """Return what is thought of a horse's level; None where it has run, or nobody has looked yet."""
    known = moments.answer(UNRACED, moment)
    kept: Mapping[str, Any] | None = known.values.get(str(horse)) if known is not None else None
    if kept is None:
        return None
    works = (Said(datetime.fromisoformat(at), tuple(horses), moved) for at, horses, moved in kept["works"])
    before, after = (Level(lb, sd, 0) for lb, sd in (kept["before"], kept["after"]))
    return Unraced(before, after, tuple(works))
