"""Which race of a table a race by hand is: one race has one row, and no horse stands in it twice."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import polars as pl

from upsides.results.identity import horse_keys, plain_name
from upsides.results.naming import key_of

NEAR: Final = 0.05
"""Share by which two tellings of one race's distance may differ."""


@dataclass(frozen=True, slots=True)
class Tables:
    """What tables tell of the days of races by hand.

    Args:
        races: by day, rows with race_key, course, title, race_no, off_at, distance_m.
        ran: race by day and by key or plain name of a horse that ran.
        placed: races with the places that are taken in them.
    """

    races: Mapping[date, list[dict[str, Any]]]
    ran: Mapping[tuple[date, str], str]
    placed: frozenset[tuple[str, int]]
    keys: Mapping[str, str]

    def race_of(self, day: date, horse: str, name: str | None = None) -> str | None:
        """Return the race in which a table has a horse on a day, by its key or its name."""
        found = self.ran.get((day, self.keys.get(horse, horse)))
        return found or (self.ran.get((day, plain_name(name))) if name else None)


def read_tables(days: pl.Series, races: pl.LazyFrame, runs: pl.LazyFrame, links: pl.DataFrame, besides: str) -> Tables:
    """Return what tables tell of some days.

    Args:
        days: the days.
        races: all races of the library.
        runs: all its runs.
        links: which horses are one.
        besides: the source that is left out.
    """
    keys = dict(horse_keys(links).iter_rows())
    there = (pl.col("source") != besides) & pl.col("year").is_in(days.dt.year().unique().implode())
    there &= pl.col("date").is_in(days.unique().implode())
    by_day: dict[date, list[dict[str, Any]]] = defaultdict(list)
    for row in races.filter(there).select(
            "race_key", "date", "course", "title", "race_no", "off_at", "distance_m").collect().to_dicts():  # fmt: skip
        by_day[row["date"]].append(row)
    ran: dict[tuple[date, str], str] = {}
    placed = set()
    found = runs.filter(there).select("date", "race_key", "source_horse", "horse_name", "position").collect()
    for day, race, horse, name, place in found.iter_rows():
        placed.add((race, place))
        if name:
            ran.setdefault((day, plain_name(name)), race)
        ran[day, keys.get(horse, horse)] = race
    return Tables(by_day, ran, frozenset(placed), keys)


def joined(
    races: pl.DataFrame, runs: pl.DataFrame, told: Tables, ours: str, down: Mapping[str, Collection[str]]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return races and runs by hand as they stand beside the tables.

    A run that a table tells is dropped. Where a table has the race, what is left of ours stands in the table's race, a
    horse beside it only where its place is not taken there; a race without a run of ours is dropped.

    Args:
        races: by hand.
        runs: by hand; those in no race of `races` stand in a table's race already.
        told: what tables tell of their days.
        ours: what `file` says of runs of our own horses.
        down: keys of horses of ours that were down for a race, by its key.
    """
    in_race = [told.race_of(*row) for row in runs.select("date", "source_horse", "horse_name").iter_rows()]
    again = runs.with_columns(there=pl.Series(in_race, dtype=pl.String))
    same = {row["race_key"]: _same(row, again, told, ours, down) for row in races.to_dicts()}
    left = again.filter(pl.col("there").is_null()).drop("there")
    to = [same.get(key) or key for key in left["race_key"]]
    moved = left.with_columns(race_key=pl.Series(to, dtype=pl.String))
    stays = [
        file == ours or key not in same.values() or (key, place) not in told.placed
        for key, file, place in moved.select("race_key", "file", "position").iter_rows()
    ]
    kept = moved.filter(pl.Series(stays, dtype=pl.Boolean)).unique(["race_key", "source_horse"], maintain_order=True)
    mine = kept.filter(pl.col("file") == ours)["race_key"]
    return races.filter(pl.col("race_key").is_in(mine.implode())), kept.filter(pl.col("race_key").is_in(mine.implode()))


def _same(
    row: dict[str, Any], again: pl.DataFrame, told: Tables, ours: str, down: Mapping[str, Collection[str]]
) -> str | None:
    """Return the table's race that a race by hand is: by a horse of ours in both, its name, or a horse beside ours."""
    mine = again.filter(pl.col("race_key") == row["race_key"], pl.col("there").is_not_null())
    by_ours = mine.filter(pl.col("file") == ours)["there"].to_list()
    by_ours += [found for key in down.get(row["race_key"], ()) if (found := told.race_of(row["date"], key))]
    if by_ours:
        return str(by_ours[0])
    here = [one for one in told.races.get(row["date"], ()) if _near(one, row)]
    named = [one["race_key"] for one in here if _named_alike(one, row)]
    if len(named) == 1:
        return str(named[0])
    beside = [key for key in mine["there"] if key in {one["race_key"] for one in here}]
    return str(beside[0]) if beside else None


def _near(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Return whether two races were run at one course, over about one distance as far as known."""
    if not one["course"] or not other["course"] or key_of(one["course"]) != key_of(other["course"]):
        return False
    far = (one["distance_m"], other["distance_m"])
    return None in far or abs(far[0] - far[1]) <= NEAR * far[1]


def _named_alike(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Return whether two races of a day and course bear one title, number or time."""
    title = bool(one["title"] and other["title"]) and key_of(one["title"]) == key_of(other["title"])
    number = one["race_no"] is not None and one["race_no"] == other["race_no"]
    return title or number or (one["off_at"] is not None and one["off_at"] == other["off_at"])
