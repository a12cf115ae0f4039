"""What is measured: mass every week and after a race, temperatures, and the condition that heads of barns score."""

from typing import Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import EPOCH, MONDAY, SATURDAY, TUESDAY, WEDNESDAY, Bools, Floats
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.places import NEW_SCALE, OLD_SCALE
from upsides.demo.yardbooks.rounds import morning_round
from upsides.demo.yardbooks.seasons import LATELY, Seasons

SCALE_CHANGE: Final = 480
"""Days before today on which the new scale came; it says more than the old one did."""
SCALE_KG: Final = 3.0
_LOST = 0.007, 0.010
"""Share of its mass that a horse loses in a race: 0.7 % (short) to 1.0 % in one study of consecutive races."""
_REGAINED_DAYS = 4.0
_RESTED_KG, _GAINS_DAYS, _LOSES_DAYS = 16.0, 25.0, 18.0
_YOUNG_KG, _GROWN_AT = 20.0, 2.45
_NOISE_KG = 0.8
_YEAR = 365
_OFTEN = 150
_PULSE_DAYS = 150
_PULSE_MORNINGS: Final = (MONDAY, WEDNESDAY, SATURDAY)
WARM = 38.7


def masses(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what the horses weighed: on Mondays, and on the day after a race."""
    grid = seasons.grid
    raced = grid.race_m > 0
    after = np.zeros_like(raced)
    after[:, 1:] = raced[:, :-1]
    weighed = seasons.present & (after | ((grid.weekday == MONDAY) & ~raced))
    weighed[:, grid.today :] = False
    horses, days = np.nonzero(weighed)
    newer = days >= grid.today - SCALE_CHANGE
    kilos = true_masses(rng, seasons)[horses, days] + SCALE_KG * newer + rng.normal(0, _NOISE_KG, days.size)
    scale = [(OLD_SCALE, NEW_SCALE)[int(new)] for new in newer]
    return lines(
        "mass",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=6 * 3600 + 40 * seasons.order[horses] + rng.integers(0, 30, days.size),
        author=seasons.heads(horses, days),
        values=[f'{{"kg": {kg}, "scale": "{name}"}}' for kg, name in zip(np.round(2 * kilos) / 2, scale, strict=True)],
    )


def true_masses(rng: np.random.Generator, seasons: Seasons) -> Floats:
    """Return what every horse truly weighs on every morning, kg, (horses, days).

    It is what the races publish on their days; from one to the next it goes in a straight line, but for growth, what a
    rest puts on, and what a race takes off.
    """
    grid, invented = seasons.grid, seasons.invented
    day = grid.first + np.arange(grid.days)
    age = (day - np.array([_new_year(int(year)) for year in seasons.nature.foaled])[:, None]) / 365.25
    own = invented.stays["mass_kg"].to_numpy()[:, None] + 3 * np.minimum(age, 5)
    own = own - _YOUNG_KG * np.clip((_GROWN_AT - age) / 0.45, 0, 1.5) + _rested(seasons)
    taken = _taken(rng, seasons, own)
    told = invented.runs.select("source_horse", "date", "body_mass_kg").drop_nulls()
    index = pl.DataFrame({"source_horse": grid.codes}).with_row_index("horse")
    told = told.join(index, on="source_horse").filter(pl.col("date") >= invented.first).sort("horse", "date")
    for (horse,), rows in told.group_by("horse", maintain_order=True):
        at = rows["date"].to_physical().to_numpy() + EPOCH - grid.first
        i = int(horse)
        off = rows["body_mass_kg"].to_numpy() - own[i, at] + taken[i, at]
        own[i] += np.interp(np.arange(grid.days), at, off)
    found: Floats = own - taken
    return found


def _new_year(year: int) -> int:
    return (year - 1) * 365 + (year - 1) // 4 - (year - 1) // 100 + (year - 1) // 400 + 1


def _rested(seasons: Seasons) -> Floats:
    """Return what rests have put on, kg."""
    gained = np.zeros(seasons.grid.here.shape)
    state = np.zeros(len(seasons.grid.codes))
    for day in range(seasons.grid.days):
        resting = seasons.grid.let_down[:, day]
        state += np.where(resting, (_RESTED_KG - state) / _GAINS_DAYS, -state / _LOSES_DAYS)
        gained[:, day] = state
    return gained


def _taken(rng: np.random.Generator, seasons: Seasons, own: Floats) -> Floats:
    """Return what races have taken and was not regained yet, kg; from the morning after on."""
    raced = (seasons.grid.race_m > 0) & seasons.grid.here
    loss = own * rng.uniform(*_LOST, own.shape) * raced
    taken = np.zeros_like(own)
    keep = np.exp(-1 / _REGAINED_DAYS)
    for day in range(1, own.shape[1]):
        taken[:, day] = keep * taken[:, day - 1] + loss[:, day - 1]
    return taken


def temperatures(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return temperatures: every morning of late, twice a week in the months before, once a week before that."""
    grid, events = seasons.grid, seasons.events
    day = np.arange(grid.days)
    often = (day >= grid.today - LATELY) | (grid.weekday == TUESDAY)
    often |= (day >= grid.today - _OFTEN) & (grid.weekday == 4)
    taken = seasons.present & often & (rng.random(grid.here.shape) < 0.97)
    if events.cough:
        barn = seasons.own.barn == seasons.own.barn[events.cough.horses[0]]
        taken[barn, events.cough.day : events.cough.day + 16] |= seasons.present[
            barn, events.cough.day : events.cough.day + 16
        ]
    warm = warm_mornings(rng, seasons)
    taken = (taken | warm) & (day <= grid.today) & seasons.present
    horses, days = np.nonzero(taken)
    usual = np.clip(rng.normal(37.8, 0.1, len(grid.codes))[horses] + rng.normal(0, 0.2, days.size), 37.2, 38.5)
    high = np.clip(rng.normal(39.1, 0.25, days.size), WARM, 39.8)
    celsius = np.round(np.where(warm[horses, days], high, usual), 1)
    celsius[(horses == events.morning.warm) & (days == grid.today)] = 39.0
    return lines(
        "temperature",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=morning_round(rng, seasons, horses) + 40,
        author=seasons.carers(horses, days),
        values=[f'{{"celsius": {value}}}' for value in celsius],
    )


def pulses(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return pulses at rest, which one barn takes on three mornings a week of late: where a horse is warm today."""
    grid, events = seasons.grid, seasons.events
    day = np.arange(grid.days)
    often = (day > grid.today - _PULSE_DAYS) & (day <= grid.today) & np.isin(grid.weekday, _PULSE_MORNINGS)
    barn = seasons.own.barn == seasons.own.barn[events.morning.warm]
    horses, days = np.nonzero(seasons.present & barn[:, None] & often & (rng.random(grid.here.shape) < 0.95))
    beats = np.clip(rng.normal(34.0, 2.5, len(grid.codes))[horses] + rng.normal(0, 1.8, days.size), 27.0, 44.0)
    beats[(horses == events.morning.warm) & (days == grid.today)] = 48.0
    return lines(
        "pulse",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=morning_round(rng, seasons, horses) + 60,
        author=seasons.carers(horses, days),
        values=[said(beats=int(value)) for value in np.round(beats)],
    )


def warm_mornings(rng: np.random.Generator, seasons: Seasons) -> Bools:
    """Return on which mornings a horse was warm: the cough, a few short spells of late, and today's one."""
    grid, events = seasons.grid, seasons.events
    warm = np.zeros_like(grid.here)
    if events.cough:
        for horse, begin, lasts in zip(events.cough.horses, events.cough.begins, events.cough.lasts, strict=True):
            warm[horse, begin : begin + lasts] = True
    quick = (grid.race_m > 0) | np.isin(seasons.work.exercise, (9, 10))
    spells = 0
    for horse, begin in rng.permutation(np.argwhere(seasons.present[:, seasons.lately[:-6]])).tolist():
        day = int(seasons.lately[0]) + begin
        if spells < 3 and seasons.present[horse, day - 1 : day + 5].all() and not quick[horse, day - 1 : day + 5].any():
            warm[horse, day : day + 1 + spells % 2] = True
            spells += 1
    warm[events.morning.warm, grid.today] = True
    return warm


def conditions(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return condition scores: on the first Monday of each month of the last year."""
    grid = seasons.grid
    dates = (grid.first - EPOCH + np.arange(grid.days)).astype("datetime64[D]")
    of_month = (dates - dates.astype("datetime64[M]")).astype(int)
    scored = (grid.weekday == MONDAY) & (of_month < 7) & (np.arange(grid.days) >= grid.today - _YEAR)
    horses, days = np.nonzero(seasons.present & scored & (np.arange(grid.days) < grid.today))
    score = np.clip(np.round(2 * rng.normal(5 + 0.5 * grid.let_down[horses, days], 0.35)) / 2, 3.5, 6.5)
    return lines(
        "condition",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=10 * 3600 + 50 * seasons.order[horses],
        author=seasons.heads(horses, days),
        values=[said(score=float(value)) for value in score],
    )
