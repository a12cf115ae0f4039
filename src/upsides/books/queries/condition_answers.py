"""What a worker found out about condition over the whole yard, as it was known at a moment."""

from pathlib import Path
from typing import Any, Final

from upsides.books.answers import read_change, read_gaps, read_usual
from upsides.books.models.answer import EXERCISES, GAPS, HEARTS, SPREADS
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.condition.done.exercises import exercises
from upsides.condition.done.usual import Usual
from upsides.condition.fresh.gaps import Gaps
from upsides.recordings.heart.trends import Change

WARMTH: Final = ", warmth known"
"""Behind the name of a kind of reading: how many of them."""
OWN_EXERCISES: Final = "exercises.toml"
"""A table of the yard's own in the library's folder, of what exercises come to."""


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
