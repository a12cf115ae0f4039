"""Simulated horses with a true trip, raced by three kinds of people, none of whom does as the model supposes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.trip.runs import Runs

Floats = NDArray[np.float64]

PROGRAMME = np.log2([5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0])
"""Races there are, octaves of furlongs."""

HABITS = ("chasers", "knowers", "takers")
"""Chasers change the trip after a bad run, in either direction; knowers run a horse near what they know of it, young
horses shorter; takers run it over whatever is on."""

FORM_SD, TAU, LUCK = 5.0, 90.0, 6.0


@dataclass(frozen=True)
class Herd:
    """Horses with the truth about them: trip (octaves), ability (lb at the best trip); and where they would be run."""

    runs: Runs
    trip: Floats
    ability: Floats


def herd(habit: str, horses: int, seed: int) -> Herd:
    """Race horses under a habit."""
    rng = np.random.default_rng(seed)
    trip = np.clip(rng.normal(3.05, 0.38, horses), np.log2(4.5), np.log2(19.0))
    ability = rng.normal(70.0, 10.0, horses)
    width = 0.32 * np.exp(rng.normal(0.0, 0.25, (horses, 1)) + rng.normal(0.0, 0.1, (horses, 2)))
    count = np.minimum(1 + rng.geometric(0.11, horses), 40)
    start = np.concatenate([[0], np.cumsum(count)]).astype(np.int64)
    x, y, day = np.empty(start[-1]), np.empty(start[-1]), np.empty(start[-1])
    for h in range(horses):
        rows = slice(int(start[h]), int(start[h + 1]))
        day[rows] = np.cumsum(rng.integers(8, 50, count[h]))
        x[rows], y[rows] = _career(rng, habit, trip[h], ability[h], width[h], day[rows])
    runs = Runs(
        keys=[f"s:{h}" for h in range(horses)], start=start, y=y, variance=np.full(y.size, LUCK**2), x=x,
        z=np.full(y.size, np.nan), day=day, age=np.full(y.size, np.nan), female=rng.random(horses) < 0.4,
        foaled_in=np.full(horses, ""),
    )  # fmt: skip
    return Herd(runs, trip, ability)


def loss(off: Floats | float, width: Floats) -> Floats:
    """Return what a horse loses off its trip: a square that stops at 40 lb."""
    return np.minimum(40.0, 3.0 * (np.asarray(off) / np.where(np.asarray(off) < 0, width[0], width[1])) ** 2)


def _career(
    rng: np.random.Generator, habit: str, trip: float, ability: float, width: Floats, day: Floats
) -> tuple[Floats, Floats]:
    x, y, form, seen = np.empty(day.size), np.empty(day.size), rng.normal(0.0, FORM_SD), []
    thought = trip + rng.normal(0.0, {"chasers": 0.3, "knowers": 0.12, "takers": 0.35}[habit])
    for run in range(day.size):
        if run:
            keep = np.exp(-(day[run] - day[run - 1]) / TAU)
            form = keep * form + rng.normal(0.0, FORM_SD * np.sqrt(1.0 - keep**2))
        x[run] = _entered(rng, habit, thought, run)
        y[run] = ability + form - loss(x[run] - trip, width) + rng.normal(0.0, LUCK)
        if habit == "chasers" and seen:
            bad = y[run] < np.mean(seen) - 3.0
            if rng.random() < (0.6 if bad else 0.25):
                thought = x[run] + rng.choice([-1.0, 1.0]) * rng.uniform(0.1, 0.4)
        seen.append(y[run])
    return x, y


def _entered(rng: np.random.Generator, habit: str, thought: float, run: int) -> float:
    if habit == "takers":
        within = PROGRAMME[np.abs(PROGRAMME - thought) < 0.6]
        return float(rng.choice(within if within.size else PROGRAMME))
    wish = thought - (0.25 if habit == "knowers" and run < 3 else 0.0) + rng.normal(0.0, 0.1)
    return float(PROGRAMME[np.argmin(np.abs(PROGRAMME - wish))])
