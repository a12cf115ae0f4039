"""Everything that one horse's page about its trip shows, no more of it than the visitor may see."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import polars as pl

from upsides.books.models import Horse, Inside
from upsides.books.queries import genes, trips
from upsides.books.queries.genes import OfAnimal
from upsides.books.queries.horse import seen
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import State, starts_of, state_of
from upsides.books.queries.standings import FIGURES
from upsides.books.queries.trip_family import Family, family_of
from upsides.books.queries.trips import Facts, Trip, Trips
from upsides.books.queries.visitors import Visitor, opened
from upsides.books.queries.yard_rules import rules_state
from upsides.charts.trip_curve import LONGEST_F, SHORTEST_F
from upsides.errors import UpsidesError
from upsides.rules import own_rules
from upsides.rules.show import RuleRow, rules_in_force
from upsides.trip.answer import ASKED_F, answer, figures_at

DRAWN_F: Final = tuple(SHORTEST_F * (LONGEST_F / SHORTEST_F) ** (step / 40) for step in range(41))
"""Trips at which expected figures are drawn, furlongs: from border to border of the picture in equal ratios."""


@dataclass(frozen=True, slots=True, eq=False)
class Answered:
    """What is thought of a horse's trip.

    Args:
        trip: from what was asked for.
        whole: from everything.
        value: as `upsides.trip.answer.answer` gives it.
        available: the pieces of evidence that there are.
        figures: expected figures over `DRAWN_F`, as `figures_at` gives them.
        shape: correlation of shape and trip that is reckoned with, its error, and from how many of the yard's horses.
    """

    trip: Trip
    whole: Trip
    value: dict[str, Any]
    available: tuple[str, ...]
    figures: list[dict[str, float]]
    shape: tuple[float, float, int]


@dataclass(frozen=True, slots=True)
class HorseTrip:
    """A horse with what is thought of its trip.

    Args:
        horse: its row of the books.
        open: whether that is open to the visitor.
        as_of: day up to which results were known; None where nothing is shown.
        missing: why nothing is known; empty where something is, or it is not open.
        answered: what is thought; None where nothing is, or it is not open.
        family: what breeding says of it.
        tests: gene tests of it, its sire and its dam.
        runs: its starts before the moment's day that have a figure, earliest first:
            columns of `starts_of` and `FIGURES`.
        notes: what the library cannot teach, in English.
        rules: the values that were taken from rules.
    """

    horse: Horse
    open: bool
    as_of: date | None = None
    missing: str = ""
    answered: Answered | None = None
    family: Family | None = None
    tests: tuple[OfAnimal, ...] = ()
    runs: tuple[dict[str, Any], ...] = ()
    notes: tuple[str, ...] = ()
    rules: tuple[RuleRow, ...] = ()


def horse_trip(
    library: Path, who: Visitor, moment: Moment, number: int, *, without: Collection[str] = (),
    what_if: Collection[float] = (),
) -> HorseTrip | None:  # fmt: skip
    """Return what is thought of a horse's trip, None where the visitor may see no such horse.

    Args:
        library: folder of the library.
        who: the visitor.
        moment: when to look from.
        number: of the horse in the books.
        without: pieces of evidence to leave out; those that the horse has not got are passed over.
        what_if: trips in furlongs to say an expected figure for, besides the usual ones.
    """
    horse = seen(who, moment, number)
    if horse is None:
        return None
    if number not in opened(who, Inside.FIGURES):
        return HorseTrip(horse, open=False)
    try:
        found = trips.read_trips(library, moment.day)
        yard = trips.yard_of(library, moment, [horse], found.model.given)
    except UpsidesError as error:
        return HorseTrip(horse, open=True, missing=str(error))
    facts = yard.facts[number]
    return HorseTrip(
        horse,
        open=True,
        as_of=found.model.as_of,
        answered=_answered(found, yard.scored, facts, frozenset(without), tuple(sorted({*ASKED_F, *what_if}))),
        family=_family(found, yard.scored, facts, state_of(library), moment.day),
        tests=tuple(genes.gene_tests_of(horse, yard.tests, yard.horses)),
        runs=tuple(_runs(library, found, horse, moment.day)),
        notes=found.model.notes,
        rules=_rules(library, found.model.as_of, rules_state(library)),
    )


@lru_cache(maxsize=256)
def _answered(
    found: Trips, scored: tuple[Facts, ...], facts: Facts, without: frozenset[str], what_if: tuple[float, ...]
) -> Answered:
    made = trips.cases(found, scored)
    case = trips.cases_of(made, [facts])[0]
    left = without & set(case.available)
    post = case.answer(set(case.available) - left)
    value = answer(case, without=left, what_if=what_if)
    reading = (made.reading.mean, made.reading.sd, made.reading.horses)
    return Answered(
        trips.trip_of(case, post),
        trips.trip_of(case, case.answer()),
        value,
        case.available,
        figures_at(post, DRAWN_F),
        reading,
    )


@lru_cache(maxsize=256)
def _family(found: Trips, scored: tuple[Facts, ...], facts: Facts, state: State, before: date) -> Family:
    made = trips.cases(found, scored)
    return family_of(state, before, made, trips.cases_of(made, [facts])[0], facts)


def _runs(library: Path, found: Trips, horse: Horse, before: date) -> Sequence[dict[str, Any]]:
    """Return the starts that the fit has a figure of."""
    keys = frozenset(Horse.objects.values_list("horse_key", flat=True))  # one table for all pages that show starts
    own = starts_of(state_of(library), keys).filter(pl.col("horse_key") == horse.horse_key, pl.col("date") < before)
    known = _figures(found, horse.horse_key)
    return [start | known[start["race_key"]] for start in reversed(own.to_dicts()) if start["race_key"] in known]


@lru_cache(maxsize=256)
def _figures(found: Trips, key: str) -> dict[str, dict[str, Any]]:
    own = found.figures.filter(pl.col("horse_key") == key)
    there = [name for name in FIGURES if name in own.collect_schema().names()]
    rows = own.select(there).collect().to_dicts()
    return {row["race_key"]: dict.fromkeys(FIGURES) | row for row in rows}


@lru_cache(maxsize=8)
def _rules(library: Path, on: date, _state: tuple[int, int] | None) -> tuple[RuleRow, ...]:
    return tuple(row for row in rules_in_force("anywhere", on, overrides=own_rules(library)) if row.topic == "trip")
