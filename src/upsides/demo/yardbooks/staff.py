"""The people of the yard as its books have them: weights, births, what they ride, hours, days off, jockeys."""

from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any

import numpy as np
import polars as pl

from upsides.demo.invented import Invented
from upsides.demo.names import every_surname
from upsides.demo.people import login
from upsides.demo.yardbooks.grid import EPOCH, SATURDAY, SUNDAY, Bools, Ints

PEOPLE = {
    "login": pl.String(),
    "name": pl.String(),
    "roles": pl.List(pl.String()),
    "barn": pl.String(),
    "since": pl.Date(),
    "born": pl.Date(),
    "weight_kg": pl.Float64(),
    "skill": pl.Int64(),
    "claim_lb": pl.Int64(),
    "minimum_lb": pl.Int64(),
}
_SHIFTS = {"login": pl.String, "weekday": pl.Int64, "starts": pl.Time, "ends": pl.Time, "rides": pl.Boolean,
           "first_day": pl.Date}  # fmt: skip
_DAYS_OFF = {"login": pl.String, "first_day": pl.Date, "last_day": pl.Date, "why": pl.String}
_BONDS = {"login": pl.String, "kind": pl.String, "owner": pl.String, "country": pl.String, "first_day": pl.Date,
          "last_day": pl.Date}  # fmt: skip
_FREE_DAYS = (0, 2, 3, 5)
"""Weekdays that people have off in turn: not Tuesday and Friday, the work mornings."""
_WORK_MORNINGS = (1, 4)
_YOUNG = 2
_AS_RIDER = ("assistant", "carer", "rider")
_MINIMUM_LB, _CLAIMER_MINIMUM_LB = 118, 112
_YOUNG_HOURS = ((time(6), time(10), True), (time(10, 30), time(12), False))
_OFFICE_HOURS = ((time(8, 30), time(12, 30), False), (time(13), time(16, 30), False))
Span = tuple[int, time, time, bool]


@dataclass(frozen=True, slots=True)
class Staff:
    """The people of the yard, and when they work.

    Args:
        people: columns of `PEOPLE`: everybody of `Invented.people`, another vet, a farrier, two jockeys of the country
            who ride work here, and two riders under eighteen.
        shifts: login, weekday (Monday 0), starts, ends, rides, first_day.
        days_off: login, first_day, last_day, why (holiday, sick, course, day_off).
        bonds: what binds the jockeys: login, kind (retainer, suspension), owner, country, first_day, last_day.
        works: whether each works on each day from the first of racing, (people, days).
        rides: whether each rides work in the morning, the same.
    """

    people: pl.DataFrame
    shifts: pl.DataFrame
    days_off: pl.DataFrame
    bonds: pl.DataFrame
    works: Bools
    rides: Bools

    @property
    def logins(self) -> list[str]:
        """Return everybody's sign-in name, in the order of the grids."""
        return self.people["login"].to_list()

    def with_role(self, role: str, barn: str | None = None) -> Ints:
        """Return the places of those who have a role, of one barn or of all."""
        has = self.people["roles"].list.contains(role)
        found = has if barn is None else has & (self.people["barn"] == barn)
        return np.flatnonzero(found.to_numpy())


def staff_of(rng: np.random.Generator, invented: Invented) -> Staff:
    """Make up the staff of a yard from its people."""
    people = _described(rng, invented, _everybody(rng, invented))
    shifts = [shift for i, row in enumerate(people.to_dicts()) for shift in _hours(i, row, invented.first)]
    days = (invented.today - invented.first).days + 2
    weekly = np.zeros((2, people.height, 7), dtype=np.bool_)
    place = {name: i for i, name in enumerate(people["login"])}
    for name, weekday, _, _, rides, _ in shifts:
        weekly[0, place[name], weekday] = True
        weekly[1, place[name], weekday] |= rides
    off = _days_off(rng, people, invented.first, invented.today)
    first = invented.first.toordinal()
    free = _is_off(people, off, first, days)
    on = (first + np.arange(days) - 1) % 7
    employed = people["since"].to_physical().to_numpy()[:, None] + EPOCH <= first + np.arange(days)
    return Staff(
        people,
        pl.DataFrame(shifts, schema=_SHIFTS, orient="row"),
        pl.DataFrame(off, schema=_DAYS_OFF, orient="row"),
        _bonds(people, invented),
        weekly[0][:, on] & ~free & employed,
        weekly[1][:, on] & ~free & employed,
    )


def _everybody(rng: np.random.Generator, invented: Invented) -> pl.DataFrame:
    """Return everybody with their roles: those of the world, and the few that only the books have."""
    taken = {*invented.people["login"], *(login(name) for name in invented.runs["jockey"].unique())}
    free = [name for name in every_surname() if name.lower() not in taken]
    chosen = [free[i] for i in rng.choice(len(free), 2 + _YOUNG, replace=False)]
    added = [(f"{initial}. {name}", roles) for initial, name, roles in zip(
        "HRNE", chosen, (["vet"], [], *([["rider"]] * _YOUNG)), strict=True)]  # fmt: skip
    added += [(name, ["rider"]) for name in _jockeys(invented)]
    rows = [(login(name), name, roles, "") for name, roles in added]
    more = pl.DataFrame(rows, schema=invented.people.schema, orient="row")
    return pl.concat([invented.people, more])


