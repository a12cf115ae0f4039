"""The invented population: what each horse truly is, and how good it truly is on a day."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FORM_STEP_DAYS = 7


@dataclass(frozen=True, slots=True)
class Horses:
    """The truth about every horse; one entry a horse in each array.

    Args:
        names: names.
        foaled: years of foaling.
        sex: colt, filly or gelding at three.
        sire: index into `sires`.
        sires: names of the sires.
        dams: name of each horse's dam.
        mature_lb: level when grown, lb on the handicap scale.
        late_lb: how far behind an average horse's growth it was at two, lb (negative: forward).
        best_m: best trip in metres.
        width: octaves away from the best trip that cost 3 lb.
        soft_lb: lb gained for each step of softer ground.
        synthetic_lb: lb gained on synthetic ground.
        front: running style, s ahead (negative) or behind its own even pace half way.
        constitution: how soon it gets over a race, 1 being ordinary: what the race took decays with a time
            constant of 12 days over this.
        response_lb: lb that fast work gains it at the most.
        mass_kg: own mass in kg.
        trained_from: first day in training, proleptic ordinal.
        starts, ends: first day on which it may be entered and last day in training, proleptic ordinal.
        trainer: index of the trainer it is with at the end.
        former: index of the trainer it was with before, the same one where it never moved.
        moved: day on which it moved, proleptic ordinal; 0 where it never did.
        form_lb: form in lb on a weekly grid, (horses, weeks), an Ornstein-Uhlenbeck path.
        form_from: ordinal of the grid's first day.
    """

    names: list[str]
    foaled: Ints
    sex: NDArray[np.str_]
    sire: Ints
    sires: list[str]
    dams: list[str]
    mature_lb: Floats
    late_lb: Floats
    best_m: Floats
    width: Floats
    soft_lb: Floats
    synthetic_lb: Floats
    front: Floats
    constitution: Floats
    response_lb: Floats
    mass_kg: Floats
    trained_from: Ints
    starts: Ints
    ends: Ints
    trainer: Ints
    former: Ints
    moved: Ints
    form_lb: Floats
    form_from: int


def trainers_on(horses: Horses, day: int) -> Ints:
    """Return the trainer of every horse on a day (proleptic ordinal), shape (horses,)."""
    return np.where(day >= horses.moved, horses.trainer, horses.former)


def age_years(horses: Horses, which: Ints, day: date) -> Floats:
    """Return years since 1 January of the year of foaling, shape of `which`."""
    into = float((day - date(day.year, 1, 1)) / timedelta(days=365.25))
    return (day.year + into) - horses.foaled[which].astype(np.float64)


def level_on(horses: Horses, which: Ints, day: date) -> Floats:
    """Return true levels on a day at each horse's best trip and ground, weight for age allowed.

    Args:
        horses: the population.
        which: indices, shape (n,).
        day: the day.

    Returns:
        Pounds on the handicap scale, shape (n,): mature level, less what a late horse still lacks beyond its
        age's average and what an old horse has lost, plus form.
    """
    age = age_years(horses, which, day)
    growing = horses.late_lb[which] * np.clip((4.5 - age) / 2.5, 0, None)
    fading = 1.0 * np.clip(age - 6.0, 0, None) ** 1.5
    week = (day.toordinal() - horses.form_from) / FORM_STEP_DAYS
    low = int(week)
    form = horses.form_lb[which, low] * (1 - week + low) + horses.form_lb[which, low + 1] * (week - low)
    level: Floats = horses.mature_lb[which] - growing - fading + form
    return level


def trip_loss(horses: Horses, which: Ints, distance_m: float) -> Floats:
    """Return the pounds lost over `distance_m` against the best trip, at most 40, shape of `which`."""
    octaves = np.log2(distance_m / horses.best_m[which])
    return np.minimum(40.0, 3.0 * (octaves / horses.width[which]) ** 2)
