"""Horses of the library with a given sire or dam, and what they did; what is kept is of the relatives of a few lots."""

from functools import lru_cache
from typing import Final

import polars as pl

from upsides.books.queries.results import State
from upsides.results.identity import plain_name
from upsides.results.mapping import NAME_WITH_SUFFIX
from upsides.results.naming import without_suffix
from upsides.results.schema import STARTED

PARENTS: Final = ("sire", "dam")
_RUN: Final = ("race_key", "date", "position")


@lru_cache(maxsize=16)
def relatives_of(state: State, sire: str, dam: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return the library's horses with either parent, one row a horse, and all their starts with their trips.

    Args:
        state: the library.
        sire: the sire's name as `key_of` gives it, "" for none.
        dam: the dam's.
    """
    store = state.library()
    bare = [plain_name(without_suffix(key)) for key in (sire, dam)]
    near = [_bare(pl.col(name)) == key for name, key in zip(PARENTS, bare, strict=True) if key]
    if not near:
        near = [pl.lit(value=False)]
    found = store.horses().filter(pl.any_horizontal(near)).collect()
    named = pl.when(pl.col("suffix").is_null() | (pl.col("suffix") == "")).then("name")
    horses = found.with_columns(name=named.otherwise(pl.format("{} ({})", "name", "suffix")))
    one = horses.group_by("horse_key", maintain_order=True).agg(
        pl.col("name", "foaled", "sex", *PARENTS).drop_nulls().last(), pl.col("first_run").min()
    )
    ours, started = pl.col("source_horse").is_in(horses["source_horse"].to_list()), pl.col("outcome").is_in(STARTED)
    runs = store.runs().filter(ours, started).select("horse_key", *_RUN).collect()
    raced = pl.col("race_key").is_in(runs["race_key"].unique().to_list())
    races = store.races().filter(raced).select("race_key", "distance_m").collect()
    return one, runs.join(races, on="race_key", how="left")


def _bare(name: pl.Expr) -> pl.Expr:
    """Return names as they are compared, without their countries: `plain_name` of the same, in Polars."""
    return (
        pl.coalesce(name.str.extract(NAME_WITH_SUFFIX, 1), name)
        .str.to_lowercase()
        .str.normalize("NFKD")
        .str.replace_all(r"[^\p{L}\p{N}]", "")
    )


def summed(runs: pl.DataFrame) -> pl.DataFrame:
    """Return for each horse its runs, wins, shortest and longest trip, trips won over, and last day."""
    won = pl.col("position") == 1
    return runs.group_by("horse_key").agg(
        runs=pl.len(),
        wins=won.sum(),
        shortest=pl.col("distance_m").min(),
        longest=pl.col("distance_m").max(),
        won_over=pl.col("distance_m").filter(won).drop_nulls().unique().sort(),
        last=pl.col("date").max(),
    )
