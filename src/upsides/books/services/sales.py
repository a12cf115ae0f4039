"""Writes about sales: their lists, each sale's taken whole or not at all, and again as they are corrected."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final, cast

import polars as pl
from django.db import transaction

from upsides.books import clock
from upsides.books.models import Lot, Sale, Yard
from upsides.books.services.histories import change_at, enter_at
from upsides.results.lots import Listed, Progress

_PRINTED: Final = ("day", "name", "sex", "foaled", "colour", "sire", "dam", "dam_sire", "price", "currency", "removed")
_WORDS: Final = frozenset({"name", "sex", "colour", "sire", "dam", "dam_sire", "currency"})


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of the list of one sale.

    Args:
        sale: its row.
        lots: lots in the list.
        new: of these, not known before.
        changed: known in another form, or as removed.
        removed: known before, and no longer in the list.
        missing: not in the list either, but left as they are: some of its rows could not be read.
    """

    sale: Sale
    lots: int
    new: int
    changed: int
    removed: int
    missing: int


def import_sale(listed: Listed, progress: Progress | None = None) -> list[Taken]:
    """Take in the list of a sale, or of several, as `read_lots` gave it; the same list again changes nothing.

    A lot is known by its number: one that the list has otherwise is changed, one that it no longer has is marked as
    removed, and what stood before stays in the history. One sale is written after the other, so that others who write
    wait for one sale at most.

    Args:
        listed: what was read.
        progress: called with the share done and what is being done.

    Returns:
        What became of each sale, in the list's order.
    """
    done, count = [], 0
    for (name, year), part in listed.lots.partition_by("sale", "year", as_dict=True, maintain_order=True).items():
        done.append(_sale(str(name), int(str(year)), part, listed))
        count += part.height
        if progress is not None:
            progress(count / listed.lots.height, f"writing {name} {year}")
    return done


@transaction.atomic
def _sale(name: str, year: int, part: pl.DataFrame, listed: Listed) -> Taken:
    """Bring one sale up to its list."""
    Yard.objects.select_for_update().first()  # one list after the other
    at = clock.now()
    sale = Sale.objects.filter(name__iexact=name, year=year).first() or _begun(name, year, part, listed, at)
    known = {lot.number: lot for lot in Lot.objects.filter(sale=sale)}
    fresh = {row["number"]: Lot(sale=sale, number=row["number"], **lot_values(row)) for row in part.to_dicts()}
    new = enter_at([lot for number, lot in fresh.items() if number not in known], at)
    changed = _change([(known[number], lot) for number, lot in fresh.items() if number in known], at)
    gone = [lot for number, lot in known.items() if number not in fresh and not lot.removed]
    removed = 0 if listed.unread else _remove(gone, at)
    if known and (new or changed or removed):
        change_at([_listed(sale, part, listed, at)], ["day", "imported_at", "file", "sha256"], at)
    return Taken(sale, len(fresh), len(new), changed, removed, len(gone) - removed)


def _begun(name: str, year: int, part: pl.DataFrame, listed: Listed, at: datetime) -> Sale:
    return enter_at([_listed(Sale(name=name, year=year), part, listed, at)], at)[0]


def _listed(sale: Sale, part: pl.DataFrame, listed: Listed, at: datetime) -> Sale:
    """Say of a sale which list it now has, and its first day."""
    sale.day = cast("date | None", part["day"].min())
    sale.imported_at, sale.file, sale.sha256 = at, listed.file[:255], listed.sha256
    return sale


def _remove(gone: list[Lot], at: datetime) -> int:
    for lot in gone:
        lot.removed = True
    change_at(gone, ["removed"], at)
    return len(gone)


def lot_values(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a lot's fields from a row of its list, columns as in `lot_rows.LOTS`."""
    values = {name: row[name] or "" if name in _WORDS else row.get(name) for name in _PRINTED}
    price = None if row["price"] is None else Decimal(str(row["price"])).quantize(Decimal("0.01"))
    return values | {"price": price, "removed": False}


def _change(pairs: Iterable[tuple[Lot, Lot]], at: datetime) -> int:
    """Bring known lots to what the list says; return how many differ."""
    changed, fields = [], set()
    for old, new in pairs:
        other = {name for name in _PRINTED if getattr(old, name) != getattr(new, name)}
        for name in other:
            setattr(old, name, getattr(new, name))
        if other:
            changed.append(old)
            fields |= other
    change_at(changed, sorted(fields), at)
    return len(changed)