def _jockeys(invented: Invented) -> list[str]:
    """Return the two jockeys who rode most for the yard: one without a claim, then one with."""
    trainer = invented.people["name"][0]
    own = invented.people["login"].to_list()
    rode = invented.runs.filter(pl.col("trainer") == trainer).group_by("jockey", pl.col("claim_lb") > 0).len()
    rode = rode.sort("len", "jockey", descending=[True, False])
    free = [row for row in rode.rows() if login(row[0]) not in own]
    return [next(name for name, claims, _ in free if claims is claiming) for claiming in (False, True)]


def _described(rng: np.random.Generator, invented: Invented, people: pl.DataFrame) -> pl.DataFrame:
    """Add what riding takes: birth, weight, what somebody rides, claims."""
    count, today = people.height, invented.today
    born = today.year - rng.integers(21, 58, count)
    days = [
        date(int(year), 1, 1) + timedelta(days=int(day))
        for year, day in zip(born, rng.integers(365, size=count), strict=True)
    ]
    kilos = np.round(rng.normal(62, 6, count).clip(50, 78), 1)
    skills = rng.choice([1, 2, 3, 3, 4], count)
    claims = dict(invented.runs.select("jockey", "claim_lb").unique("jockey").rows())
    rows = []
    for i, row in enumerate(people.to_dicts()):
        rider, young = "rider" in row["roles"], count - 2 - _YOUNG <= i < count - 2
        works, claim = "owner" not in row["roles"], claims.get(row["name"])
        since = date(today.year - 1, 6, 23) if young else invented.first
        rows.append(
            (
                *(row[name] for name in ("login", "name", "roles", "barn")),
                since,
                (date(today.year - 17, 2, 3 + i % 20) if young else days[i]) if works else None,
                (51.0 + i % 3 if claim is not None else float(kilos[i])) if rider else None,
                (1 + i % 2 if young else 4 if claim is not None else int(skills[i])) if rider else 0,
                int(claim) if claim else None,
                (_CLAIMER_MINIMUM_LB if claim else _MINIMUM_LB) if claim is not None else None,
            )
        )
    return pl.DataFrame(rows, schema=PEOPLE, orient="row")


def _hours(place: int, row: dict[str, Any], began: date) -> list[tuple[Any, ...]]:
    """Return somebody's shifts of a week; the trainer, vets, the farrier and owners have none."""
    roles, rides = set(row["roles"]), "rider" in row["roles"]
    free = _FREE_DAYS[place % len(_FREE_DAYS)]
    week = [day for day in range(SUNDAY) if day != free]
    spans: list[Span] = []
    if row["minimum_lb"] is not None:
        spans = [(day, time(6), time(10, 30), True) for day in _WORK_MORNINGS]
    elif row["since"] > began:  # the young ones: two days in a row off, and a break
        spans = [(day, *part) for day in range(SATURDAY) for part in _YOUNG_HOURS]
    elif "secretary" in roles:
        spans = [(day, *part) for day in range(SATURDAY) for part in _OFFICE_HOURS]
    elif roles & {"carer", "head_person", "assistant"}:
        sunday = [SUNDAY] if place % 2 else []
        for day in (*week, *sunday):
            spans += [(day, time(4, 45), time(10, 30), rides and day != SUNDAY), (day, time(16), time(17, 45), False)]
    elif rides:
        spans = [(day, time(5, 45), time(11, 45), True) for day in week]
    return [(row["login"], *span, row["since"]) for span in spans]


def _days_off(
    rng: np.random.Generator, people: pl.DataFrame, first: date, today: date
) -> list[tuple[str, date, date, str]]:
    """Return holidays, a few days of illness, and courses of everybody who works in the yard."""
    found = []
    staff = people.filter(pl.col("roles").list.set_intersection(["trainer", "owner", "vet"]).list.len() == 0)
    years = range(first.year, today.year + 1)
    for name in staff.filter(pl.col("roles").list.len() > 0)["login"]:
        for year in years:
            for why, times, longest in (("holiday", 2, 9), ("sick", 2, 3), ("course", 1, 2)):
                for _ in range(int(rng.integers(0, times + 1))):
                    begin = date(year, 1, 2) + timedelta(days=int(rng.integers(355)))
                    end = begin + timedelta(days=int(rng.integers(1, longest + 1)) - 1)
                    if first <= begin and (begin <= today or why != "sick"):
                        found.append((name, begin, min(end, today) if why == "sick" else end, why))
    return found


def _is_off(people: pl.DataFrame, off: list[tuple[str, date, date, str]], first: int, days: int) -> Bools:
    place = {name: i for i, name in enumerate(people["login"])}
    free = np.zeros((people.height, days), dtype=np.bool_)
    for name, begin, end, _ in off:
        free[place[name], max(begin.toordinal() - first, 0) : max(end.toordinal() - first + 1, 0)] = True
    return free


def _bonds(people: pl.DataFrame, invented: Invented) -> pl.DataFrame:
    """Retain the one jockey for the owner with most horses, and suspend both for some days, one of them just now."""
    jockeys = people.filter(pl.col("minimum_lb").is_not_null())["login"].to_list()
    owner = invented.shares.group_by("owner").len().sort("len", "owner", descending=[True, False])["owner"][0]
    today, begin = invented.today, max(invented.first, invented.today - timedelta(days=470))
    rows = [
        (jockeys[0], "retainer", owner, invented.yard.country, begin, None),
        (
            jockeys[0],
            "suspension",
            None,
            invented.yard.country,
            today - timedelta(days=203),
            today - timedelta(days=200),
        ),
        (jockeys[1], "suspension", None, invented.yard.country, today - timedelta(days=1), today + timedelta(days=4)),
    ]
    return pl.DataFrame(rows, schema=_BONDS, orient="row")
