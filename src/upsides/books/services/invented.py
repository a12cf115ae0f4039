"""Entering an invented yard: its people, horses, owners and diary, from the plain values that it is made of."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

import polars as pl
from django.contrib.auth.hashers import make_password
from django.db import transaction

from upsides.books.models import Horse, Lot, LotNote, Mark, Person, Post, Role, Sale, Share, Yard
from upsides.books.queries.results import keyed
from upsides.books.services.histories import MANY, become, enter
from upsides.books.services.invented_diary import enter_diary, numbered
from upsides.books.services.invented_races import enter_races
from upsides.books.services.invented_yard import (
    enter_facts,
    enter_feeding,
    enter_places,
    enter_staff,
)
from upsides.books.services.sales import lot_values
from upsides.demo import Books, Invented, books_of
from upsides.demo.sale import Sale as InventedSale

DEMO_PASSWORD = "morning-on-the-gallops"  # noqa: S105 (of people who do not exist; the sign-in page shows it)
DEMO_PIN = "2580"
_NOTES = UUID("6f0c1f8e-52c5-4c55-9a5d-8b0d7f7a1c11")
_LIST_BEFORE = timedelta(days=12)
"""How long before its today the list of the coming sale came in."""
_PAPERS = ("foaled_on", "colour", "markings", "passport", "microchip", "life_number")


@transaction.atomic
def load_invented(invented: Invented, library: Path, books: Books | None = None) -> bool:
    """Enter an invented yard in books that have none; all of it or nothing.

    Args:
        invented: its values.
        library: folder of the library that holds its results.
        books: what the yard has in its books; made from the world where they are not given.

    Returns:
        Whether it was entered: books that have a yard stay as they are.
    """
    if Yard.objects.exists():
        return False
    books = books or books_of(invented)
    began, yard = invented.first, invented.yard
    place = Yard(pk=1, name=yard.name, zone=yard.zone, jurisdiction=yard.country, fixed_day=invented.today)
    place.feed_times = list(books.feed_times)
    place.fast_most, place.rides_each = list(books.fast_most), books.rides_each
    enter([place], lambda _: began)
    people = _people(books.people)
    horses = _horses(keyed(library, books.horses), people, began)
    _shares(books.shares, horses, people, began)
    gallops = enter_places(books, horses, began)
    enter_staff(books, people, began)
    enter_facts(books, horses, began)
    enter_feeding(books, horses, began)
    enter_races(books, library, horses, people, people[_trainer(books)], invented.today)
    enter_diary(books.diary, numbered(people, horses, gallops))
    _sale(invented.sale, people, invented.today)
    return True


def _trainer(books: Books) -> str:
    """Return the login of the trainer."""
    return str(books.people.filter(pl.col("roles").list.contains(Role.TRAINER.value))["login"][0])


def _people(people: pl.DataFrame) -> Mapping[str, Person]:
    password, pin = make_password(DEMO_PASSWORD), make_password(DEMO_PIN)
    barn_phone = {Role.HEAD_PERSON, Role.CARER, Role.RIDER}
    fields = ("login", "name", "barn", "born", "weight_kg", "skill", "claim_lb", "minimum_lb")
    told = people.to_dicts()
    rows = [
        Person(
            password=password,
            pin=pin if barn_phone & set(row["roles"]) else "",
            **{name: row[name] for name in fields},
        )
        for row in told
    ]
    since = {row["login"]: row["since"] for row in told}
    entered = {str(person.login): person for person in enter(rows, lambda person: since[person.login])}
    posts = [Post(person=entered[row["login"]], role=Role(role)) for row in told for role in row["roles"]]
    enter(posts, lambda post: since[post.person.login])
    return entered


def _horses(told: pl.DataFrame, people: Mapping[str, Person], began: date) -> Mapping[str, Horse]:
    """Enter every horse as it came, and what became of it: gelded here, gone again."""
    fields = ("horse_key", "name", "named", "foaled", "sire", "dam", "joined", *_PAPERS)
    rows = told.to_dicts()
    here = [row["gelded_on"] if row["sex_before"] != row["sex"] else None for row in rows]
    made = [
        Horse(
            sex=row["sex_before"],
            gelded_on=None if gelded else row["gelded_on"],
            carer=people[row["carer"]],
            **{name: row[name] for name in fields},
        )
        for row, gelded in zip(rows, here, strict=True)
    ]
    horses = enter(made, lambda horse: max(horse.joined, began))
    changed: list[tuple[Horse, date, dict[str, Any]]] = []
    for horse, row, gelded in zip(horses, rows, here, strict=True):
        if gelded:
            changed.append((horse, max(gelded, began), {"sex": row["sex"], "gelded_on": gelded}))
        if row["left"]:
            changed.append((horse, row["left"], {"left": row["left"]}))
    become(changed)
    return {row["source_horse"]: horse for row, horse in zip(rows, horses, strict=True)}


def _shares(told: pl.DataFrame, horses: Mapping[str, Horse], people: Mapping[str, Person], began: date) -> None:
    """Enter all shares; those in a horse that left ended on that day."""
    fields = ("numerator", "denominator", "kind", "managing", "first_day")
    rows = told.to_dicts()
    made = [
        Share(
            horse=horses[row["source_horse"]],
            owner=people[row["owner"]],
            leased_from=people[row["leased_from"]] if row["leased_from"] else None,
            **{name: row[name] for name in fields},
        )
        for row in rows
    ]
    shares = enter(made, lambda share: max(share.first_day, began))
    become([(share, row["last_day"], {"last_day": row["last_day"]})
            for share, row in zip(shares, rows, strict=True) if row["last_day"]])  # fmt: skip


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
        client_id=uuid5(_NOTES, f"{one['number']} {one['kind']}"),
        lot=lots[one["number"]],
        kind=one["kind"],
        text=one["text"],
        author=people[one["author"]],
        happened_at=one["at"],
        recorded_at=one["at"],
    )
