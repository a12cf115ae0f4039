"""What is seen without measuring: who was looked at, legs felt, what was left, droppings, mind, notes."""

import json
from typing import Any

import numpy as np
import polars as pl

from upsides.demo.names import sentences
from upsides.demo.yardbooks.grid import Bools
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.rounds import evening_round, morning_round
from upsides.demo.yardbooks.seasons import Seasons

_AS_USUAL, _LOOKED_AT = 0.7, 0.24
_FELT = 0.96
_EVERY_EVENING = 30
_LEFT = ("nothing", "some", "half", "most", "all")
_LEFT_ODDS = np.cumsum([0.93, 0.045, 0.016, 0.006, 0.003])
_DROPPINGS = ("as_usual", "few", "loose", "hard", "none")
_MIND = ("settled", "bright", "keen", "wound_up", "worried", "dull", "sour")


def rounds_of_late(rng: np.random.Generator, seasons: Seasons) -> list[pl.DataFrame]:
    """Return the rounds of the last days, morning and evening; every day somebody is missed."""
    late = _lately(seasons)
    chance = rng.random(late.shape)
    parts = [
        _morning(rng, seasons, "as_usual", late & (chance < _AS_USUAL)),
        _morning(rng, seasons, "looked_at", late & (chance >= _AS_USUAL) & (chance < _AS_USUAL + _LOOKED_AT)),
    ]
    evening = late.copy()
    evening[:, seasons.grid.today] = False
    found = np.zeros_like(evening)
    for one in seasons.events.findings:
        found[one.horse, one.day : one.until] = True
    horses, days = np.nonzero(evening & ~found & (rng.random(late.shape) < _FELT))
    parts.append(
        lines(
            "legs_felt",
            horse=seasons.codes(horses),
            day=seasons.grid.first + days,
            second=evening_round(rng, seasons, horses),
            author=seasons.heads(horses, days),
        )
    )
    return [*parts, _left(rng, seasons, evening)]


def _lately(seasons: Seasons) -> Bools:
    late = np.zeros_like(seasons.present)
    late[:, seasons.lately] = seasons.present[:, seasons.lately]
    return late


def _morning(rng: np.random.Generator, seasons: Seasons, kind: str, which: Bools) -> pl.DataFrame:
    horses, days = np.nonzero(which)
    now = seasons.events.morning
    wrong = (days == seasons.grid.today) & np.isin(horses, (now.warm, now.leg))
    horses, days = horses[~wrong], days[~wrong]
    return lines(
        kind,
        horse=seasons.codes(horses),
        day=seasons.grid.first + days,
        second=morning_round(rng, seasons, horses),
        author=seasons.carers(horses, days),
    )


def _left(rng: np.random.Generator, seasons: Seasons, evening: Bools) -> pl.DataFrame:
    """Return what was left: every evening of the last month, and before that only where something was."""
    grid = seasons.grid
    rank = np.searchsorted(_LEFT_ODDS, rng.random(grid.here.shape))
    rank[grid.race_m > 0] += 1
    if seasons.events.cough:
        for horse, begin in zip(seasons.events.cough.horses, seasons.events.cough.begins, strict=True):
            rank[horse, begin : begin + 4] = 2
    rank = np.minimum(rank, len(_LEFT) - 1)
    rank[seasons.events.morning.warm, grid.today - 1] = 2
    earlier = seasons.present & (rank > 0) & (rng.random(rank.shape) < 0.25)
    earlier[:, seasons.lately[0] :] = False
    evening[:, : grid.today - _EVERY_EVENING] &= rank[:, : grid.today - _EVERY_EVENING] > 0
    kept = earlier | (evening & (rng.random(rank.shape) < 0.94))
    kept[seasons.events.morning.warm, grid.today - 1] = True
    horses, days = np.nonzero(kept)
    values = [said(left=_LEFT[left], feed="evening") for left in range(len(_LEFT))]
    return lines(
        "feed_left",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=evening_round(rng, seasons, horses) + 1800,
        author=seasons.carers(horses, days),
        values=[values[left] for left in rank[horses, days].tolist()],
    )


def now_and_then(rng: np.random.Generator, seasons: Seasons) -> list[pl.DataFrame]:
    """Return what is written only where there is something to write: droppings, mind, notes."""
    droppings = [said(droppings=word) for word in _DROPPINGS]
    mind = [said(mind=word) for word in _MIND]
    notes = [json.dumps({"text": text}) for text in sentences("notes")]
    kinds = (
        ("droppings", 0.006, 0.0012, droppings, np.array([0.6, 0.2, 0.12, 0.06, 0.02])),
        ("mind", 0.03, 0.002, mind, np.array([0.4, 0.22, 0.14, 0.08, 0.06, 0.06, 0.04])),
        ("note", 0.025, 0.003, notes, np.full(len(notes), 1 / len(notes))),
    )
    return [_some(rng, seasons, kind, odds, values, share) for kind, *odds, values, share in kinds]


def _some(
    rng: np.random.Generator, seasons: Seasons, kind: str, odds: list[float], values: list[str], share: np.ndarray
) -> pl.DataFrame:
    chance = np.full(seasons.grid.days, odds[1])
    chance[seasons.lately] = odds[0]
    chance[seasons.grid.today :] = 0
    horses, days = np.nonzero(seasons.present & (rng.random(seasons.present.shape) < chance))
    which = rng.choice(len(values), days.size, p=share)
    return lines(
        kind,
        horse=seasons.codes(horses),
        day=seasons.grid.first + days,
        second=morning_round(rng, seasons, horses) + rng.integers(300, 4000, days.size),
        author=seasons.carers(horses, days),
        values=[values[i] for i in which.tolist()],
    )


def cough_lines(rng: np.random.Generator, seasons: Seasons) -> list[pl.DataFrame]:
    """Return what else was written of the cough: notes, pulse and breathing of the first warm morning."""
    cough = seasons.events.cough
    if cough is None:
        return []
    horses, days = np.array(cough.horses), np.array(cough.begins)
    second = morning_round(rng, seasons, horses) + 300
    texts = sentences("warm_notes")
    about: dict[str, Any] = {
        "horse": seasons.codes(horses),
        "day": seasons.grid.first + days,
        "author": seasons.carers(horses, days),
    }
    words = [f"{texts[i % len(texts)]} Coughed twice." for i in range(horses.size)]
    return [
        lines("note", second=second + 60, values=[json.dumps({"text": text}) for text in words], **about),
        lines("pulse", second=second, values=[said(beats=int(n)) for n in rng.integers(44, 54, horses.size)], **about),
        lines(
            "breathing",
            second=second,
            values=[said(breaths=int(n)) for n in rng.integers(15, 23, horses.size)],
            **about,
        ),
    ]
