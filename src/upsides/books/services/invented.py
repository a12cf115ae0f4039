"""Entering an invented yard: its people, horses, owners and diary, from the plain values that it is made of."""

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

import polars as pl
from django.contrib.auth.hashers import make_password
from django.db import transaction

from upsides.books.models import Box, Entry, Horse, Lot, LotNote, Mark, Person, Post, Role, Sale, Share, Stand, Yard
from upsides.books.queries.results import keyed
from upsides.books.services.beginning import FEED_TIMES
from upsides.books.services.histories import MANY, enter
from upsides.books.services.sales import lot_values
from upsides.demo import Invented
from upsides.demo.sale import Sale as InventedSale

DEMO_PASSWORD = "morning-on-the-gallops"  # noqa: S105 (of people who do not exist; the sign-in page shows it)
DEMO_PIN = "2580"
_ENTRIES = UUID("6f0c1f8e-52c5-4c55-9a5d-8b0d7f7a1c11")
_BEFORE = timedelta(days=1200)
"""How long before its today an invented yard began to keep books."""
_LIST_BEFORE = timedelta(days=12)
"""How long before its today the list of the coming sale came in."""


@transaction.atomic
def load_invented(invented: Invented, library: Path) -> bool:
    """Enter an invented yard in books that have none; all of it or nothing.

    Args:
        invented: its values.
        library: folder of the library that holds its results.

    Returns:
        Whether it was entered: books that have a yard stay as they are.
    """
    if Yard.objects.exists():
        return False
    began = invented.today - _BEFORE
    yard = invented.yard
    place = Yard(pk=1, name=yard.name, zone=yard.zone, jurisdiction=yard.country, fixed_day=invented.today)
    place.feed_times = FEED_TIMES
    enter([place], lambda _: began)
    people = _people(invented.people, began)
    horses = _horses(keyed(library, invented.string), people)
    _shares(invented.shares, horses, people)
    _diary(invented.diary, horses, people)
    _sale(invented.sale, people, invented.today)
    return True


def _people(people: pl.DataFrame, began: date) -> Mapping[str, Person]:
    password, pin = make_password(DEMO_PASSWORD), make_password(DEMO_PIN)
    barn_phone = {Role.HEAD_PERSON, Role.CARER, Role.RIDER}
    rows = [
        Person(
            login=row["login"],
            name=row["name"],
            barn=row["barn"],
            password=password,
            pin=pin if barn_phone & set(row["roles"]) else "",
        )
        for row in people.to_dicts()
    ]
    entered = {str(person.login): person for person in enter(rows, lambda _: began)}
    posts = [Post(person=entered[row["login"]], role=Role(role)) for row in people.to_dicts() for role in row["roles"]]
    enter(posts, lambda _: began)
    return entered


def _horses(string: pl.DataFrame, people: Mapping[str, Person]) -> Mapping[str, Horse]:
    fields = ("horse_key", "name", "foaled", "sex", "sire", "dam", "joined")
    rows = string.to_dicts()
    made = [Horse(**{name: row[name] for name in fields}, carer=people[row["carer"]]) for row in rows]
    entered = enter(made, lambda horse: horse.joined)
    _stands(string, entered)
    return {row["source_horse"]: horse for row, horse in zip(rows, entered, strict=True)}


def _stands(string: pl.DataFrame, horses: Sequence[Horse]) -> None:
    """Put each horse into its box; boxes are walked barn by barn in the order of their numbers."""
    rows = string.to_dicts()
    walked = sorted({(row["barn"], int(row["box"])) for row in rows})
    began = min(row["joined"] for row in rows)
    made = [Box(barn=barn, name=str(box), position=place) for place, (barn, box) in enumerate(walked, start=1)]
    boxes = {(box.barn, box.name): box for box in enter(made, lambda _: began)}
    pairs = zip(rows, horses, strict=True)
    stands = [Stand(horse=one, box=boxes[row["barn"], row["box"]], first_day=row["joined"]) for row, one in pairs]
    enter(stands, lambda stand: stand.first_day)


def _shares(shares: pl.DataFrame, horses: Mapping[str, Horse], people: Mapping[str, Person]) -> None:
    fields = ("numerator", "denominator", "kind", "first_day")
    rows = [
        Share(horse=horses[row["source_horse"]], owner=people[row["owner"]], **{name: row[name] for name in fields})
        for row in shares.to_dicts()
    ]
    enter(rows, lambda share: share.first_day)


def _diary(diary: pl.DataFrame, horses: Mapping[str, Horse], people: Mapping[str, Person]) -> None:
    """Enter the diary in the order in which it was recorded."""
    number: dict[int, Entry] = {}
    waiting: list[Entry] = []
    for row in diary.sort("recorded_at", "entry").to_dicts():
        entry = number[row["entry"]] = _entry(row, horses, people)
        if row["supersedes"] is not None:  # what it corrects must have its number first
            Entry.objects.bulk_create(waiting, batch_size=MANY)
            waiting.clear()
            entry.supersedes = number[row["supersedes"]]
        waiting.append(entry)
    Entry.objects.bulk_create(waiting, batch_size=MANY)


def _entry(row: Mapping[str, Any], horses: Mapping[str, Horse], people: Mapping[str, Person]) -> Entry:
    moments = ("happened_at", "made_at", "recorded_at")
    return Entry(
        client_id=uuid5(_ENTRIES, str(row["entry"])),
        kind=row["kind"],
        horse=horses[row["source_horse"]],
        author=people[row["author"]],
        values=json.loads(row["values"]),
        **{name: row[name] for name in moments},
    )


def _sale(sale: InventedSale, people: Mapping[str, Person], today: date) -> None:
    """Enter the list of a sale, as of the day on which the yard first looked at its lots."""
    began, first = today - _LIST_BEFORE, sale.lots.row(0, named=True)
    file = {"file": "yearlings.csv", "sha256": sha256(sale.lots.write_csv().encode()).hexdigest()}
    when = {"day": first["day"], "imported_at": datetime.combine(began, time(), UTC)}
    row = enter([Sale(name=first["sale"], year=first["year"], **when, **file)], lambda _: began)[0]
    made = [Lot(sale=row, number=one["number"], **lot_values(one)) for one in sale.lots.to_dicts()]
    lots = {lot.number: lot for lot in enter(made, lambda _: began)}
    marks = [
        Mark(lot=lots[one["number"]], by=people[one["by"]], recorded_at=one["at"], on=one["on"], reason=one["reason"])
        for one in sale.marks.sort("at").to_dicts()
    ]
    Mark.objects.bulk_create(marks, batch_size=MANY)
    LotNote.objects.bulk_create([_note(one, lots, people) for one in sale.notes.sort("at").to_dicts()])


def _note(one: Mapping[str, Any], lots: Mapping[str, Lot], people: Mapping[str, Person]) -> LotNote:
    return LotNote(
        client_id=uuid5(_ENTRIES, f"{one['number']} {one['kind']}"),
        lot=lots[one["number"]],
        kind=one["kind"],
        text=one["text"],
        author=people[one["author"]],
        happened_at=one["at"],
        recorded_at=one["at"],
    )
