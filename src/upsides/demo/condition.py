"""What work and racing do to a horse: pounds that fast work gains, and pounds that a race takes for a while.

Shapes and sizes are invented like the country. That a short race takes less out of a horse than a long one, and
that a horse let down needs work before it is itself again, is common practice, no source.
"""

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.demo.horses import Floats, Horses, Ints, trainers_on
from upsides.demo.trainers import of_habit

RECOVERY_DAYS = 12.0
"""Time constant of getting over a race for a constitution of 1."""
TAKEN_LB, TAKEN_POWER = 4.5, 0.6
"""What a race over 1600 m takes, and the power of the distance by which it grows."""
ENOUGH_DAYS = 1.2
"""Days of fast work a week, kept up, that bring 63 % of what work can bring."""
_WORK_DAYS = 42.0
_BEFORE_DAYS = 210
_MOST_FAST_DAYS = 3
_FIRST_REST_AFTER = 120


@dataclass(frozen=True, slots=True)
class Condition:
    """How horses stand; weeks count from `from_day`.

    Args:
        from_day: proleptic ordinal of the first week's first day.
        work: recent fast work at each week's start, days a week, averaged with a time constant of 42 days,
            (horses, weeks).
        ready: whether the trainer would run the horse that week, (horses, weeks).
        at_work: whether the horse was in work that week, trained and not let down, (horses, weeks).
        fast: days of fast work that it did in that week, racing left out, (horses, weeks).
        taken_lb: what races had taken as of `taken_on`, (horses,), changed by every race.
        taken_on: proleptic ordinal of each horse's last run, 0 before the first, (horses,), changed likewise.
    """

    from_day: int
    work: Floats
    ready: NDArray[np.bool_]
    at_work: NDArray[np.bool_]
    fast: Ints
    taken_lb: Floats
    taken_on: Ints


def prepare(rng: np.random.Generator, horses: Horses, habits: Ints, first: date, today: date) -> Condition:
    """Put every horse through the work of its trainers' habits, week by week, racing left out.

    Args:
        rng: source of chance.
        horses: the population.
        habits: index of the habit of each trainer.
        first: first day of racing; work goes back 30 weeks further.
        today: last day.
    """
    count, from_day = len(horses.names), first.toordinal() - _BEFORE_DAYS
    weeks = (today.toordinal() - from_day) // 7 + 1
    work, ready = np.empty((count, weeks)), np.empty((count, weeks), dtype=np.bool_)
    in_work, done = np.empty_like(ready), np.empty((count, weeks), dtype=np.int64)
    state, worked = np.zeros(count), np.zeros(count, dtype=np.int64)
    into_month = rng.integers(28, size=count)
    keep, rate, wanted = math.exp(-7 / _WORK_DAYS), of_habit("fast_days"), of_habit("ready_weeks")
    for week in range(weeks):
        day = from_day + 7 * week
        habit = habits[trainers_on(horses, day)]
        at_work = (horses.trained_from <= day) & (day < horses.ends) & ~_resting(horses, habit, into_month, day)
        work[:, week] = state
        ready[:, week] = at_work & (worked >= wanted[habit])
        fast = np.where(at_work, rng.binomial(_MOST_FAST_DAYS, rate[habit] / _MOST_FAST_DAYS), 0)
        in_work[:, week], done[:, week] = at_work, fast
        state = keep * state + (1 - keep) * fast
        worked = np.where(at_work, worked + 1, 0)
    return Condition(from_day, work, ready, in_work, done, np.zeros(count), np.zeros(count, dtype=np.int64))


def _resting(horses: Horses, habit: Ints, into_month: Ints, day: int) -> NDArray[np.bool_]:
    """Return which horses are let down on a day; none in its first four months of training."""
    resting, year = np.zeros(habit.size, dtype=np.bool_), date.fromordinal(day).year
    months, length = of_habit("rest_month").astype(int), 7 * of_habit("rest_weeks")[habit]
    for start_year in (year - 1, year):
        start = np.array([date(start_year, int(month), 1).toordinal() for month in months])[habit] + into_month
        resting |= (start <= day) & (day < start + length) & (horses.trained_from + _FIRST_REST_AFTER < start)
    return resting


def week_of(condition: Condition, day: date) -> int:
    """Return the week of the grids in which a day lies."""
    return (day.toordinal() - condition.from_day) // 7


def fit_lb(horses: Horses, condition: Condition, which: Ints, day: date) -> Floats:
    """Return pounds gained by recent fast work: response (1 - exp(-work / 1.2)), at least 0, shape of `which`."""
    work = condition.work[which, week_of(condition, day)]
    gained: Floats = horses.response_lb[which] * -np.expm1(-work / ENOUGH_DAYS)
    return gained


def fresh_lb(horses: Horses, condition: Condition, which: Ints, day: date) -> Floats:
    """Return pounds still missing from earlier races, at most 0, shape of `which`."""
    days = day.toordinal() - condition.taken_on[which]
    left: Floats = condition.taken_lb[which] * np.exp(-days * horses.constitution[which] / RECOVERY_DAYS)
    return -left


def race_takes_lb(distance_m: float) -> float:
    """Return the pounds that a race takes out of a horse: 4.5 (distance / 1600 m)^0.6."""
    return float(TAKEN_LB * (distance_m / 1600) ** TAKEN_POWER)


def spend(horses: Horses, condition: Condition, which: Ints, distance_m: float, day: date) -> None:
    """Write a race into the condition of its starters."""
    condition.taken_lb[which] = race_takes_lb(distance_m) - fresh_lb(horses, condition, which, day)
    condition.taken_on[which] = day.toordinal()
