"""A horse entered, named, gelded, changed by two at once: it stays the same horse, and nothing is lost in silence."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import polars as pl
import pytest

import worlds
from upsides.books import clock
from upsides.books.models import Declarable, Horse, Move, Person
from upsides.books.queries import moments
from upsides.books.queries.horse_changes import changes
from upsides.books.services.horse_entry import change_horse, enter_horse, why_left
from upsides.books.services.horse_facts import Facts
from upsides.books.services.ledgers import gelded_to_declare
from upsides.books.services.meanwhile import last_change
from upsides.errors import ChangedMeanwhileError, HorseRefusedError, HorseTwiceError
from upsides.results.importing import add_frames
from upsides.results.library import Library

pytestmark = pytest.mark.django_db
CHIP = "826098100012345"
DAY = timedelta(days=1)


@pytest.fixture
def by() -> Person:
    return Person.objects.get(login="secretary")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Library.create(tmp_path / "library").folder


def colt(**other: Any) -> Facts:
    today = clock.today()
    usual = Facts("", today.year - 2, "colt", today - 100 * DAY, sire="Quill", dam="Fallow Bugle (IRE)")
    return replace(usual, **other)


def test_unnamed_then_named_is_one_horse(folder: Path, by: Person) -> None:
    """A horse without a name goes by its dam and year; named later it keeps its number, its key and its history."""
    horse = enter_horse(colt(), by, folder)
    year = horse.foaled
    assert (horse.name, horse.named) == (f"Fallow Bugle {year}", False)
    changed = change_horse(horse.pk, last_change(horse), colt(name="Lantern Quill"), by, folder)
    assert (changed.pk, changed.name, changed.named) == (horse.pk, "Lantern Quill", True)
    assert changed.horse_key == horse.horse_key
    told = [(one.field, one.old, one.new, one.by) for one in changes(horse.pk, moments.now())]
    assert told[0] == ("name", f"Fallow Bugle {year}", "Lantern Quill", by.name)
    assert told[-1][0] == ""


def test_an_unnamed_horse_follows_its_dam(folder: Path, by: Person) -> None:
    """Where the dam or the year of an unnamed horse is corrected, what it goes by is corrected with it."""
    horse = enter_horse(colt(), by, folder)
    change_horse(horse.pk, last_change(horse), colt(dam="Osier Lark"), by, folder)
    horse.refresh_from_db()
    assert horse.name == f"Osier Lark {horse.foaled}"


def test_a_horse_named_after_it_ran_finds_its_results(folder: Path, by: Person) -> None:
    """Naming a horse links it to the one horse of the results that has that name, year and dam."""
    horse = enter_horse(colt(dam="Fallow Bugle"), by, folder)
    races = pl.DataFrame({"race_id": ["1"], "date": [clock.today() - DAY]})
    runs = pl.DataFrame({
        "source_horse": ["x:7"], "horse_name": ["LANTERN QUILL"], "foaled": [horse.foaled], "dam": ["Fallow Bugle"],
        "race_key": ["x:1"], "date": [clock.today() - DAY],
    })  # fmt: skip
    add_frames(Library.open(folder), races, runs, "x")
    assert horse.horse_key.startswith("yard:")
    change_horse(horse.pk, last_change(horse), colt(dam="Fallow Bugle", name="Lantern Quill"), by, folder)
    horse.refresh_from_db()
    assert not horse.horse_key.startswith("yard:")


def test_a_horse_that_ran_is_entered_with_its_results(loaded: worlds.Yard, by: Person) -> None:
    """A horse that the results know gets their key; one that another horse of the books has is not taken twice."""
    known = loaded.world.string.row(0, named=True)
    Horse.objects.filter(name=known["name"]).delete()
    facts = colt(name=known["name"], foaled=known["foaled"], sex=known["sex"], dam=known["dam"], sire="")
    first = enter_horse(facts, by, loaded.library)
    assert first.horse_key.startswith("invented:")
    with pytest.raises(HorseTwiceError, match=first.name):
        enter_horse(facts, by, loaded.library)
    second = enter_horse(facts, by, loaded.library, anyway=True)
    third = enter_horse(facts, by, loaded.library, anyway=True)
    assert len({first.horse_key, second.horse_key, third.horse_key}) == 3
    assert second.horse_key.startswith("yard:")


def test_a_yard_without_results_enters_horses(tmp_path: Path, by: Person) -> None:
    """Where there is no library yet, a horse waits for its results under a key of its own."""
    assert enter_horse(colt(name="Lantern Quill"), by, tmp_path / "none").horse_key.startswith("yard:lanternquill-")


@pytest.mark.parametrize("sex", ["colt", "horse", "ridgling", "gelding"])
def test_gelded_on_a_day(folder: Path, by: Person, sex: str) -> None:
    """A male with a day of gelding is a gelding, and that it must be declared is offered until it is written down."""
    horse = enter_horse(colt(sex=sex, gelded_on=clock.today() - 3 * DAY), by, folder)
    assert horse.sex == "gelding"
    assert gelded_to_declare(horse) == clock.today() - 3 * DAY
    Declarable.objects.create(horse=horse, what="gelded", happened_on=horse.gelded_on)
    assert gelded_to_declare(horse) is None


def test_gelded_before_it_came_is_not_offered(folder: Path, by: Person) -> None:
    """Of a horse that came as a gelding nothing is offered to declare; nor of one of which nobody knows the day."""
    before = enter_horse(colt(sex="gelding", gelded_on=clock.today() - 200 * DAY), by, folder)
    unknown = enter_horse(colt(sex="gelding", dam="Osier Lark"), by, folder)
    assert gelded_to_declare(before) is gelded_to_declare(unknown) is None


TODAY = date(2026, 6, 20)  # of the invented yard; test_days_are_the_yards holds it


def test_days_are_the_yards() -> None:
    """The days of the tests below are counted from the yard's own day."""
    assert clock.today().year == TODAY.year


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"dam": ""}, "name"),
        ({"name": "---"}, "name"),
        ({"name": "x" * 101}, "name"),
        ({"name": "Lantern\u200bQuill"}, "name"),
        ({"name": "Lantern \ud800"}, "name"),
        ({"dam": "Fallow\x07Bugle"}, "dam"),
        ({"foaled": 1850}, "foaled"),
        ({"foaled": TODAY.year + 1}, "foaled"),
        ({"foaled_on": date(TODAY.year - 5, 3, 1)}, "foaled_on"),
        ({"foaled": TODAY.year, "foaled_on": date(TODAY.year, 12, 31)}, "foaled_on"),
        ({"sex": "filly", "gelded_on": date(TODAY.year, 3, 1)}, "gelded_on"),
        ({"gelded_on": date(TODAY.year - 3, 3, 1)}, "gelded_on"),
        ({"gelded_on": date(TODAY.year + 1, 3, 1)}, "gelded_on"),
        ({"sex": "stallion"}, "sex"),
        ({"joined": date(TODAY.year - 4, 1, 1)}, "joined"),
        ({"joined": date(TODAY.year + 9, 1, 1)}, "joined"),
        ({"left": date(TODAY.year - 1, 1, 1)}, "left"),
        ({"microchip": "8260981000123456"}, "microchip"),
        ({"microchip": "82609810001234"}, "microchip"),
        ({"microchip": "999098100012345"}, "microchip"),
        ({"microchip": "826999999999999"}, "microchip"),
        ({"microchip": "IE6098100012345"}, "microchip"),
        ({"life_number": "25000100155928"}, "life_number"),
        ({"life_number": "FRA00100155928M"}, "life_number"),
        ({"carer": 10**6}, "carer"),
        ({"markings": "y" * 401}, "markings"),
    ],
    ids=str,
)
def test_what_cannot_be_is_refused(folder: Path, by: Person, given: dict[str, Any], field: str) -> None:
    """A horse with an impossible day, number, name or sex is not entered, and the field at fault is named."""
    before = Horse.objects.count()
    with pytest.raises(HorseRefusedError) as refused:
        enter_horse(colt(**given), by, folder)
    assert refused.value.field == field
    assert Horse.objects.count() == before


