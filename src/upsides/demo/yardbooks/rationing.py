"""What is fed: rations by mass and work, and the deliveries that they use up."""

from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import Floats
from upsides.demo.yardbooks.places import BALANCER, CUBES, FEED_TIMES, FEEDS, HAY, HAYLAGE, OATS
from upsides.demo.yardbooks.seasons import Seasons
from upsides.feeding import defaults, energy_needed

_RATIONS: Final = {
    "source_horse": pl.String(),
    "first_day": pl.Date(),
    "amounts": pl.List(pl.Struct({"time": pl.String(), "feed": pl.String(), "kg": pl.Float64()})),
    "note": pl.String(),
}
_BATCHES: Final = {
    "feed": pl.String,
    "number": pl.String,
    "delivered_on": pl.Date,
    "kg": pl.Float64,
    "opened_on": pl.Date,
    "finished_on": pl.Date,
}
_FORAGE_SHARE = 0.0152
"""Dry matter of forage a day as a share of body mass: 1.5 % is what reviews ask for."""
_RESTING, _COMING_ON, _IN_WORK = "light", "moderate", "very heavy"
_NOTES: Final = {_RESTING: "let down", _COMING_ON: "coming into work", _IN_WORK: "in full work"}
_CHANGE_KG = 12.0
_AGAIN_DAYS = 110
_MOST_CONCENTRATE_KG = 6.5
_MONTH = 28
_COMING_ON_DAYS = 36


def rations(seasons: Seasons, masses: Floats) -> pl.DataFrame:
    """Return each horse's rations: one when it comes, when its work changes, and when its mass has.

    Args:
        seasons: the seasons.
        masses: true masses in kg, (horses, days).

    Returns:
        source_horse, first_day, amounts (feed time, feed, kg as fed), note.
    """
    rows = []
    for horse, code in enumerate(seasons.grid.codes):
        last: tuple[str, float, int] | None = None
        works = _works(seasons, horse)
        for day in np.flatnonzero(seasons.present[horse, : seasons.grid.today + 1]).tolist():
            work = works[day]
            heavier = abs(masses[horse, day] - last[1]) if last else 0.0
            if last is None or work != last[0] or (day - last[2] > _AGAIN_DAYS and heavier > _CHANGE_KG):
                last = (work, float(masses[horse, day]), day)
                rows.append(
                    (
                        code,
                        seasons.grid.on(day),
                        ration_of(last[1], work, seasons.grid.on(day), horse),
                        _NOTES[work],
                    )
                )
    return pl.DataFrame(rows, schema=_RATIONS, orient="row")


def _works(seasons: Seasons, horse: int) -> list[str]:
    """Return the class of a horse's work on each day: full work begins five weeks after it came or came back."""
    grid = seasons.grid
    steady = np.convolve(grid.at_work[horse], np.ones(_COMING_ON_DAYS), "full")[: grid.days]
    full = steady >= np.minimum(np.arange(grid.days) + 1, _COMING_ON_DAYS)
    return [
        _RESTING if resting else _IN_WORK if enough else _COMING_ON
        for resting, enough in zip(grid.let_down[horse].tolist(), full.tolist(), strict=True)
    ]


def ration_of(mass: float, work: str, on: date, turn: int) -> list[dict[str, object]]:
    """Return a day's servings that meet the energy for a mass and a class of work.

    Forage first, half a kilogram of balancer, and what energy is missing from cubes with a quarter of oats; every third
    horse has some hay instead of haylage. Concentrates are split over three feeds, so that no meal has much starch.
    """
    needed = energy_needed(mass, work, defaults(on)).mj
    hay = 2.5 if turn % 3 == 0 else 0.0
    haylage = _half((_FORAGE_SHARE * mass - hay * HAY.dry_matter) / HAYLAGE.dry_matter)
    missing = needed - haylage * HAYLAGE.energy_mj_kg - hay * HAY.energy_mj_kg - 0.5 * BALANCER.energy_mj_kg
    mixed = 0.75 * CUBES.energy_mj_kg + 0.25 * OATS.energy_mj_kg
    concentrate = min(max(0.0, missing / mixed), _MOST_CONCENTRATE_KG)
    cubes, oats = _quarter(0.75 * concentrate / 3), _quarter(0.25 * concentrate / 2)
    if concentrate == _MOST_CONCENTRATE_KG:
        haylage = _half((needed - hay * HAY.energy_mj_kg - 5.5 - concentrate * mixed) / HAYLAGE.energy_mj_kg)
    morning, noon, evening = FEED_TIMES
    given = [
        (morning, HAYLAGE.name, _half(0.4 * haylage)),
        (evening, HAYLAGE.name, haylage - _half(0.4 * haylage)),
        (noon, HAY.name, hay),
        *((time, CUBES.name, cubes) for time in FEED_TIMES),
        *((time, OATS.name, oats) for time in (noon, evening)),
        (evening, BALANCER.name, 0.5),
    ]
    return [{"time": time, "feed": feed, "kg": kg} for time, feed, kg in given if kg > 0]


def batches(seasons: Seasons, rationed: pl.DataFrame) -> pl.DataFrame:
    """Return deliveries that fit what was fed: of each feed every four weeks, opened when the last one is empty."""
    grid = seasons.grid
    used = _used(seasons, rationed)
    rows = []
    for feed in FEEDS:
        a_day = used[feed.name]
        for turn, begin in enumerate(range(0, grid.today + 1, _MONTH)):
            end = min(begin + _MONTH, grid.days)
            kg = float(a_day[begin : min(end, grid.today + 1)].sum())
            kg = kg if end <= grid.today else float(a_day[grid.today] * _MONTH)
            rows.append(
                (
                    feed.name,
                    f"{feed.name[:2].upper()}{grid.on(begin).year % 100}{turn:02d}",
                    grid.on(begin) - timedelta(days=3),
                    max(25.0, 25.0 * np.ceil(kg * 1.03 / 25.0)),
                    grid.on(begin),
                    grid.on(end) - timedelta(days=1) if end <= grid.today else None,
                )
            )
    return pl.DataFrame(rows, schema=_BATCHES, orient="row")


def _used(seasons: Seasons, rationed: pl.DataFrame) -> dict[str, Floats]:
    """Return kg of each feed used on each day; what is turned out is not fed here."""
    grid = seasons.grid
    place = {code: i for i, code in enumerate(grid.codes)}
    a_day = {feed.name: np.zeros(grid.here.shape) for feed in FEEDS}
    for code, first, amounts, _ in rationed.rows():
        for feed, kilos in a_day.items():
            kilos[place[code], grid.column(first) :] = sum(one["kg"] for one in amounts if one["feed"] == feed)
    return {feed: (kilos * seasons.present).sum(axis=0) for feed, kilos in a_day.items()}


def _half(kg: float) -> float:
    return round(2 * kg) / 2


def _quarter(kg: float) -> float:
    return round(4 * kg) / 4
