"""Readings of work as if after the same work: what the exercise and the circumstances do to them is taken out.

A heart is higher after fast work than after a canter, uphill, under one rider or in one going. Over all horses of the
yard

    value = horse + exercise + slope(exercise) (speed - mean speed(exercise)) + slope(exercise) rise + heat
            + gallop + going + rider + what is left

by least squares within horses, readings far off pulling with a bounded force (Huber 1964, Ann. Math. Stat. 35:73).
Each kind of effect is partially pooled: normal about nought, its variance learned from the readings (expectation and
maximisation, Dempster, Laird and Rubin 1977), so that what they say nothing of is hardly taken out. A horse that is
begun on another exercise, or gets another rider, is told from one that has changed by what other horses do after both.
The usual of each horse, and how it moves, is left to the watch.

One horse's heart goes up more for fast work than another's: of what is left its own mean after each exercise, drawn to
nought as by half a reading, is taken out, too.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from upsides.condition.monitoring.readings import Floats, Ints

OWN: Final = 0.5
"""What an exercise does to one horse besides is drawn to nought as by so many readings. Our own choice."""
ROUNDS: Final = 25
"""Rounds of learning how far effects vary; more change little."""
PULL: Final = 1.345
"""Beyond so many standard deviations a reading pulls with the same force (Huber's constant for 95 % efficiency)."""
HEARD: Final = 2.0
"""What an effect's variance is said to be beforehand, a hundredth of a reading's, counts as so many effects; our own
choice."""
BEFORE: Final = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Worked:
    """Under what circumstances readings were taken, each column of shape (n,).

    Attributes:
        exercise: codes from 0.
        speed: of the work, m/s; None where a reading does not depend on it within an exercise.
        rise: rise over run of the work.
        heat: of the air, degrees Celsius, NaN where not known.
        places: codes of gallop, of going, of rider; -1 where not known.
    """

    exercise: Ints
    speed: Floats | None = None
    rise: Floats | None = None
    heat: Floats | None = None
    places: Sequence[Ints] = ()


def as_after_one(horse: Ints, value: Floats, worked: Worked) -> Floats:
    """Return readings as they would be after work that does to them what the mean of all does.

    Args:
        horse: (n,) codes from 0.
        value: (n,) what was read.
        worked: the circumstances.
    """
    if not value.size:
        return value
    effects, kind = columns_of(worked)
    told = effects @ pooled(horse, value, effects, kind)
    exercises = int(worked.exercise.max()) + 1
    cell = horse * exercises + worked.exercise
    left, count = _within(horse, np.ones(value.size), (value - told)[:, None])[:, 0], np.bincount(cell)
    told = told + (np.bincount(cell, left) / (count + OWN))[cell]
    return np.asarray(value - told + told.mean())


def columns_of(worked: Worked) -> tuple[Floats, Ints]:
    """Return (n, p) columns of effects, and (p,) of which kind each is."""
    of_exercise = _levels(worked.exercise)
    parts = [of_exercise]
    parts += [of_exercise * _about(worked.exercise, one)[:, None] for one in (worked.speed, worked.rise)
              if one is not None]  # fmt: skip
    if worked.heat is not None:
        parts.append(_about(np.zeros(worked.exercise.size, dtype=np.int64), worked.heat)[:, None])
    parts += [_levels(codes) for codes in worked.places]
    return np.column_stack(parts), np.repeat(np.arange(len(parts)), [part.shape[1] for part in parts])


def pooled(horse: Ints, value: Floats, effects: Floats, kind: Ints) -> Floats:
    """Return (p,) effects within horses, each kind's variance learned.

    Args:
        horse: (n,) codes from 0.
        value: (n,) what was read.
        effects: (n, p) their columns.
        kind: (p,) codes from 0.
    """
    weight, found = np.ones(value.size), np.zeros(kind.size)
    about = _within(horse, weight, value[:, None])[:, 0]
    noise = max(float(about @ about) / value.size, 1e-12)
    count: Ints = np.bincount(kind)
    variance = np.full(count.size, noise)
    free = max(value.size - int(np.count_nonzero(np.bincount(horse))), 1)
    for turn in range(ROUNDS):
        if turn % 8 == 0:  # weigh anew
            left = _within(horse, weight, (value - effects @ found)[:, None])[:, 0]
            far = np.abs(left) / max(1.4826 * float(np.median(np.abs(left))), 1e-9)
            weight = np.minimum(1.0, PULL / np.maximum(far, 1e-9))
            X, y = (_within(horse, weight, one) for one in (effects, value[:, None]))
            XX, Xy, yy = (X * weight[:, None]).T @ X, (X * weight[:, None]).T @ y[:, 0], float(weight @ y[:, 0] ** 2)
        inverse = np.linalg.inv(XX / noise + np.diag(1.0 / variance[kind]))
        found = inverse @ Xy / noise
        squares = np.bincount(kind, found**2 + np.diag(inverse))
        noise = max((yy - float(found @ Xy)) / free, 1e-12)
        variance = np.maximum((squares + HEARD * BEFORE * noise) / (count + HEARD), 1e-9 * noise)
    return np.asarray(found)


def _levels(codes: Ints) -> Floats:
    """Return (n, levels) ones, none where a code is not known."""
    return np.asarray(codes[:, None] == np.arange(int(codes.max(initial=0)) + 1), dtype=np.float64)


def _about(exercise: Ints, column: Floats) -> Floats:
    """Return a column about its mean after each exercise in its standard deviations over all, 0 where not known."""
    known = np.isfinite(column)
    there = np.where(known, column, 0.0)
    mean = np.bincount(exercise, there) / np.maximum(np.bincount(exercise, known), 1)
    about = np.where(known, column - mean[exercise], 0.0)
    sd = float(about.std())
    return about / sd if sd > 1e-9 else np.zeros_like(about)


def _within(horse: Ints, weight: Floats, columns: Floats) -> Floats:
    """Return columns about their weighted means of each horse."""
    total = np.maximum(np.bincount(horse, weight), 1e-12)
    means = np.stack([np.bincount(horse, weight * column) / total for column in columns.T], axis=1)
    return np.asarray(columns - means[horse])
