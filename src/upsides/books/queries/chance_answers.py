"""Chances in races to come as a worker found them out, as they were known at a moment."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from upsides.books.chances import RaceChance, read_chance
from upsides.books.models.answer import CHANCES
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.errors.wording import of_kept


@dataclass(frozen=True, slots=True)
class Worked:
    """The chances of ours in one race, as they were worked out.

    Args:
        horses: by number of the horse.
        why: why there are none, empty where there are.
        at: when it was worked out.
        fit: results before this day were known; None where there is no fit.
        late: numbers of horses that had a chance and can no longer get to the start.
        out: those that were taken out.
        unnamed: those that the card of a settled field does not name.
    """

    horses: Mapping[int, RaceChance]
    why: str
    at: datetime
    fit: date | None
    late: frozenset[int] = frozenset()
    unnamed: frozenset[int] = frozenset()
    out: frozenset[int] = frozenset()


def answer_name(code: str) -> str:
    """Return under which name the chances in a race are kept."""
    return f"{CHANCES} {code}"


def chances_worked(moment: Moment, codes: Collection[str]) -> dict[str, Worked]:
    """Return the chances in some races as they were known, by code; a race that nobody worked out is not in it."""
    found = moments.answers([answer_name(code) for code in codes], moment)
    return {
        code: Worked(
            {int(number): read_chance(kept) for number, kept in row.values.get("horses", {}).items()},
            of_kept(row.values.get("why", "")),
            row.recorded_at,
            date.fromisoformat(row.made_from["fit"]) if row.made_from.get("fit") else None,
        )
        for code in codes
        if (row := found.get(answer_name(code))) is not None
    }
