"""Whether condition was worked out by a moment, for which day and when; read without the code that works it out."""

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final

from upsides.books.models import Answer
from upsides.books.models.answer import EXERCISES, LATER, OF_A_DAY, WATCH
from upsides.books.queries import moments
from upsides.books.queries.days import moment_on
from upsides.books.queries.moments import Moment

EARLY: Final = time(6)
"""An earlier day is worked out as it was known at this time of it."""


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """What was worked out by a moment.

    Args:
        watched: day up to which readings were watched; None where they were not.
        exercises: whether what exercises come to in this yard was; else the table of exercises stands alone.
        later: when readings were watched for a past day; None where it was by the moment itself, or not at all.
        whole: whether all of it was for the moment's day.
    """

    watched: date | None = None
    exercises: bool = False
    later: datetime | None = None
    whole: bool = False


NOTHING: Final = WorkedOut()


def worked_out(moment: Moment) -> WorkedOut:
    """Return what was worked out by a moment."""
    found = moments.answers(OF_A_DAY, moment)
    watch = found.get(WATCH)
    whole = len(found) == len(OF_A_DAY) and all(one.day == moment.day for one in found.values())
    return WorkedOut(watch.day if watch else None, EXERCISES in found, later_at(watch), whole)


def later_at(answer: Answer | None) -> datetime | None:
    """Return when an answer was made that was made later for its day; None for any other."""
    return answer.recorded_at if answer is not None and answer.name.endswith(LATER) else None


def known_at(moment: Moment) -> datetime:
    """Return by what was known when an earlier moment's day is worked out: at six that morning, or earlier."""
    early = moment_on(moment.day, EARLY)
    return early if moment.at is None else min(moment.at, early)
