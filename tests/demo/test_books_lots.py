"""Lots of the invented yard's diary, held to the rules by which plans of lots are checked; no solver is asked."""

from datetime import date, time, timedelta
from math import inf

import polars as pl
import pytest

from upsides.demo import Books, Invented
from upsides.planning.defaults import read_defaults
from upsides.planning.morning import Gallop, Horse, Morning, Plan, Ride, Rider
from upsides.planning.prices import Parts, read_settings
from upsides.planning.verifying import verify

ORDER = {
    "exercise": pl.String,
    "gallop": pl.String,
    "rider": pl.String,
    "lot": pl.Int64,
    "place": pl.Int64,
    "upsides": pl.List(pl.String),
}


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _riders(books: Books, day: date) -> list[Rider]:
    """Return who rides on a day, with hours as the staff's page has them, by place among the people."""
    off = books.days_off.filter(pl.lit(day).is_between("first_day", "last_day"))["login"].to_list()
    shifts = books.shifts.filter(pl.col("rides"), pl.col("weekday") == day.weekday())
    hours: dict[str, list[tuple[int, int]]] = {}
    for name, starts, ends in shifts.select("login", "starts", "ends").rows():
        hours.setdefault(name, []).append((_minute(starts), _minute(ends)))
    grown = day.replace(year=day.year - 18)
    return [
        Rider(i, row["weight_kg"], row["skill"], tuple(hours[row["login"]]), young=row["born"] > grown)
        for i, row in enumerate(books.people.to_dicts())
        if row["login"] in hours and row["login"] not in off
    ]


def _listed(books: Books, zone: str, day: date) -> tuple[Morning, Plan]:
    """Return the morning of a day and what its list has."""
    told = books.diary.filter(pl.col("kind") == "ordered")
    told = told.filter(pl.col("happened_at").dt.convert_time_zone(zone).dt.date() == day)
    rows = told.select("source_horse", pl.col("values").str.json_decode(pl.Struct(ORDER))).unnest("values")
    rows = rows.filter(pl.col("lot").is_not_null())
    numbers = {code: i for i, code in enumerate(rows["source_horse"])}
    people = {name: i for i, name in enumerate(books.people["login"])}
    gallops = {name: i for i, name in enumerate(rows["gallop"].drop_nulls().unique().sort())}
    held = books.cautions.filter(pl.col("first_day") <= day)
    limits = held.group_by("source_horse").agg(pl.col("skill").max(), pl.col("heaviest_kg").min(),
                                               pl.col("apart_from").drop_nulls())  # fmt: skip
    own = {row["source_horse"]: row for row in limits.to_dicts()}
    horses, rides = [], []
    for row in rows.to_dicts():
        about = own.get(row["source_horse"], {"skill": 0, "heaviest_kg": None, "apart_from": []})
        horses.append(
            Horse(
                numbers[row["source_horse"]],
                row["exercise"],
                gallops.get(row["gallop"]),
                tuple(numbers[one] for one in row["upsides"] or ()),
                about["skill"],
                about["heaviest_kg"] or inf,
                not_with=tuple(numbers[one] for one in about["apart_from"] if one in numbers),
            )
        )
        rides.append(Ride(numbers[row["source_horse"]], row["lot"], people[row["rider"]], row["place"]))
    defaults, (_prices, young) = read_defaults(), read_settings()
    lots = tuple(defaults.lot(number) for number in range(1, int(rows["lot"].max() or 0) + 1))  # type: ignore[arg-type]
    places = tuple(Gallop(i, defaults.gallop_most) for i in gallops.values())
    return Morning(tuple(horses), tuple(_riders(books, day)), lots, places, young), Plan(tuple(rides))


@pytest.mark.parametrize("back", [0, 1])
def test_the_list_keeps_the_yards_own_rules(invented: Invented, books: Books, back: int) -> None:
    """The lists of today and of yesterday break no rule: weight, skill, hours, the young, room, company."""
    morning, listed = _listed(books, invented.yard.zone, invented.today - timedelta(days=back))
    assert len(morning.horses) > 60
    assert any(one.carries_kg < inf for one in morning.horses)
    assert any(one.asks for one in morning.horses)
    assert morning.pairs
    assert verify(morning, listed, Parts()).broken == ()
