"""What goes wrong in the yard, and what stands before it today; chosen so that the truth of its work stays true.

A week in which the truth has no fast work and no race is near is a week in which a leg may have kept a horse from it.
The cough of one winter goes through horses that were let down in their boxes.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from upsides.demo.yard import YARD
from upsides.demo.yardbooks.grid import BOX, NO_FAST, NOTHING, WALK, Bools, Grid, Ints, runs_of_true

_EPISODES_A_YEAR = 13
_BETWEEN = 120
"""Fewest days between two findings of one horse."""
_NO_RACE = 7, 21
"""No race so many days before and after a finding."""
COUGH_DAYS: Final = 9
_COUGHING = 9
_TURNED_OUT = 0.7


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that a vet was asked about.

    Args:
        horse: place of the horse.
        day: column of the evening on which it was found; the vet comes on the next day.
        until: last day of the advice.
        advice: of `NO_FAST`, `WALK`, `BOX`.
    """

    horse: int
    day: int
    until: int
    advice: int


@dataclass(frozen=True, slots=True)
class Cough:
    """A cough that goes through one barn.

    Args:
        day: column of the first day of nine.
        horses: who had it.
        begins: column of the first warm morning of each.
        lasts: warm mornings of each.
        apart: those of them that stood apart in the isolation boxes.
    """

    day: int
    horses: list[int]
    begins: list[int]
    lasts: list[int]
    apart: list[int]


@dataclass(frozen=True, slots=True)
class Morning:
    """What stands before the yard this morning, by places of horses.

    Args:
        warm: 39.0 this morning, with feed left.
        leg: warm, filled near fore this morning.
        walking: by the vet's advice it walks only, today being the last day of that.
        runner: runs today.
        runners: run tomorrow.
        due: its vaccination is due today.
        overdue: its vaccination is overdue, which is why it is entered for nothing.
    """

    warm: int
    leg: int
    walking: int
    runner: int
    runners: tuple[int, int]
    due: int
    overdue: int


@dataclass(frozen=True, slots=True)
class Events:
    """All of it, what advice leaves of each day's work, and when horses were turned out, both (horses, days)."""

    findings: list[Finding]
    cough: Cough | None
    morning: Morning
    advice: Ints
    turned_out: Bools


def events_of(rng: np.random.Generator, grid: Grid, barn: Ints, marked: Bools) -> Events:
    """Choose what goes wrong.

    Args:
        rng: source of chance.
        grid: the days; the races of today's and tomorrow's runners are written into it.
        barn: number of each horse's barn.
        marked: which horses have a handicap mark.
    """
    morning = _morning(rng, grid, barn, marked)
    taken = {morning.warm, morning.leg, morning.walking, morning.runner, *morning.runners, morning.due, morning.overdue}
    findings = [*_findings(rng, grid, taken), Finding(morning.walking, grid.today - 4, grid.today, WALK)]
    cough = _cough(rng, grid, barn)
    advice = np.zeros(grid.here.shape, dtype=np.int64)
    for found in findings:
        advice[found.horse, found.day + 1 : found.until + 1] = found.advice
    if cough:
        for horse, begin in zip(cough.horses, cough.begins, strict=True):
            advice[horse, begin : begin + 10] = WALK
    return Events(findings, cough, morning, advice, _turned_out(rng, grid, cough))


def _morning(rng: np.random.Generator, grid: Grid, barn: Ints, marked: Bools) -> Morning:
    """Choose today's horses: each of them in work and nobody twice."""
    today, week = grid.today, grid.week[grid.today]
    rested = (grid.race_m[:, max(0, today - 14) : today] == 0).all(axis=1)
    fit = grid.at_work[:, max(0, today - 30) : today + 1].all(axis=1)
    ready = [int(i) for i in rng.permutation(np.flatnonzero(rested & fit))]
    chosen: set[int] = set()

    def pick(able: Bools) -> int:
        found = next(i for i in ready if able[i] and i not in chosen)
        chosen.add(found)
        return found

    everybody = np.ones(barn.size, dtype=np.bool_)
    quiet = grid.due[:, week] == 0
    walking = pick(quiet) if any(quiet[i] for i in ready) else pick(grid.due[:, week] <= 1)
    warm, leg = pick(barn == 0), pick(barn == 1)
    runner, second, third = pick(marked), pick(marked), pick(marked)
    for horse, day, metres in ((runner, today, 1200), (second, today + 1, 1600), (third, today + 1, 2000)):
        grid.race_m[horse, day] = metres
    return Morning(warm, leg, walking, runner, (second, third), pick(everybody), pick(everybody))


