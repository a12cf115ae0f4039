"""What a worker found out about condition over the whole yard, as it was known at a moment."""

from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, Final

from upsides.books.answers import read_change, read_gaps, read_usual
from upsides.books.models import Answer
from upsides.books.models.answer import EXERCISES, GAPS, HEARTS, LATER, OF_A_DAY, SPREADS, WATCH
from upsides.books.queries import moments
from upsides.books.queries.days import moment_on
from upsides.books.queries.moments import Moment
from upsides.condition.done.exercises import exercises
from upsides.condition.done.usual import Usual
from upsides.condition.fresh.gaps import Gaps
from upsides.recordings.heart.trends import Change

WARMTH: Final = ", warmth known"
"""Behind the name of a kind of reading: how many of them."""
EARLY: Final = time(6)
"""An earlier day is worked out as it was known at this time of it."""
OWN_EXERCISES: Final = "exercises.toml"
"""A table of the yard's own in the library's folder, of what exercises come to."""


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


def usual_exercises(library: Path, moment: Moment) -> Usual:
    """Return what exercises come to in this yard: by its table, and by what was measured.

    Raises:
        ExerciseTableError: the yard's own table cannot be used.
    """
    own = library / OWN_EXERCISES
    return read_usual(_values(EXERCISES, moment), exercises(own if own.exists() else None))


def changes_of(moment: Moment, horse: int) -> dict[str, Change]:
    """Return how a horse's heart and speed have changed, by the kind of evidence."""
    found = _values(HEARTS, moment)
    return {kind: read_change(horse, horses[str(horse)]) for kind, horses in found.items() if str(horse) in horses}


def warmth_known(moment: Moment) -> tuple[int, int]:
    """Return of how many readings of hearts and speeds it was known how warm it was, and how many there were."""
    row = moments.answer(HEARTS, moment)
    counts = row.made_from if row is not None else {}
    known = {name: int(counts[name]) for name in counts if name.endswith(WARMTH)}
    return sum(known.values()), sum(int(counts[name.removesuffix(WARMTH)]) for name in known)


def yard_spreads(moment: Moment) -> dict[str, float]:
    """Return the spread within horses over the yard, by sign."""
    return {name: float(sd) for name, sd in _values(SPREADS, moment).items()}


def gaps_between_runs(moment: Moment) -> Gaps | None:
    """Return what results say of gaps between runs; None where nobody looked."""
    found = _values(GAPS, moment)
    return read_gaps(found) if found else None


def _values(name: str, moment: Moment) -> dict[str, Any]:
    row = moments.answer(name, moment)
    return dict(row.values) if row is not None else {}
