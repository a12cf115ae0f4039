"""Signs of horses on earlier days, and what came of them, for the benchmark of calls."""

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from benchmarks.calls_by_signs import FIRST_DAYS, Cases, rested
from upsides.books import clock
from upsides.books.models import Horse, Outing
from upsides.books.queries import levels, moments
from upsides.books.queries.condition_signs import AFTER, SIGN_DAYS
from upsides.books.queries.days import entries_of
from upsides.books.queries.exercised import exercise_of, orders_of
from upsides.books.queries.tools_word import signs_of
from upsides.condition.called import AT_LEVEL_LB, DAYS, Made, Ran, came_of
from upsides.condition.fresh.answer import Seen, fresh
from upsides.condition.fresh.latest import LEAST, Latest

KINDS = {
    "mass": "kg", "temperature": "celsius", "pulse": "beats", "feed_left": "left", "rider_word": "felt", "mind": "mind",
}  # fmt: skip
BACK = 1200
CALLED = timedelta(days=2)
Run = tuple[date, float, float]


class Yard:
    """What the books hold of the yard, read at once."""

    def __init__(self, library: Path) -> None:
        moment, zone = moments.now(), clock.place().zone
        self.today = moment.day
        first = self.today - timedelta(days=BACK)
        self.horses = {one.horse_key: one for one in moments.rows(Horse, moment)}
        self.entered: dict[tuple[int, str], list[tuple[date, Any]]] = {}
        rows = entries_of(moment, tuple(KINDS), first, self.today)
        for kind, horse, at, values in rows.values_list("kind", "horse_id", "happened_at", "values"):
            self.entered.setdefault((horse, kind), []).append((at.astimezone(zone).date(), values[KINDS[kind]]))
        self.begins = min(day for told in self.entered.values() for day, _ in told) + timedelta(days=FIRST_DAYS)
        outings = moments.standing(Outing, moment).order_by("began", "pk")
        said = orders_of(moment, first, set(outings.values_list("horse_id", flat=True)))
        out = outings.values_list("horse_id", "day", "measured__heart__after", "measured__works")
        for horse, day, after, works in out:
            if after and after.get(AFTER):
                exercise = exercise_of(said.get((horse, day), ("", None))[0], works or [])
                self.entered.setdefault((horse, "recovery"), []).append((day, (float(after[AFTER]), exercise)))
        self.signs = signs_of(moment, first)
        self.ran: dict[str, list[Run]] = {key: [] for key in self.horses}
        names = ("horse_key", "date", "figure_lb", "expected_lb")
        for key, day, figure, expected in _figures(library, self.today).select(names).iter_rows():
            if key in self.ran:
                self.ran[key].append((day, figure, expected))

    def known(self, key: str, day: date) -> list[float]:
        """Return what was known of a horse on the evening of a day, as `calls_by_signs.NAMES` has it."""
        horse, since = self.horses[key].pk, day - timedelta(days=SIGN_DAYS)

        def told(kind: str) -> list[tuple[date, Any]]:
            return [one for one in self.entered.get((horse, kind), ()) if since < one[0] <= day]

        hearts = told("recovery")
        recovery = [(when, bpm) for when, (bpm, exercise) in hearts if exercise == hearts[-1][1][1]]
        seen = Seen(
            mass=told("mass"), temperature=told("temperature"), resting_heart=told("pulse"), recovery=recovery,
            left=told("feed_left"), rider=told("rider_word"), mind=told("mind"),
        )  # fmt: skip
        found = fresh(seen, day)
        mass, *others = [_off(one) for one in found.signs]
        words = [float(name in found.unusual) for name in ("appetite", "rider's word", "mind")]
        last = max((run[0] for run in self.ran[key] if run[0] <= day), default=None)
        ill = any(what != "looked at" and 0 <= (day - when).days < 14 for when, what in self.signs.get(horse, ()))
        return [mass, abs(mass), *others, *words, 1.0 if last is None else rested(last, day), float(ill)]


def runs(library: Path) -> Cases:
    """Return whether each run of the yard came to its level less a pound."""
    yard, cases = Yard(library), Cases()
    for key, ran in yard.ran.items():
        for day, figure, expected in ran:
            if day >= yard.begins:
                came = figure >= expected - AT_LEVEL_LB
                cases.add(yard.known(key, day - CALLED), day, yard.horses[key].pk, came=came)
    return cases


def fortnights(library: Path) -> Cases:
    """Return whether each horse of the yard was well in each fortnight of which that is known."""
    yard, cases, days = Yard(library), Cases(), timedelta(days=DAYS["fresh"])
    spread, day = float(np.std([run[1] - run[2] for ran in yard.ran.values() for run in ran])), yard.begins
    while day + days < yard.today:
        for key, horse in yard.horses.items():
            if horse.joined > day or (horse.left is not None and horse.left <= day + days):
                continue
            ran = [one for one in yard.ran[key] if day <= one[0] <= day + days]
            made = Made("fresh", day, ran[0][2] if ran else None, spread)
            told = [Ran(when, figure, None) for when, figure, _ in ran]
            came = came_of(made, told, yard.signs.get(horse.pk, ()), yard.today).came
            if came is not None:
                cases.add(yard.known(key, day - timedelta(days=1)), day, horse.pk, came=came)
        day += days
    return cases


def _figures(library: Path, until: date) -> pl.DataFrame:
    figures = levels.read_levels(library, until).figures.lazy()
    return figures.drop_nulls(["figure_lb", "expected_lb"]).sort("horse_key", "date").collect()


def _off(one: object) -> float:
    """Return by how many of its own spreads a sign lies off its usual, at most four; 0 where that is not known."""
    if not isinstance(one, Latest) or one.usual is None or one.high is None or one.count < LEAST:
        return 0.0
    return float(np.clip(1.645 * (one.value - one.usual) / max(one.high - one.usual, 1e-9), -4, 4))
