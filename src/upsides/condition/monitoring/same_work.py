"""Hearts as if after the same exercise: what the exercise, and how fast it was gone, does to them is taken out.

A heart is higher after fast work than after a canter. Over all horses of the yard

    value = horse + exercise + slope(exercise) (speed - mean speed(exercise)) + what is left

by least squares within horses, exercise and slope drawn to nought as by one reading each, so that a horse that is begun
on another exercise is told from one that has changed by what other horses do after both. The usual of each horse, and
how it moves, is left to the watch.

One horse's heart goes up more for fast work than another's: of what is left its own mean after each exercise, drawn to
nought as by half a reading, is taken out, too.
"""

from typing import Final

import numpy as np

from upsides.condition.monitoring.readings import Floats, Ints

RIDGE: Final = 1.0
"""An effect is drawn to nought as by so many readings. Our own choice."""
OWN: Final = 0.5
"""What an exercise does to one horse besides is drawn to nought as by so many readings. Our own choice."""


def as_after_one(horse: Ints, exercise: Ints, value: Floats, speed: Floats | None = None) -> Floats:
    """Return hearts as they would be after an exercise that raises them as the mean of all does.

    Args:
        horse: (n,) codes from 0.
        exercise: (n,) codes from 0.
        value: (n,) beats a minute.
        speed: (n,) of the work, m/s; None where a heart does not depend on it within an exercise.
    """
    if not value.size:
        return value
    effects = np.eye(int(exercise.max()) + 1)[exercise]
    if speed is not None:
        about = speed - (np.bincount(exercise, speed) / np.maximum(np.bincount(exercise), 1))[exercise]
        effects = np.column_stack([effects, effects * about[:, None]])
    within = _within(horse, effects)
    found = np.linalg.solve(
        within.T @ within + RIDGE * np.eye(effects.shape[1]), within.T @ _within(horse, value[:, None])[:, 0]
    )
    told = effects @ found
    cell = horse * (int(exercise.max()) + 1) + exercise
    left, count = _within(horse, (value - told)[:, None])[:, 0], np.bincount(cell)
    told = told + (np.bincount(cell, left) / (count + OWN))[cell]
    return np.asarray(value - told + told.mean())


def _within(horse: Ints, columns: Floats) -> Floats:
    """Return columns about their means of each horse."""
    count = np.bincount(horse)[:, None]
    sums = np.zeros((count.size, columns.shape[1]))
    np.add.at(sums, horse, columns)
    return np.asarray(columns - (sums / np.maximum(count, 1))[horse])
