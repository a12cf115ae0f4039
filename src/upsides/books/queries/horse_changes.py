"""What was changed about a horse itself, by whom and when: read from its history."""

from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from typing import Any, Final

from upsides.books.models import Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment

FIELDS: Final = (
    "name", "foaled", "foaled_on", "sex", "gelded_on", "sire", "dam", "colour", "markings", "passport", "microchip",
    "life_number", "carer_id", "joined", "left", "horse_key",
)  # fmt: skip
"""Fields that are told of, in the order of the form."""


@dataclass(frozen=True, slots=True)
class HorseChange:
    """One field that was changed.

    Args:
        at: when.
        by: who changed it, empty for the program itself or one whose name was removed.
        field: its name in the table, empty for the entering itself.
        old: the value before, None for none; people by their names.
        new: the value after.
    """

    at: datetime
    by: str
    field: str = ""
    old: str | int | date | None = None
    new: str | int | date | None = None


def changes(number: int, moment: Moment) -> list[HorseChange]:
    """Return what was changed about a horse up to a moment, latest first."""
    rows = Horse.history.filter(id=number).order_by("history_date", "history_id")
    told = list(rows if moment.at is None else rows.filter(history_date__lte=moment.at))
    people = [one for row in told for one in (row.history_user_id, row.carer_id)]
    names = moments.names(Person, moment, people)
    found = [HorseChange(told[0].history_date, names.get(told[0].history_user_id, ""))] if told else []
    for before, after in pairwise(told):
        by = names.get(after.history_user_id, "")
        for field in FIELDS:
            old, new = _value(before, field, names), _value(after, field, names)
            if old != new:
                found.append(HorseChange(after.history_date, by, field, old, new))
    return found[::-1]


def _value(row: Any, field: str, names: dict[int | None, str]) -> Any:
    value = getattr(row, field)
    return names.get(value) if field == "carer_id" else value