@pytest.mark.parametrize("typed", [CHIP, "826 098 100 012 345", "826-098100012345", "８２６０９８１０００１２３４５"])
def test_a_microchip_is_kept_as_its_digits(folder: Path, by: Person, typed: str) -> None:
    """A number is the same however it is typed, in full-width digits too; a second horse of it is warned of."""
    assert enter_horse(colt(microchip=typed), by, folder).microchip == CHIP
    with pytest.raises(HorseTwiceError) as refused:
        enter_horse(colt(microchip=CHIP, name="Another One"), by, folder)
    assert refused.value.field == "microchip"
    assert enter_horse(colt(microchip=CHIP, name="Another One"), by, folder, anyway=True).microchip == CHIP


def test_same_name_and_year_is_warned_of(folder: Path, by: Person) -> None:
    """A second horse of a name and year is asked about, whatever its capitals; of another year it is not."""
    enter_horse(colt(name="Lantern Quill"), by, folder)
    with pytest.raises(HorseTwiceError):
        enter_horse(colt(name="LANTERN  quill"), by, folder)
    assert enter_horse(colt(name="Lantern Quill", foaled=clock.today().year - 3), by, folder).pk


def test_a_change_elsewhere_warns_of_no_twin(folder: Path, by: Person) -> None:
    """Of two horses that were kept all the same, neither is asked about again when its colour changes."""
    enter_horse(colt(name="Lantern Quill"), by, folder)
    twin = enter_horse(colt(name="Lantern Quill"), by, folder, anyway=True)
    change_horse(twin.pk, last_change(twin), colt(name="Lantern Quill", colour="bay"), by, folder)
    twin.refresh_from_db()
    assert twin.colour == "bay"


