"""Relatives of a lot: in the library, in the yard, and in the lists of sales."""

from datetime import UTC, date, datetime
from pathlib import Path

import polars as pl
import pytest

from upsides.books import clock
from upsides.books.models import Horse, Lot, Sale, Yard
from upsides.books.queries import moments
from upsides.books.queries.kin import kin
from upsides.results.importing import add_frames
from upsides.results.library import Library

pytestmark = pytest.mark.django_db
BEGIN = datetime(2026, 5, 11, 9, tzinfo=UTC)


@pytest.fixture
def now(monkeypatch: pytest.MonkeyPatch) -> None:
    """The books' clock stands on a morning."""
    Yard.objects.update(fixed_day=None)
    monkeypatch.setattr(clock, "now", lambda: BEGIN)


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """A library of three races: a brother of the lots below, a half-sister, one by their sire, and a stranger."""
    days = [date(2024, 6, 1), date(2025, 6, 1), date(2026, 5, 10)]
    trips = [1200.0, 1600.0, 2000.0]
    races = pl.DataFrame({"race_id": ["1", "2", "3"], "date": days, "distance_m": trips})
    horses = {
        "a": ("Brother", "", 2021, "Quill", "Marram Grass"),
        "b": ("Half Sister", "IRE", 2020, "Sedge", "Marram Grass (IRE)"),
        "c": ("By Quill", "GB", 2022, "Quill (IRE)", "Other"),
        "d": ("Stranger", "", 2022, "Sedge", "Other"),
        "e": ("Namesake", "", 2019, "Quill (USA)", "Marram"),
    }
    ran = [("1", "a", 1), ("2", "a", 2), ("3", "a", 1), ("2", "b", 1), ("3", "c", 3), ("1", "d", 2), ("1", "e", 3)]
    names = ("horse_name", "suffix", "foaled", "sire", "dam")
    rows = [
        {"race_key": f"x:{race}", "source_horse": f"x:{horse}", "date": days[int(race) - 1], "outcome": "finished",
         "position": position, **dict(zip(names, horses[horse], strict=True))}
        for race, horse, position in ran
    ]  # fmt: skip
    place = Library.create(tmp_path / "kin")
    add_frames(place, races, pl.DataFrame(rows), "x")
    return place.folder


def bred(number: str, sire: str, dam: str, **more: object) -> Lot:
    sale, _ = Sale.objects.get_or_create(name="Fell Top", year=2026, imported_at=BEGIN, file="x", sha256="x")
    return Lot.objects.create(sale=sale, number=number, sire=sire, dam=dam, **more)


def test_relatives_are_found_in_the_library(library: Path, now: None) -> None:
    """By hand: two out of the dam, one other by the sire; the same name of another country is another horse."""
    found = kin(library, moments.now(), bred("1", "QUILL (IRE)", "Marram grass"))
    assert [(one.name, one.runs, one.wins) for one in found.of_dam] == [("Half Sister (IRE)", 1, 1), ("Brother", 3, 2)]
    brother = found.of_dam[1]
    assert (brother.shortest, brother.longest, brother.won_over) == (1200.0, 2000.0, (1200.0, 2000.0))
    assert (brother.last, brother.foaled, brother.number) == (date(2026, 5, 10), 2021, None)
    assert [one.name for one in found.of_sire] == ["By Quill (GB)"]
    assert (found.own, found.no_results) == (None, "")


def test_relatives_are_as_known_at_the_moment(library: Path, now: None) -> None:
    """As of the morning of its race a horse had not run it, and one whose first race it was is not known yet."""
    found = kin(library, moments.as_of(datetime(2026, 5, 10, 12, tzinfo=UTC)), bred("1", "Quill (IRE)", "Marram Grass"))
    assert [(one.name, one.runs) for one in found.of_dam] == [("Half Sister (IRE)", 1), ("Brother", 2)]
    assert found.of_sire == []


def test_a_named_lot_finds_its_own_runs(library: Path, now: None) -> None:
    """A lot that has run is told with its runs, and is no relative of its own."""
    found = kin(library, moments.now(), bred("1", "Quill (IRE)", "Marram Grass", name="Brother (GB)"))
    assert (found.own.name, found.own.runs) == ("Brother", 3)
    assert [one.name for one in found.of_dam] == ["Half Sister (IRE)"]


def test_relatives_in_the_yard_and_in_the_lists(library: Path, now: None) -> None:
    """Horses of the yard that never ran and lots out of the dam are relatives too; those by the sire are counted."""
    own = Horse.objects.create(
        horse_key="yard:young-2024", name="Young", foaled=2024, sex="filly", sire="Reed", dam="Marram Grass",
        joined=date(2026, 1, 1),
    )  # fmt: skip
    raced = Horse.objects.create(
        horse_key="x:a",
        name="Brother",
        foaled=2021,
        sex="colt",
        sire="Quill",
        dam="Marram Grass",
        joined=date(2023, 1, 1),
    )
    lot, other = bred("1", "Quill (IRE)", "Marram Grass"), bred("2", "Reed", "Marram Grass (IRE)", foaled=2025)
    for number, sire in (("3", "Quill (IRE)"), ("4", "Quill (IRE)"), ("5", "Quill (USA)")):
        bred(number, sire, "Nobody")
    found = kin(library, moments.now(), lot)
    assert {one.name: one.number for one in found.of_dam} == {
        "Half Sister (IRE)": None, "Brother": raced.pk, "Young": own.pk,
    }  # fmt: skip
    assert [one.pk for one, _ in found.lots_of_dam] == [other.pk]
    assert found.lots_of_sire == 2


def test_a_lot_without_parents_has_no_relatives(library: Path, now: None) -> None:
    """Where the list names neither sire nor dam nothing is a relative, and other such lots are not."""
    bred("2", "", "")
    found = kin(library, moments.now(), bred("1", "", ""))
    assert (found.of_dam, found.of_sire, found.lots_of_dam, found.lots_of_sire) == ([], [], [], 0)


def test_without_a_library_relatives_are_those_of_the_books(tmp_path: Path, now: None) -> None:
    """Where there are no results, why is told, and the yard's own horses are still found."""
    Horse.objects.create(
        horse_key="yard:young-2024", name="Young", foaled=2024, sex="filly", dam="Marram", joined=date(2026, 1, 1)
    )
    found = kin(tmp_path / "none", moments.now(), bred("1", "Quill", "Marram"))
    assert [one.name for one in found.of_dam] == ["Young"]
    assert "no library of results" in found.no_results
