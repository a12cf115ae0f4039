"""The gallops from day to day: which are open, and how they are; how warm it is; journeys to the races; an accident."""

from dataclasses import dataclass
from zlib import crc32

import numpy as np
import polars as pl

from upsides.demo.morning_sim.strips import CHIP, SAND, TURF, WALK
from upsides.demo.yardbooks.grid import Bools, Floats, Grid
from upsides.demo.yardbooks.hands import Hands
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.places import LORRIES

_TURF = ("firm", "good_to_firm", "good", "good_to_soft", "soft", "heavy")
_MADE = ("fast", "standard", "slow")
_FROST, _ROLLED = 0.12, 0.06
_TURF_MONTHS = (4, 5, 6, 7, 8, 9)
_WARMEST, _WARM_C, _SWING_C, _KEEPS, _SHOCK_C = 205, 7.5, 6.0, 0.8, 1.4
"""Day of the year that is warmest, what a dawn is on average and by how much summer and winter stand from that, °C, and
how a day's own warmth goes on."""
_LOOKED_AT_S = 4 * 3600 + 40 * 60
"""When somebody goes out to look at the gallops, by the yard's own day."""


@dataclass(frozen=True, slots=True)
class Open:
    """Which gallops are open on each day, (days,), and how wet it has been, steps softer than good."""

    chip: Bools
    sand: Bools
    turf: Bools
    wet: Floats


def weather(rng: np.random.Generator, grid: Grid) -> Open:
    """Draw the weather: frost shuts the sand on some winter mornings, the woodchip is rolled now and then."""
    days = grid.days
    season = np.cos(2 * np.pi * (np.arange(days) + grid.first - 719163 - 15) / 365.25)
    wet = np.empty(days)
    state = 0.0
    for day, shock in enumerate(rng.normal(0, 0.35, days)):
        state = 0.94 * state + shock
        wet[day] = state
    wet = np.clip(wet + 0.5 + 0.8 * season, -2, 3)
    frost = np.isin(grid.month, (12, 1, 2)) & (rng.random(days) < _FROST)
    rolled = (rng.random(days) < _ROLLED) & ~frost
    return Open(~rolled, ~frost, np.isin(grid.month, _TURF_MONTHS) & (wet < 2.2), wet)


def gallop_lines(rng: np.random.Generator, grid: Grid, strips: Open, hands: Hands) -> pl.DataFrame:
    """Return the state of every gallop on every morning."""
    days = np.arange(grid.today + 1)
    soft = np.clip(np.round(strips.wet[days]).astype(int) + 2, 0, 5)
    made = np.clip(np.round(strips.wet[days] / 2).astype(int) + 1, 0, 2)
    said_ = {
        CHIP: [said(state="open", going=_MADE[m]) if o else said(state="closed", text="Being rolled.")
               for o, m in zip(strips.chip[days], made, strict=True)],
        SAND: [said(state="open", going=_MADE[m]) if o else said(state="closed", going="frozen")
               for o, m in zip(strips.sand[days], made, strict=True)],
        TURF: [said(state="open", going=_TURF[s]) if o else said(state="closed", going=_TURF[s])
               for o, s in zip(strips.turf[days], soft, strict=True)],
        WALK: [said(state="open") for _ in days],
    }  # fmt: skip
    parts = [
        lines(
            "gallop_state",
            gallop=[name] * days.size,
            day=grid.first + days,
            second=_LOOKED_AT_S + 240 * place + rng.integers(0, 200, days.size),
            author=hands.names[hands.lead[days]].tolist(),
            values=values,
        )
        for place, (name, values) in enumerate(said_.items())
    ]
    return pl.concat(parts)


def hours_to(course: str) -> float:
    """Return how long the lorry takes to a course, hours: one to three, the same every time."""
    return 1.0 + crc32(course.encode()) % 5 / 2.0


def weather_lines(rng: np.random.Generator, grid: Grid, hands: Hands) -> pl.DataFrame:
    """Return how warm it was at first lot on every morning, as whoever led it read it off the thermometer."""
    days = np.arange(grid.today + 1)
    year = 2 * np.pi * (days + grid.first - 719163 - _WARMEST) / 365.25
    warm, state = np.empty(days.size), 0.0
    for day, shock in enumerate(rng.normal(0.0, _SHOCK_C, days.size)):
        state = _KEEPS * state + shock
        warm[day] = _WARM_C + _SWING_C * np.cos(year[day]) + state
    return lines(
        "weather",
        day=grid.first + days,
        second=_LOOKED_AT_S - 300 + rng.integers(0, 200, days.size),
        author=hands.names[hands.lead[days]].tolist(),
        values=[said(air=round(float(air), 0)) for air in warm],
    )


def journeys(rng: np.random.Generator, grid: Grid, runs: pl.DataFrame, hands: Hands) -> pl.DataFrame:
    """Return the journeys to the races (runs: source_horse, date, course); up to two go in the small lorry."""
    index = pl.DataFrame({"source_horse": grid.codes}).with_row_index("horse")
    gone = runs.join(index, on="source_horse").sort("date", "course", "horse")
    gone = gone.with_columns(turn=pl.int_range(pl.len()).over("date", "course"), going=pl.len().over("date", "course"))
    day = gone["date"].to_physical().to_numpy() + 719163
    columns = day - grid.first
    small = (gone["going"] <= 2) | (gone["turn"] >= 6)
    values = [
        said(lorry=LORRIES[int(few)], to=to, hours=hours_to(to)) for few, to in zip(small, gone["course"], strict=True)
    ]
    return lines(
        "travel",
        horse=gone["source_horse"].to_list(),
        day=day,
        second=8 * 3600 + rng.integers(0, 4500, gone.height),
        author=hands.names[hands.lead[columns]].tolist(),
        values=values,
    )


def accident(grid: Grid, hands: Hands) -> pl.DataFrame:
    """Return the one accident to a person of these seasons, a slight one."""
    day = max(0, grid.today - 231)
    while day < grid.today and hands.carer[0, day] == hands.lead[day]:
        day += 1
    who = str(hands.names[hands.carer[0, day]])
    text = "Trodden on while a horse was tacked up. Foot bruised, cooled, back at work the next day."
    return lines(
        "person_accident",
        day=[grid.first + day],
        second=[7 * 3600 + 300],
        author=[str(hands.names[hands.lead[day]])],
        values=[said(person=who, text=text, horse=grid.codes[0])],
    )