def test_two_change_different_things(folder: Path, by: Person) -> None:
    """Of two who change one horse from the same page, each in another field, both have their way."""
    horse = enter_horse(colt(), by, folder)
    seen = last_change(horse)
    change_horse(horse.pk, seen, colt(colour="bay"), by, folder)
    change_horse(horse.pk, seen, colt(passport="P 12"), Person.objects.get(login="trainer"), folder)
    horse.refresh_from_db()
    assert (horse.colour, horse.passport) == ("bay", "P 12")


def test_two_change_the_same(folder: Path, by: Person) -> None:
    """Of two who change the same field differently the second is told who was first, and nothing of his is written."""
    horse = enter_horse(colt(), by, folder)
    seen = last_change(horse)
    change_horse(horse.pk, seen, colt(colour="bay"), by, folder)
    with pytest.raises(ChangedMeanwhileError) as refused:
        change_horse(horse.pk, seen, colt(colour="brown", passport="P 12"), by, folder)
    assert (refused.value.fields, refused.value.by) == (("colour",), by.name)
    horse.refresh_from_db()
    assert (horse.colour, horse.passport) == ("bay", "")
    change_horse(horse.pk, last_change(horse), colt(colour="brown", passport="P 12"), by, folder)
    horse.refresh_from_db()
    assert (horse.colour, horse.passport) == ("brown", "P 12")


def test_why_it_left_is_kept_and_taken_back(folder: Path, by: Person) -> None:
    """A horse that left says why from that day on; if it did not leave, nothing of it stays but the history."""
    horse = enter_horse(colt(), by, folder)
    day = clock.today()
    left = change_horse(horse.pk, last_change(horse), colt(left=day), by, folder, why="Sold to stud")
    assert why_left(left) == "Sold to stud"
    assert not moments.in_the_yard(moments.now()).filter(pk=horse.pk).exists()
    back = change_horse(horse.pk, last_change(horse), colt(), by, folder)
    assert why_left(back) == ""
    assert not Move.objects.filter(horse=horse).exists()
    assert moments.in_training(moments.now()).filter(pk=horse.pk).exists()


def test_nothing_is_written_that_did_not_change(folder: Path, by: Person) -> None:
    """Keeping a page as it was leaves the history as it was."""
    horse = enter_horse(colt(), by, folder)
    seen = last_change(horse)
    change_horse(horse.pk, seen, colt(), by, folder)
    assert last_change(horse) == seen
