"""Relatives of a lot: horses of the library and of the yard by the same sire or out of the same dam, and other lots."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
from django.db.models import Q

from upsides.books.models import Horse, Lot, Sale
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.relatives import PARENTS, relatives_of, summed
from upsides.books.queries.results import state_of
from upsides.errors import UpsidesError
from upsides.results.naming import key_of, may_be_one


@dataclass(frozen=True, slots=True)
class Relative:
    """A horse with a parent of the lot's.

    Args:
        name: as the library or the books have it, with its country where that is known.
        foaled: year of foaling, None where it is not known.
        sex: as last known, empty where it is not.
        sire: its sire's name, empty where it is not known.
        dam: its dam's.
        number: its number in the books, None where it was never in the yard.
        runs: starts before the moment's day.
        wins: how many of them it won.
        shortest: shortest trip it ran, m; None where none is known.
        longest: longest trip it ran, m.
        won_over: trips that it won over, m, ascending.
        last: day of its last start.
    """

    name: str
    foaled: int | None
    sex: str
    sire: str
    dam: str
    number: int | None
    runs: int = 0
    wins: int = 0
    shortest: float | None = None
    longest: float | None = None
    won_over: tuple[float, ...] = ()
    last: date | None = None


@dataclass(frozen=True, slots=True)
class Kin:
    """The relatives of a lot.

    Args:
        own: the horse itself, where it has a name that the library or the yard knows; None where it does not.
        of_dam: other horses out of the same dam, the eldest first.
        of_sire: other horses by the same sire, those with most runs first.
        lots_of_dam: lots out of the same dam, this one left out, each with its sale; the latest first.
        lots_of_sire: how many lots of the same sale are by the same sire, this one left out.
        no_results: why nothing of the library is known, empty where it is.
    """

    own: Relative | None
    of_dam: list[Relative]
    of_sire: list[Relative]
    lots_of_dam: list[tuple[Lot, Sale]]
    lots_of_sire: int
    no_results: str


def kin(library: Path, moment: Moment, lot: Lot) -> Kin:
    """Return a lot's relatives, as they were known at a moment."""
    sire, dam = key_of(lot.sire), key_of(lot.dam)
    known, no_results = _library_horses(library, moment, sire, dam)
    horses = [*known, *_yard_horses(moment, sire, dam, {one["horse_key"] for one in known})]
    told = [_relative(one) for one in horses]
    of_dam = [one for one in told if dam and may_be_one(dam, key_of(one.dam))]
    of_sire = [one for one in told if one not in of_dam and sire and may_be_one(sire, key_of(one.sire))]
    own = _own(lot, of_dam if dam else of_sire)
    of_dam, of_sire = ([one for one in some if one is not own] for some in (of_dam, of_sire))
    return Kin(
        own,
        sorted(of_dam, key=lambda one: (one.foaled or 9999, one.name)),
        sorted(of_sire, key=lambda one: (-one.runs, one.name)),
        _lots_of_dam(moment, lot, dam),
        _lots_of_sire(moment, lot),
        no_results,
    )


def _own(lot: Lot, horses: Iterable[Relative]) -> Relative | None:
    """Return the horse that the lot is, told by its name among those with its dam, or else its sire."""
    name = key_of(lot.name)
    return next((one for one in horses if name and may_be_one(name, key_of(one.name))), None)


def _library_horses(library: Path, moment: Moment, sire: str, dam: str) -> tuple[list[dict[str, Any]], str]:
    """Return the library's horses with either parent, with what they had done by the moment's day."""
    try:
        state = state_of(library)
    except UpsidesError as error:
        return [], str(error)
    horses, runs = relatives_of(state, sire, dam)
    done = {row["horse_key"]: row for row in summed(runs.filter(pl.col("date") < moment.day)).to_dicts()}
    unknown = pl.col("first_run").is_not_null() & (pl.col("first_run") >= moment.day)
    keys = horses.filter(~unknown)["horse_key"].to_list()
    numbers = dict(moments.rows(Horse, moment).filter(horse_key__in=keys).values_list("horse_key", "id"))
    told = [row | done.get(row["horse_key"], {}) for row in horses.filter(~unknown).to_dicts()]
    return [row | {"number": numbers.get(row["horse_key"])} for row in told], ""


def _yard_horses(moment: Moment, sire: str, dam: str, known: Iterable[str]) -> list[dict[str, Any]]:
    """Return the yard's own horses with either parent that the library does not know."""
    fields = ("id", "horse_key", "name", "foaled", "sex", *PARENTS)
    rows = moments.rows(Horse, moment).exclude(horse_key__in=list(known)).values(*fields)
    return [
        row | {"number": row["id"]}
        for row in rows
        if any(key and may_be_one(key, key_of(row[name])) for name, key in zip(PARENTS, (sire, dam), strict=True))
    ]


def _relative(row: dict[str, Any]) -> Relative:
    done = {name: row[name] for name in ("runs", "wins", "shortest", "longest", "last") if name in row}
    return Relative(
        row["name"] or row["horse_key"],
        row["foaled"],
        row["sex"] or "",
        row["sire"] or "",
        row["dam"] or "",
        row["number"],
        won_over=tuple(row.get("won_over") or ()),
        **done,
    )


def _lots_of_dam(moment: Moment, lot: Lot, dam: str) -> list[tuple[Lot, Sale]]:
    """Return other lots out of the same dam in any sale, the latest first."""
    if not dam:
        return []
    bare = lot.dam.rpartition(" (")[0] or lot.dam
    near = moments.rows(Lot, moment).filter(Q(dam__iexact=bare) | Q(dam__istartswith=f"{bare} (")).exclude(id=lot.pk)
    found = [other for other in near if may_be_one(dam, key_of(other.dam))]
    sales = {sale.pk: sale for sale in moments.rows(Sale, moment).filter(id__in={other.sale_id for other in found})}
    pairs = [(other, sales[other.sale_id]) for other in found if other.sale_id in sales]
    return sorted(pairs, key=lambda pair: (-pair[1].year, -(pair[0].foaled or 0), pair[1].name, pair[0].pk))


def _lots_of_sire(moment: Moment, lot: Lot) -> int:
    if not lot.sire:
        return 0
    return moments.rows(Lot, moment).filter(sale=lot.sale_id, sire=lot.sire).exclude(id=lot.pk).count()
