"""The invented population: what each horse truly is, and how good it truly is on a day."""

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from upsides.demo.names import horse_names

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_CROPS = {2017: 40, 2018: 70, 2019: 100, 2020: 120, 2021: 140, 2022: 150, 2023: 150, 2024: 130}
_STRING_BY_AGE = {2: 5, 3: 7, 4: 5, 5: 4, 6: 2, 7: 1}
_SIRES = 40
_STEP_DAYS = 7


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
        mass_kg: own mass in kg.
        starts, ends: first and last day in training, proleptic ordinal.
        trainer: index of the trainer.
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
    mass_kg: Floats
    starts: Ints
    ends: Ints
    trainer: Ints
    form_lb: Floats
    form_from: int


def breed(rng: np.random.Generator, first: date, today: date, trainers: int) -> Horses:
    """Make the population.

    Args:
        rng: source of chance.
        first: first day of racing.
        today: the invented yard's today.
        trainers: number of trainers; trainer 0 is the invented yard.

    Returns:
        About 900 horses of eight crops.
    """
    foaled = np.repeat(np.array(list(_CROPS)), np.array(list(_CROPS.values())))
    count = foaled.size
    names = horse_names(rng, 2 * count + _SIRES)
    sire = rng.integers(_SIRES, size=count)
    sire_best = np.exp(rng.normal(np.log(1650), 0.25, _SIRES))
    starts, ends = _careers(rng, foaled, first, today)
    return Horses(
        names=names[:count],
        foaled=foaled,
        sex=rng.choice(np.array(["gelding", "filly", "colt"]), count, p=[0.45, 0.38, 0.17]),
        sire=sire,
        sires=names[2 * count :],
        dams=names[count : 2 * count],
        mature_lb=np.clip(rng.normal(70, 13, count) + rng.gamma(1.2, 4.0, count) - 5, 38, 122),
        late_lb=rng.normal(0, 6, count),
        best_m=np.clip(sire_best[sire] * np.exp(rng.normal(0, 0.16, count)), 950, 3300),
        width=np.clip(np.exp(rng.normal(np.log(0.3), 0.3, count)), 0.15, 0.6),
        soft_lb=rng.normal(0, 1.0, count),
        synthetic_lb=rng.normal(0, 2.0, count),
        front=rng.normal(0, 0.35, count),
        mass_kg=rng.normal(478, 27, count),
        starts=starts,
        ends=ends,
        trainer=_stables(rng, foaled, starts, ends, today, trainers),
        form_lb=_form(rng, count, (today - first).days // _STEP_DAYS + 2),
        form_from=first.toordinal(),
    )


def _careers(rng: np.random.Generator, foaled: Ints, first: date, today: date) -> tuple[Ints, Ints]:
    at_two = np.array([date(year + 2, 4, 20).toordinal() for year in foaled])
    starts = at_two + rng.gamma(1.6, 110, foaled.size).astype(np.int64)
    starts = np.minimum(starts, today.toordinal() - rng.integers(0, 50, foaled.size))
    ends = starts + 250 + rng.exponential(800, foaled.size).astype(np.int64)
    late = rng.integers(120, 1100, foaled.size) + first.toordinal()
    return starts, np.where(ends < first.toordinal() + 90, late, ends)


def _stables(rng: np.random.Generator, foaled: Ints, starts: Ints, ends: Ints, today: date, trainers: int) -> Ints:
    trainer = rng.integers(1, trainers, foaled.size)
    day = today.toordinal()
    for age, wanted in _STRING_BY_AGE.items():
        seasoned = day - (60 if age > 2 else 0)
        here = np.flatnonzero((today.year - foaled == age) & (starts <= seasoned) & (ends > day))
        trainer[rng.choice(here, wanted, replace=False)] = 0
    return trainer


def _form(rng: np.random.Generator, horses: int, weeks: int, sd: float = 4.5, days: float = 60.0) -> Floats:
    keep = math.exp(-_STEP_DAYS / days)
    path = np.empty((horses, weeks))
    path[:, 0] = rng.normal(0, sd, horses)
    for week in range(1, weeks):
        path[:, week] = keep * path[:, week - 1] + rng.normal(0, sd * np.sqrt(1 - keep**2), horses)
    return path


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
    week = (day.toordinal() - horses.form_from) / _STEP_DAYS
    low = int(week)
    form = horses.form_lb[which, low] * (1 - week + low) + horses.form_lb[which, low + 1] * (week - low)
    level: Floats = horses.mature_lb[which] - growing - fading + form
    return level


def trip_loss(horses: Horses, which: Ints, distance_m: float) -> Floats:
    """Return the pounds lost over `distance_m` against the best trip, at most 40, shape of `which`."""
    octaves = np.log2(distance_m / horses.best_m[which])
    return np.minimum(40.0, 3.0 * (octaves / horses.width[which]) ** 2)
