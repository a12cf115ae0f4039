"""Would signs of fitness and freshness make the tool's chances in calls better? Learned early, tried on later days.

On the invented yard: whether a run came to its horse's level less a pound, by the signs two days before; whether a
horse was well for a fortnight, by those of the evening before. Each against the share that the tool says now, learned
from the same first three fifths of days, with a standard error over horses. The weights are a logistic regression with
a penalty, as many as there are signs that vary. `python -m benchmarks.calls_by_signs --results LIBRARY` asks the runs
of a library, by mass and days since the run before: whether each came to what was known before it, less a pound.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from upsides.condition.called import AT_LEVEL_LB

Floats = NDArray[np.float64]
LEARNED, PENALTIES, FIRST_DAYS, BEST, LEAST = 0.6, (1.0, 10.0, 50.0), 60, 5, 6
NAMES = (
    "mass", "mass, either way", "temperature", "resting heart", "recovery", "appetite", "rider's word", "mind",
    "days since the last run", "something for the vet",
)  # fmt: skip


@dataclass(slots=True)
class Cases:
    """What was known, what came, when, and of which horse."""

    known: list[list[float]] = field(default_factory=list)
    came: list[bool] = field(default_factory=list)
    days: list[date] = field(default_factory=list)
    horses: list[int] = field(default_factory=list)

    def add(self, known: list[float], day: date, horse: int, *, came: bool) -> None:
        """Add one."""
        self.known.append(known)
        self.came.append(came)
        self.days.append(day)
        self.horses.append(horse)


def run() -> None:
    """Build the invented yard, and try signs on its runs and fortnights."""
    with tempfile.TemporaryDirectory() as name:
        command = [sys.executable, "-c", "from upsides.cli.main import main; main()"]
        subprocess.run([*command, "demo", "--library", name], check=True, stdout=subprocess.DEVNULL)
        code = f"from benchmarks.calls_by_signs import tried; tried({name!r})"
        subprocess.run([sys.executable, "-c", code], check=True, env=os.environ | {"UPSIDES_LIBRARY": name})


def tried(name: str) -> None:
    """Try signs, in a process of its own that opens the books in a folder."""
    from upsides.books.services.opening import open_books

    open_books(Path(name))
    from benchmarks._signs_of_yard import fortnights, runs

    said(Path(name), "a run to its level", runs)
    said(Path(name), "well for a fortnight", fortnights)


def said(library: Path, what: str, of: Any) -> None:
    """Print how cases are foretold by signs, and by the share alone."""
    cases: Cases = of(library)
    order = np.argsort(np.array(cases.days), kind="stable")
    known, came = np.array(cases.known)[order], np.array(cases.came, dtype=np.float64)[order]
    horse, cut = np.array(cases.horses)[order], int(LEARNED * len(order))
    print(f"{what}: {cut} to learn from, {len(order) - cut} later; came true {came.mean():.3f}")
    share = np.full(len(order) - cut, (came[:cut].sum() + 1) / (cut + 2))
    varies = known[:cut].std(axis=0) > 0
    print(f"  signs that vary: {', '.join(one for one, does in zip(NAMES, varies, strict=True) if does)}")
    scaled = (known[:, varies] - known[:cut, varies].mean(axis=0)) / known[:cut, varies].std(axis=0)
    for penalty in PENALTIES:
        chance = foretold(scaled[:cut], came[:cut], scaled[cut:], penalty)
        better, sd = apart((chance - came[cut:]) ** 2 - (share - came[cut:]) ** 2, horse[cut:])
        scores = [float(np.mean((one - came[cut:]) ** 2)) for one in (chance, share)]
        told = f"Brier {scores[0]:.4f} by signs, {scores[1]:.4f} by the share"
        print(f"  penalty {penalty:.0f}: {told}: {better:+.4f}, standard error {sd:.4f}", flush=True)


def foretold(known: Floats, came: Floats, later: Floats, penalty: float) -> Floats:
    """Return the chances of later cases by a logistic regression on earlier ones, by Newton's steps."""
    X = np.column_stack([np.ones(len(known)), known])
    held = penalty * np.diag([0.0, *np.ones(known.shape[1])])
    weight = np.zeros(X.shape[1])
    for _ in range(30):
        chance = 1 / (1 + np.exp(-X @ weight))
        slope = X.T @ (chance - came) + held @ weight
        weight -= np.linalg.solve((X.T * (chance * (1 - chance))) @ X + held, slope)
    return np.asarray(1 / (1 + np.exp(-np.column_stack([np.ones(len(later)), later]) @ weight)))


def apart(off: Floats, horse: Sequence[int] | NDArray[Any]) -> tuple[float, float]:
    """Return the mean of differences and its standard error, the cases of a horse taken together."""
    each = np.array([off[np.array(horse) == one].sum() for one in np.unique(horse)])
    return float(off.mean()), float(np.sqrt(len(each) * each.var(ddof=1)) / len(off))


def masses(library: Path) -> Cases:
    """Return whether runs of a library came to what was known before them less a pound, by mass and days since the run.

    Mass is held against its mean at the horse's best five of its runs until then, per cent.
    """
    from upsides.condition.expected import missed_in
    from upsides.results.library import Library

    held = Library.open(library)
    runs = held.runs().collect()
    weighed = runs.select("race_key", "horse_key", "body_mass_kg")
    figures = missed_in(held.races().collect(), runs).join(weighed, on=["race_key", "horse_key"])
    figures, cases = figures.drop_nulls(["off_lb", "body_mass_kg"]), Cases()
    for number, (_, mine) in enumerate(figures.sort("horse_key", "date").group_by("horse_key", maintain_order=True)):
        days, mass = mine["date"].to_list(), mine["body_mass_kg"].to_numpy()
        off = mine["off_lb"].to_numpy()
        for place in range(LEAST, len(days)):
            racing = mass[np.argsort(off[:place])[-BEST:]].mean()
            now = float(np.clip(100 * (mass[place] / racing - 1), -6, 6))
            known = [now, abs(now), *[0.0] * 6, rested(days[place - 1], days[place]), 0.0]
            cases.add(known, days[place], number, came=bool(off[place] >= -AT_LEVEL_LB))
    return cases


def rested(last: date, day: date) -> float:
    """Return the logarithm of days since the last run, three weeks being 0, at most two either way."""
    return float(np.clip(np.log(max((day - last).days, 1) / 21), -2, 2))


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("--results", type=Path, help="a library of results")
    given = asked.parse_args()
    if given.results is None:
        run()
    else:
        said(given.results, "a run to its level", masses)
