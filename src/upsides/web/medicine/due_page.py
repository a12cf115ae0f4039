"""What is due over the yard, as a page."""

from pathlib import Path
from typing import Any, Final

from django.http import QueryDict

from upsides.books.queries.due import Due, DueKind, due
from upsides.books.queries.moments import Moment
from upsides.books.queries.yard_rules import yard_rules
from upsides.rules import CAUTION
from upsides.web.medicine.asking import days_of
from upsides.web.medicine.due_words import HEADINGS, about_due, due_words

WEEK: Final = 7
CHOICES: Final = (7, 14, 28)
"""Days ahead that the page offers."""


def due_page(moment: Moment, query: QueryDict, library: Path) -> dict[str, Any]:
    """Return what the page shows: what is overdue, then each kind by its last day.

    Raises:
        UnreadableError: the days that are asked for are no number.
    """
    days, own = days_of(query.get("days", ""), WEEK), yard_rules(library)
    found = due(moment, days, own.overrides)
    late = [one for one in found if one.overdue(moment.day)]
    rest = [one for one in found if not one.overdue(moment.day)]
    kinds = [(HEADINGS[kind], _rows([one for one in rest if one.kind is kind], moment)) for kind in HEADINGS]
    return {
        "moment": moment,
        "days": days,
        "choices": CHOICES,
        "sentence": about_due(found, moment.day, days),
        "late": _rows(late, moment),
        "kinds": [(title, rows) for title, rows in kinds if rows],
        "found": found,
        "stands": any(one.kind is DueKind.STAND_DOWN for one in found),
        "caution": CAUTION,
        "fault": own.fault,
    }


def _rows(found: list[Due], moment: Moment) -> list[tuple[Due, str]]:
    return [(one, due_words(one, moment.day)) for one in found]
