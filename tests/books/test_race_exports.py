"""Tables of what was said of races and of races let go: as they stand, and to those whom plans are open to."""

from datetime import timedelta

import pytest

import worlds
from medicine_yard import boosted
from programmed_yard import code_of, engage_for, marked, programmed
from upsides.books import clock
from upsides.books.export.cells import Cell
from upsides.books.export.tables import Asked, offered, sheets
from upsides.books.models import Decision, Horse, LetGo, Person
from upsides.books.queries import moments
from upsides.books.queries.visitors import visitor
from upsides.books.services.let_go import say_why, write_let_go

pytestmark = pytest.mark.django_db


@pytest.fixture
def horse(loaded: worlds.Yard) -> Horse:
    one = Horse.objects.order_by("pk")[0]
    Horse.objects.exclude(pk=one.pk).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    boosted(one, clock.today() - timedelta(days=30))
    return marked(one)


def told(name: str, login: str = "trainer", **days: object) -> list[dict[str, Cell]]:
    """Return the rows of a table by its headings."""
    reader = visitor(Person.objects.get(login=login), barn=False)
    (sheet,) = sheets([name], Asked(reader, **days))  # type: ignore[arg-type]  # days of Asked
    return [dict(zip(sheet.headings, row, strict=True)) for row in sheet.rows()]


def test_decisions_are_given_out_as_they_were_said(loaded: worlds.Yard, horse: Horse) -> None:
    """One row a decision, with its cost and currency; outside the days that are asked for, and to somebody whom plans
    are not open to, none."""
    trainer = Person.objects.get(login="trainer")
    code = code_of(loaded.library, "Sedge Handicap")
    engage_for(horse, code, loaded.library, trainer)
    engage_for(horse, code, loaded.library, trainer, "enter")
    rows = told("decisions")
    assert [row["What"] for row in rows] == ["meant for it", "entered"]
    assert (rows[1]["Horse"], rows[1]["Race"], rows[1]["Cost"], rows[1]["Currency"]) == (
        horse.name, "Sedge Handicap", 40.0, "GBP",
    )  # fmt: skip
    assert len(rows) == Decision.objects.count()
    assert told("decisions", first=clock.today() + timedelta(days=1)) == []
    assert told("decisions", login="rider") == []
    assert {"decisions", "races-let-go"} <= set(offered())


def test_races_let_go_are_given_out_with_why_and_without_chances(loaded: worlds.Yard, horse: Horse) -> None:
    """One row a horse and race with the weight as it stood and the last reason that a person gave."""
    now = clock.now()
    write_let_go(loaded.library, moments.now(), now, now + timedelta(days=3))
    row = LetGo.objects.get()
    LetGo.objects.bulk_create([LetGo(horse=horse, race_code="x", race="Reed Plate", course="Larkmoor", day=row.day,
                                     known={"chance": {"win": 0.123}}, recorded_at=row.recorded_at)])  # fmt: skip
    say_why(row.pk, "ground", "Firm", Person.objects.get(login="secretary"))
    rows = told("races-let-go")
    assert [one["Race"] for one in rows] == ["Sedge Handicap", "Reed Plate"]
    assert (rows[0]["Why"], rows[0]["More"], rows[0]["To the winner"]) == ("not its ground", "Firm", 6000.0)
    assert rows[0]["Weight on the card"] == row.known["weight"]
    assert not any(0.123 in one.values() for one in rows)
    assert told("races-let-go", login="rider") == []
