"""What breeding alone says of a trip: the two parents, their foals on the racecourse, and how much that is worth."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from upsides.books.models import Inside, Lot
from upsides.books.queries import trips
from upsides.books.queries.moments import Moment
from upsides.books.queries.relatives import relatives_of
from upsides.books.queries.results import State, state_of
from upsides.books.queries.trips import Facts, Trip
from upsides.books.queries.visitors import Visitor, opened
from upsides.errors import UpsidesError
from upsides.results.naming import key_of, may_be_one
from upsides.trip.case import Case
from upsides.trip.cases import Cases
from upsides.trip.kinds import kind_chances
from upsides.trip.prior import genetic
from upsides.trip.scale import furlongs


@dataclass(frozen=True, slots=True)
class Foals:
    """What other foals of a parent have done on the racecourse.

    Args:
        known: how many the library knows.
        ran: how many of them have run.
        runs: starts of theirs.
        won: how many have won.
        won_over: the shortest and the longest trip that one of them won over, m; None for none.
    """

    known: int
    ran: int
    runs: int
    won: int
    won_over: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Parent:
    """A sire or a dam.

    Args:
        side: "sire" or "dam".
        name: its name.
        average: best trip of its average foal, furlongs; None where the model has not met it.
        known: share of what it hands down about trip that is known, 0 to 1; None likewise.
        foals: what its foals have done.
    """

    side: str
    name: str
    average: float | None
    known: float | None
    foals: Foals


@dataclass(frozen=True, slots=True)
class Family:
    """What breeding says.

    Args:
        trip: by breeding alone; None where it says nothing.
        kinds: the chance of each kind of horse, likewise.
        known: share of what breeding can tell of the trip that is known, 0 to 1.
        runs: of the sire's and the dam's other foals.
        parents: those that are named.
    """

    trip: Trip | None
    kinds: Mapping[str, float]
    known: float
    runs: int
    parents: tuple[Parent, ...]


def lot_family(library: Path, who: Visitor, moment: Moment, lot: Lot) -> Family | None:
    """Return what the breeding of a lot says of its trip; None where it says nothing, or is not open to the visitor.

    A lot is no horse of the yard yet, so it is open to those to whom the figures of every horse are.
    """
    if not opened(who, Inside.FIGURES).everything or not (lot.sire or lot.dam):
        return None
    try:
        found = trips.read_trips(library, moment.day)
    except UpsidesError:
        return None
    facts, made = trips.facts_of_lot(lot), trips.cases(found, ())
    family = family_of(state_of(library), moment.day, made, trips.cases_of(made, [facts])[0], facts)
    return family if family.trip else None


def family_of(state: State, before: date, made: Cases, case: Case, facts: Facts) -> Family:
    """Return what breeding says of a horse.

    Args:
        state: the library.
        before: runs of earlier days count.
        made: what made the case.
        case: the horse's.
        facts: what the yard knows of it.
    """
    said, named = case.known.relatives, [(side, name) for side in ("sire", "dam") if (name := getattr(facts, side))]
    post = case.answer({"family"}) if "family" in case.available else None
    return Family(
        trips.trip_of(case, post) if post else None,
        kind_chances(post, case.given) if post else {},
        float(said.reliability[1]) if said is not None else 0.0,
        said.records if said is not None else 0,
        tuple(
            Parent(side, name, *_handed_down(made, case, name), _foals(state, before, side, name, facts.key))
            for side, name in named
        ),
    )


def _handed_down(made: Cases, case: Case, name: str) -> tuple[float | None, float | None]:
    """Return the best trip of a parent's average foal, furlongs, and the share that is known of what it hands down."""
    row = made.relations.row(name) if not made.model.family.is_empty() else None
    if row is None:
        return None, None
    value, error = (float(made.model.family[column][row]) for column in ("whole_d", "whole_dd"))
    known = 1.0 - error / float(genetic(case.p, case.given)[1, 1])
    return float(furlongs(case.centre[1] + case.moved + value / 2.0)), min(max(known, 0.0), 1.0)


def _foals(state: State, before: date, side: str, name: str, own: str) -> Foals:
    """Return what other foals of a parent had done before a day."""
    key = key_of(name)
    horses, runs = relatives_of(state, *((key, "") if side == "sire" else ("", key)))
    parents = horses[side].to_list()
    others = horses.filter(pl.Series([may_be_one(key, key_of(one)) for one in parents], dtype=pl.Boolean))
    others = others.filter(pl.col("horse_key") != own)
    unknown = pl.col("first_run").is_not_null() & (pl.col("first_run") >= before)
    ran = runs.filter(pl.col("date") < before, pl.col("horse_key").is_in(others["horse_key"].to_list()))
    won = ran.filter(pl.col("position") == 1)
    trips_won: Sequence[float] = won["distance_m"].drop_nulls().to_list()
    return Foals(
        others.filter(~unknown).height,
        ran["horse_key"].n_unique(),
        ran.height,
        won["horse_key"].n_unique(),
        (min(trips_won), max(trips_won)) if trips_won else None,
    )
