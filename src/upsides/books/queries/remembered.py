"""Answers that a process keeps as long as nothing that they are made from has changed.

What was written is told by the last number of each table's history, and of the diary's entries of some kinds: rows are
never changed there, so the same numbers mean the same answer. Within an open transaction nothing is kept, because it
may yet be undone.
"""

from collections import OrderedDict
from collections.abc import Callable, Collection, Hashable
from datetime import datetime, timedelta
from typing import Any, Final, TypeVar

from django.db import connection
from django.db.models import Max, Model

from upsides.books import clock
from upsides.books.models import Entry
from upsides.books.queries.moments import Moment

T = TypeVar("T")
MOST: Final = 40
"""Answers that are kept; the one that was not asked for longest goes first."""
LATELY: Final = timedelta(hours=26)
"""Longer than any day of the yard's zone, so that within a day nothing written in it is passed over."""
_KEPT: Final[OrderedDict[Hashable, Any]] = OrderedDict()


def remembered(
    name: str,
    moment: Moment,
    kinds: Collection[str],
    tables: Collection[type[Model]],
    make: Callable[[], T],
    *more: Hashable,
    before: datetime | None = None,
) -> T:
    """Return an answer, from what is kept where nothing has changed since it was made.

    Args:
        name: what was asked.
        moment: when it is looked from; of an earlier moment nothing is kept.
        kinds: kinds of entries that the answer is made from.
        tables: mutable tables that it is made from.
        make: makes it.
        more: what else it hangs on.
        before: of entries, those only that were so before this moment.
    """
    if moment.at is not None or connection.in_atomic_block:
        return make()
    key = (name, moment.day, *more, state(kinds, tables, before))
    if key not in _KEPT:
        _KEPT[key] = make()
        while len(_KEPT) > MOST:
            _KEPT.popitem(last=False)
    _KEPT.move_to_end(key)
    found: T = _KEPT[key]
    return found


def state(
    kinds: Collection[str], tables: Collection[type[Model]], before: datetime | None = None
) -> tuple[int | None, ...]:
    """Return numbers that change whenever something of these is written.

    Of entries those written lately are looked at: an older one that is the last still is what it was.
    """
    return (*(_last_entries(kinds, before) if kinds else ()), *(_last_change(table) for table in tables))


def _last_entries(kinds: Collection[str], before: datetime | None) -> tuple[int | None, ...]:
    lately = Entry.objects.filter(recorded_at__gte=clock.now() - LATELY)
    rows = lately if before is None else lately.filter(happened_at__lt=before)
    last = dict(rows.order_by("recorded_at", "pk").values_list("kind", "pk"))  # of each kind the last
    return tuple(last.get(kind) for kind in sorted(kinds))


def _last_change(table: type[Model]) -> int | None:
    past = table.history  # type: ignore[attr-defined]  # every mutable table has one
    number: int | None = past.aggregate(last=Max("history_id"))["last"]
    return number
