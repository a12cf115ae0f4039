"""Answers that a process keeps as long as nothing that they are made from has changed.

What was written is told by how many rows each table's history holds and the last of them, and by those of the diary's
entries of some kinds: rows are never changed there, so the same numbers mean the same answer. Within an open
transaction nothing is kept, because it may yet be undone. What is kept is shared by requests: nobody may change it.
"""

from collections import OrderedDict
from collections.abc import Callable, Collection, Hashable
from datetime import datetime, timedelta
from threading import Lock
from typing import Any, Final, TypeVar

from django.db import connection
from django.db.models import Count, Max, Model, Q
from django.db.models.functions import Lower

from upsides.books import clock
from upsides.books.models import Entry
from upsides.books.queries.moments import Moment

T = TypeVar("T")
MOST: Final = 60
"""Answers that are kept; the one that was not asked for longest goes first."""
LATELY: Final = timedelta(hours=26)
"""Longer than any day of the yard's zone, so that within a day nothing written in it is passed over."""
_KEPT: Final[OrderedDict[Hashable, Any]] = OrderedDict()
_ONE: Final = Lock()
"""Held by the one thread that looks or keeps; nothing is made under it."""


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
    with _ONE:
        if key in _KEPT:
            _KEPT.move_to_end(key)
            found: T = _KEPT[key]
            return found
    made = make()
    with _ONE:
        _KEPT[key] = made
        while len(_KEPT) > MOST:
            _KEPT.popitem(last=False)
    return made


def state(kinds: Collection[str], tables: Collection[type[Model]], before: datetime | None = None) -> tuple[Any, ...]:
    """Return numbers that change whenever something of these is written; at most two reads.

    Of entries those written lately are looked at: an older one that is the last still is what it was.
    """
    return (*(_last_entries(kinds, before) if kinds else ()), *(changes(tables) if tables else ()))


def _last_entries(kinds: Collection[str], before: datetime | None) -> tuple[Any, ...]:
    rows = Entry.objects.filter(recorded_at__gte=clock.now() - LATELY)
    if before is not None:  # what puts an earlier entry right may itself be of a later time
        rows = rows.filter(Q(happened_at__lt=before) | Q(supersedes__happened_at__lt=before))
    # Put together by a word made from the kind, since an index by kind would be walked from its first row to its last.
    counted = rows.order_by().values_list(Lower("kind")).annotate(Count("pk"), Max("pk"))
    return tuple(sorted(told for told in counted if told[0] in kinds))


def changes(tables: Collection[type[Model]], appended: Collection[type[Model]] = ()) -> tuple[Any, ...]:
    """Return how many changes each table has seen, and the last, in one read; and the last row of others.

    Args:
        tables: mutable tables.
        appended: tables whose rows are never changed.
    """
    quoted = connection.ops.quote_name
    named = [quoted(table.history.model._meta.db_table) for table in tables]  # type: ignore[attr-defined]  # every mutable table has one
    counted = [f"(SELECT COUNT(*) FROM {name}), (SELECT MAX(history_id) FROM {name})" for name in named]  # noqa: S608 (names of our own tables)
    counted += [f"(SELECT MAX(id) FROM {quoted(table._meta.db_table)})" for table in appended]  # noqa: S608 (the same)
    with connection.cursor() as cursor:
        cursor.execute("SELECT " + ", ".join(counted))
        found = cursor.fetchone()
    return tuple(found)
