"""The invented population made: what horses are born with, when they race, and with whom."""

import math
from datetime import date

import numpy as np

from upsides.demo.horses import FORM_STEP_DAYS, Floats, Horses, Ints
from upsides.demo.names import horse_names
from upsides.demo.sizes import Size

_MOVE = 0.08
"""Share of horses that move to another trainer once."""


def breed(rng: np.random.Generator, size: Size, first: date, today: date) -> Horses:
    """Make the population.

    Args:
        rng: source of chance.
        size: how many of what.
        first: first day of racing.
        today: the invented yard's today.

    Returns:
        The horses of all crops; those whose trainer is 0 are or were the invented yard's.
    """
    foaled = np.repeat(today.year - np.array(list(size.crops)), np.array(list(size.crops.values())))
    count = foaled.size
    names = horse_names(rng, 2 * count + size.sires)
    sire = rng.integers(size.sires, size=count)
    sire_best = np.exp(rng.normal(np.log(1650), 0.25, size.sires))
    trained_from, starts, ends = _careers(rng, foaled, first, today)
    trainer = _stables(rng, size, today.year - foaled, trained_from, starts, ends, today.toordinal())
    former, moved = _moves(rng, size, trainer, starts, np.minimum(ends, today.toordinal()))
    return Horses(
        names=names[:count],
        foaled=foaled,
        sex=rng.choice(np.array(["gelding", "filly", "colt"]), count, p=[0.45, 0.38, 0.17]),
        sire=sire,
        sires=names[2 * count :],
        dams=names[count : 2 * count],
        mature_lb=np.clip(rng.normal(68, 13, count) + rng.gamma(1.2, 4.0, count) - 5, 36, 120),
        late_lb=rng.normal(0, 6, count),
        best_m=np.clip(sire_best[sire] * np.exp(rng.normal(0, 0.16, count)), 950, 3300),
        width=np.clip(np.exp(rng.normal(np.log(0.3), 0.3, count)), 0.15, 0.6),
        soft_lb=rng.normal(0, 1.0, count),
        synthetic_lb=rng.normal(0, 2.0, count),
        front=rng.normal(0, 0.35, count),
        constitution=np.clip(np.exp(rng.normal(0, 0.35, count)), 0.4, 2.5),
        response_lb=np.clip(rng.normal(4.5, 1.3, count), 1.0, 8.0),
        mass_kg=rng.normal(478, 27, count),
        trained_from=trained_from,
        starts=starts,
        ends=ends,
        trainer=trainer,
        former=former,
        moved=moved,
        form_lb=_form(rng, count, (today - first).days // FORM_STEP_DAYS + 2),
        form_from=first.toordinal(),
    )


def _careers(rng: np.random.Generator, foaled: Ints, first: date, today: date) -> tuple[Ints, Ints, Ints]:
    """Return the first day in training, the first on which it may be entered, and the last, of each horse."""
    day, count = today.toordinal(), foaled.size
    at_two = np.array([date(int(year) + 2, 4, 20).toordinal() for year in foaled])
    starts = at_two + rng.gamma(1.6, 110, count).astype(np.int64)
    youngest = foaled == today.year - 2
    latest = np.where(youngest, day + rng.integers(-60, 60, count), day - rng.integers(60, 110, count))
    starts = np.minimum(starts, latest)
    ends = starts + 250 + rng.exponential(800, count).astype(np.int64)
    late = rng.integers(120, 1100, count) + first.toordinal()
    return starts - rng.integers(75, 170, count), starts, np.where(ends < first.toordinal() + 90, late, ends)


def _stables(
    rng: np.random.Generator, size: Size, age: Ints, trained_from: Ints, starts: Ints, ends: Ints, day: int
) -> Ints:
    """Deal horses to trainers of unequal size, trainer 0 having its string now and as large a share before."""
    weight = rng.lognormal(0, 0.5, size.trainers - 1)
    trainer = 1 + rng.choice(size.trainers - 1, age.size, p=weight / weight.sum())
    here = (ends > day) & (trained_from <= day - 14)
    trainer[~here & (ends <= day) & (rng.random(age.size) < sum(size.string.values()) / here.sum())] = 0
    for years, wanted in size.string.items():
        unready = size.unready if years == 2 else 0
        ready = np.flatnonzero(here & (age == years) & (starts <= day - 45))
        trainer[rng.choice(ready, wanted - unready, replace=False)] = 0
        to_come = np.flatnonzero(here & (age == years) & (starts > day))
        trainer[rng.choice(to_come, unready, replace=False)] = 0
    return trainer


def _moves(rng: np.random.Generator, size: Size, trainer: Ints, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """Return the trainer before and the day of moving (0 for never) of each horse."""
    room = ends - starts - 180
    moves = (rng.random(trainer.size) < _MOVE) & (room > 0)
    day = starts + 90 + (rng.random(trainer.size) * np.maximum(room, 1)).astype(np.int64)
    other = (trainer + rng.integers(1, size.trainers, trainer.size)) % size.trainers
    return np.where(moves, other, trainer), np.where(moves, day, 0)


def _form(rng: np.random.Generator, horses: int, weeks: int, sd: float = 4.5, days: float = 60.0) -> Floats:
    keep = math.exp(-FORM_STEP_DAYS / days)
    path = np.empty((horses, weeks))
    path[:, 0] = rng.normal(0, sd, horses)
    for week in range(1, weeks):
        path[:, week] = keep * path[:, week - 1] + rng.normal(0, sd * np.sqrt(1 - keep**2), horses)
    return path
