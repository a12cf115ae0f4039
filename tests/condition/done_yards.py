"""Yards with invented days of work, for the tests of what was done."""

from datetime import date

import numpy as np

from upsides.condition.done.dates import Dates
from upsides.condition.done.days import Days
from upsides.condition.done.rows import SOURCES, Rows
from upsides.condition.done.summary import Yard, yard_of
from upsides.recordings.bouts.bins import COUNT, STEP_MS

TODAY = date(2026, 6, 30)


def rows_of(listed: list[tuple[int, date, float, float]], source: str = "tracker") -> Rows:
    """Return rows of (horse, day, speed m/s, metres); strides are metres by six."""
    horse, day, speed, metres = (np.array(column) for column in zip(*listed, strict=True))
    when = np.array([one.toordinal() for one in day])
    far = metres.astype(np.float64)
    return Rows(horse.astype(np.int64), when, (speed / STEP_MS).astype(np.int64), far, far / 6,
                np.full(horse.size, SOURCES.index(source)))  # fmt: skip


def yard(
    listed: list[tuple[int, date, float, float]],
    runs: list[tuple[int, date]] | None = None,
    entered: date | None = date(2025, 1, 1),
    known_from: date | None = date(2025, 1, 1),
) -> Yard:
    """Return a yard of horses that did what is listed, all entered and known from the same days."""
    horses = 1 + max([one[0] for one in listed] + [one[0] for one in runs or []])
    raced = runs or []
    races = Dates.of([one[0] for one in raced], [one[1].toordinal() for one in raced])
    return yard_of(Days.of(rows_of(listed)), races, [entered] * horses, [known_from] * horses)


def random_rows(rng: np.random.Generator, count: int, horses: int, span: int) -> Rows:
    """Return rows at random, several to a day; strides are a sixth of the metres."""
    metres = rng.integers(0, 3000, count).astype(np.float64)
    return Rows(rng.integers(0, horses, count), TODAY.toordinal() - rng.integers(0, span, count),
                rng.integers(0, COUNT, count), metres, metres / 6, rng.integers(0, len(SOURCES), count))  # fmt: skip