def _findings(rng: np.random.Generator, grid: Grid, taken: set[int]) -> list[Finding]:
    """Choose weeks without fast work, far from a race, of different horses or long after one another."""
    raced = grid.race_m > 0
    found: list[Finding] = []
    last: dict[int, list[int]] = {}
    wanted = round(_EPISODES_A_YEAR * grid.today / 365)
    for horse, week in rng.permutation(np.argwhere(grid.due == 0)).tolist():
        days = np.flatnonzero(grid.week == week)
        begin, end = int(days[0]), int(days[-1])
        near = slice(max(0, begin - _NO_RACE[0]), end + _NO_RACE[1])
        own = last.setdefault(horse, [])
        if (
            begin < 40
            or end >= grid.today - (8 if horse not in taken else 60)
            or not grid.at_work[horse, begin - 5 : end + 1].all()
            or raced[horse, near].any()
            or any(abs(begin - other) < _BETWEEN for other in own)
        ):
            continue
        own.append(begin)
        found.append(
            Finding(
                horse, begin - 1, end - int(rng.integers(2)), int(rng.choice([NO_FAST, WALK, BOX], p=[0.25, 0.6, 0.15]))
            )
        )
        if len(found) == wanted:
            break
    return sorted(found, key=lambda one: one.day)


def _cough(rng: np.random.Generator, grid: Grid, barn: Ints) -> Cough | None:
    """Find the nine winter days and the barn in which most horses were let down, the latest winter that has enough."""
    dark = np.isin(grid.month, (11, 12, 1, 2))
    best: tuple[int, int, list[int]] | None = None
    for day in range(grid.today - 60, 30, -1):
        span = slice(day - 2, day + COUGH_DAYS + 10)
        if not dark[day]:
            continue
        resting = grid.let_down[:, span].all(axis=1)
        for number in range(len(YARD.barns)):
            horses = np.flatnonzero(resting & (barn == number)).tolist()
            if len(horses) > (len(best[2]) if best else 3):
                best = (day, number, horses)
        if best and day < best[0] - 180:
            break
    if best is None:
        return None
    day, _, horses = best
    who = [int(horse) for horse in rng.permutation(horses)[:_COUGHING]]
    offsets = np.sort(rng.integers(0, COUGH_DAYS - 3, len(who)))
    offsets[0], offsets[-1] = 0, COUGH_DAYS - 3
    begins = (day + offsets).tolist()
    lasts = [3 if begin + 3 >= day + COUGH_DAYS else int(rng.integers(3, 5)) for begin in begins]
    lasts = [min(last, day + COUGH_DAYS - begin) for last, begin in zip(lasts, begins, strict=True)]
    return Cough(day, who, begins, lasts, [who[0], who[min(1, len(who) - 1)]][: min(2, len(who))])


def _turned_out(rng: np.random.Generator, grid: Grid, cough: Cough | None) -> Bools:
    """Turn out most of those that are let down; who coughs is in its box."""
    out = np.zeros_like(grid.here)
    for horse in range(grid.here.shape[0]):
        for begin, end in runs_of_true(grid.let_down[horse]):
            coughs = cough is not None and horse in cough.horses and begin <= cough.day < end
            if not coughs and rng.random() < _TURNED_OUT:
                out[horse, begin:end] = True
    return out


__all__ = ["BOX", "NOTHING", "NO_FAST", "WALK", "Cough", "Events", "Finding", "Morning", "events_of"]
