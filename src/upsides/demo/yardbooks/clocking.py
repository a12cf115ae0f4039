"""Lines of clocked work: on fast mornings whoever runs them clocks two horses at once, by thumb on a stopwatch."""

from typing import Any, Final

import numpy as np
import polars as pl

from upsides.demo.morning_sim.strips import strips
from upsides.demo.tracked.riding import WORK_S, eased, horse_of, slowed_at
from upsides.demo.yardbooks.exercising import begins
from upsides.demo.yardbooks.grid import Floats, Ints
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.seasons import Seasons
from upsides.demo.yardbooks.working import GALLOPS, HALF, QUICK
from upsides.trade.units import FURLONG_M

DAYS: Final = 24
"""So many days back works were clocked."""
A_MORNING: Final = 3
_STEP_M: Final = 5.0
_PRESS_SD_S: Final = 0.15
"""How far a press is off, about."""
_APART_S: Final = 0.35
"""How far apart two that went upsides pass the last mark, about."""
_TACK_KG: Final = (5.0, 7.0)
_ORDERS: Final = ("three_quarter", "bridle", "let_down")
_ORDER_ODDS: Final = (0.6, 0.25, 0.15)
_LEFT: Final = ("little", "some", "plenty", "hard_held")
_LEFT_ODDS: Final = (0.15, 0.35, 0.35, 0.15)


def clocked(rng: np.random.Generator, seasons: Seasons, worn: Ints) -> pl.DataFrame:
    """Return the works that were clocked; the pace of a pair is set by the one that wears a tracker, if one does."""
    grid, rows = seasons.grid, []
    for day in range(max(0, grid.today - DAYS), grid.today):
        for one, other in _pairs(seasons, day, worn):
            rows += _pair(rng, seasons, day, one, other)
    horses, days, second, values = (list(column) for column in zip(*rows, strict=True))
    return lines(
        "clocked",
        horse=seasons.codes(np.array(horses)),
        day=grid.first + np.array(days),
        second=second,
        author=seasons.names(seasons.hands.lead[days]),
        values=values,
    )


def _pairs(seasons: Seasons, day: int, worn: Ints) -> list[tuple[int, int]]:
    """Return pairs that did fast work upsides, those with a tracker first; of each the one that sets the pace.

    Besides these one that has not run and works, at half-speed too, beside one of its age that has.
    """
    quick = _upsides(seasons, day, (QUICK,), set(worn.tolist()))
    ran, foaled = np.asarray(seasons.grid.race_m[:, :day] > 0).max(axis=1), seasons.nature.foaled
    every = _upsides(seasons, day, (HALF, QUICK), set(worn.tolist()))
    new = [(one, other) for one, other in every if ran[one] != ran[other] and foaled[one] == foaled[other]]
    return list(dict.fromkeys([*quick[:A_MORNING], *new[:1]]))


def _upsides(seasons: Seasons, day: int, what: tuple[int, ...], wears: set[int]) -> list[tuple[int, int]]:
    """Return pairs that did some work upsides with riders, those with a tracker first; of each who sets the pace."""
    work, codes = seasons.work, seasons.grid.codes
    able = np.flatnonzero(np.isin(work.exercise[:, day], what) & (work.rider[:, day] >= 0))
    found = {frozenset((int(one), int(work.upsides[one, day]))) for one in able if work.upsides[one, day] in able}
    ordered = [sorted(pair, key=lambda horse: (horse not in wears, codes[horse])) for pair in found]
    pairs = sorted((one not in wears, codes[one], one, other) for one, other in ordered)
    return [(one, other) for _, _, one, other in pairs]


def _pair(
    rng: np.random.Generator, seasons: Seasons, day: int, one: int, other: int
) -> list[tuple[int, int, int, str]]:
    work, grid = seasons.work, seasons.grid
    gallop = strips()[GALLOPS[work.gallop[one, day]]]
    furlongs = float(work.furlongs[one, day])
    lead = horse_of(seasons.invented.seed, grid.codes[one], 1.0)
    pace = lead.fast_ms * eased(furlongs) if work.exercise[one, day] == QUICK else lead.half_ms
    gone = np.arange(0.0, int(furlongs) * FURLONG_M + _STEP_M, _STEP_M)
    speed = pace * slowed_at(gallop, gallop.length_m - int(furlongs) * FURLONG_M + gone)
    passed = np.interp(np.arange(1, int(furlongs) + 1) * FURLONG_M, gone + _STEP_M, np.cumsum(_STEP_M / speed))
    first = int(begins(seasons, np.array([one]), np.array([day]))[0] + WORK_S)
    begin = first + round((furlongs - int(furlongs)) * FURLONG_M / float(speed[0]))
    order = str(rng.choice(_ORDERS, p=_ORDER_ODDS))
    behind = passed / passed[-1] * rng.normal(0.0, _APART_S)
    return [
        (horse, day, begin, _said(rng, seasons, day, horse, beside, passed + late, order))
        for horse, beside, late in ((one, other, 0.0 * behind), (other, one, behind))
    ]


def _said(
    rng: np.random.Generator, seasons: Seasons, day: int, horse: int, beside: int, passed: Floats, order: str
) -> str:
    work = seasons.work
    rider = int(work.rider[horse, day])
    weight = seasons.staff.people["weight_kg"][rider]
    pressed = passed + rng.normal(0.0, _PRESS_SD_S, passed.size)
    splits = [[round(n * FURLONG_M, 1), round(float(at), 1)] for n, at in enumerate(pressed, start=1)]
    told: dict[str, Any] = {
        "splits": splits,
        "gallop": GALLOPS[work.gallop[horse, day]],
        "instruction": order,
        "left": str(rng.choice(_LEFT, p=_LEFT_ODDS)),
        "rider": seasons.hands.names[rider],
        "rider_kg": None if weight is None else float(round(weight + rng.uniform(*_TACK_KG))),
        "upsides": [seasons.grid.codes[beside]],
        "clock": "thumb",
    }
    return said(**told)
