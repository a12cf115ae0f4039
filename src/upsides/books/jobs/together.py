"""Who went upsides: found out by the worker whenever recordings of a day came in, and kept as an answer of that day."""

from collections import Counter
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from pathlib import Path

from upsides.books import clock
from upsides.books.models import Answer, Recorded
from upsides.books.models.answer import TOGETHER
from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.gallops import lines
from upsides.books.recordings.together import together
from upsides.books.services.answers import store
from upsides.books.upsides_answer import kept_upsides


def find_company(folder: Path, day: date) -> int:
    """Find out who went upsides on a day, by every recording that began on it, whosever it is; return how many pairs.

    Args:
        folder: the library's folder.
        day: of the yard.
    """
    rows = Recorded.objects.filter(began__range=day_span(day)).order_by("pk")
    recordings = {number: (sha, part) for number, sha, part in rows.values_list("pk", "sha256", "part")}
    if len(recordings) < 2:
        return 0
    found = together(folder, recordings, lines(moments.now()))
    store(TOGETHER, day, kept_upsides(found), {"recordings": len(recordings)})
    return len(found)


def find_missing(folder: Path, last: date, days: int) -> None:
    """Find out who went upsides on those of so many days on which more was recorded than the last answer knew."""
    rows = Recorded.objects.filter(began__range=day_span(last - timedelta(days=days - 1), days))
    counts = Counter(_day(began) for began in rows.values_list("began", flat=True) if began is not None)
    answers = Answer.objects.filter(name=TOGETHER, day__in=counts).order_by("recorded_at", "pk")
    known = dict(answers.values_list("day", "made_from__recordings"))
    for day, count in sorted(counts.items()):
        if known.get(day, 1) != count:
            find_company(folder, day)


def days_of(recorded: Iterable[Recorded]) -> set[date]:
    """Return the days of the yard on which recordings began."""
    return {_day(one.began) for one in recorded if one.began is not None}


def _day(at: datetime) -> date:
    return at.astimezone(clock.place().zone).date()
