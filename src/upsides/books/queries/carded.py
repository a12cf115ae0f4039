"""Which horses of the library a card names."""

from collections.abc import Mapping
from datetime import date, timedelta
from functools import lru_cache
from typing import Final

import polars as pl

from upsides.books.queries.results import State
from upsides.results.identity import plain_suffix
from upsides.results.naming import AT, key_of, without_suffix

STILL_RUNS: Final = timedelta(days=500)
"""Of several horses of one name the one that runs is meant: the only one that started within these days."""
_Known = tuple[str, str, date, date]
"""Key, country of foaling ("" where not known), first and last start."""


def keys_named(state: State, name: str, day: date) -> tuple[str, ...]:
    """Return the library's horses that a name may mean on a day: none, one, or several that cannot be told apart.

    Args:
        state: of the library.
        name: as the card has it, with its country where that is told.
        day: horses that had not started by then are not known.
    """
    wanted = key_of(name)
    country = wanted.removeprefix(without_suffix(wanted)).removeprefix(AT)
    some = [one for one in _named(state).get(without_suffix(wanted), ()) if one[2] < day]
    some = [one for one in some if not country or one[1] in {"", country}]
    lately = [one for one in some if one[3] >= day - STILL_RUNS]
    return tuple(one[0] for one in (lately if len(lately) == 1 else some))


@lru_cache(maxsize=2)
def _named(state: State) -> Mapping[str, list[_Known]]:
    """Return the horses that ever started, by name as it is compared, without country."""
    rows = state.library().horses().filter(pl.col("runs") > 0, pl.col("name").is_not_null())
    of_each = rows.group_by("horse_key", "name").agg(
        pl.col("suffix").drop_nulls().first(), pl.col("first_run").min(), pl.col("last_run").max()
    )
    found: dict[str, list[_Known]] = {}
    for key, name, suffix, first, last in of_each.sort("horse_key", "name").collect().iter_rows():
        wanted = without_suffix(key_of(name))
        if key and wanted and first and last and all(one[0] != key for one in found.get(wanted, [])):
            found.setdefault(wanted, []).append((key, plain_suffix(suffix or ""), first, last))
    return found
