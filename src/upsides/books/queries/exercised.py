"""Which exercise a morning was, so that a heart is held against those after the same."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any, Final

from upsides.books.diary.work import EXERCISES, UNRIDDEN, Exercise, Ordered
from upsides.books.queries.days import entries_of, told_in
from upsides.books.queries.moments import Moment

Orders = Mapping[tuple[int | None, date], tuple[str, int | None]]
WORKED: Final = frozenset(EXERCISES) - UNRIDDEN - {"walk", "trot"}
"""Exercises with a piece of work in them."""


def orders_of(moment: Moment, first: date, horses: Collection[int]) -> Orders:
    """Return exercise and rider, None for nobody named, by horse and day: what the diary says last."""
    rows = entries_of(moment, [Ordered.name, Exercise.name], first, moment.day, horses)
    return {
        (horse, day): (exercise, None if rider is None else int(rider))
        for horse, day, (exercise, rider) in told_in(rows, "exercise", "rider")
    }


def exercise_of(said: str, works: Sequence[Mapping[str, Any]]) -> str:
    """Return the exercise of a recording: what the diary says where that was work, else the gait of its last work.

    Fast work that was ridden at a canter was half-speed, whatever was ordered.

    Args:
        said: the exercise that the diary says, "" where it says none.
        works: pieces of work as `Outing.measured` keeps them.

    Returns:
        One of `WORKED`, or canter or fast; "" where neither tells.
    """
    gait = str(works[-1]["kind"]) if works else ""
    if said == "fast" and gait == "canter":
        return "half_speed"
    return said if said in WORKED else gait
