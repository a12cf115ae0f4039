"""Horses entered by hand find their results."""

from datetime import date

import polars as pl
import pytest

import worlds
from upsides.books.models import Horse
from upsides.books.services.horses import describe, enter_horses, link_horses
from upsides.results.importing import add_frames
from upsides.results.library import Library

pytestmark = pytest.mark.django_db
DAY = date(2026, 5, 1)


def ran(library: Library, *horses: tuple[str, str, int, str]) -> None:
    """Add a race in which horses ran: their number, name, year of foaling and dam."""
    races = pl.DataFrame({"race_id": ["1"], "date": [DAY]})
    names = ("source_horse", "horse_name", "foaled", "dam")
    told = {name: [horse[place] for horse in horses] for place, name in enumerate(names)}
    add_frames(
        library, races, pl.DataFrame(told | {"race_key": ["x:1"] * len(horses), "date": [DAY] * len(horses)}), "x"
    )


def entered(library: Library, name: str, foaled: int, dam: str = "") -> Horse:
    (horse,) = enter_horses([describe(name, str(foaled), "filly", "", dam, today=DAY)], DAY, library.folder)
    return horse


@pytest.fixture
def library(tmp_path) -> Library:
    return Library.create(tmp_path / "library")


def test_a_horse_entered_before_its_results_finds_them(library: Library) -> None:
    """Once a race of that name, year and dam is in the library, the horse has its key there."""
    horse = entered(library, "Quarto Fennel", 2023, "Her Dam")
    other = entered(library, "Fallow Bugle", 2022)
    ran(library, ("x:7", "QUARTO FENNEL", 2023, "Her Dam"), ("x:8", "Somebody Else", 2022, ""))
    assert link_horses(library.folder) == 1
    horse.refresh_from_db()
    other.refresh_from_db()
    assert (
        horse.horse_key
        == Library.open(library.folder).horses().filter(pl.col("source_horse") == "x:7").collect()["horse_key"].item()
    )
    assert other.horse_key.startswith("yard:")
    assert horse.history.count() == 2
    assert link_horses(library.folder) == 0


@pytest.mark.parametrize(
    "runners",
    [
        [("x:7", "Quarto Fennel", 2021, "Her Dam")],
        [("x:7", "Quarto Fennel", 2023, "Another")],
        [("x:7", "Quarto Fennel", 2023, "Her Dam"), ("x:8", "Quarto Fennel", 2023, "Her Dam")],
    ],
    ids=["another year", "another dam", "two of them"],
)
def test_a_doubtful_horse_is_left_alone(library: Library, runners: list[tuple[str, str, int, str]]) -> None:
    """Where year or dam differ, or two horses fit, nothing is linked."""
    horse = entered(library, "Quarto Fennel", 2023, "Her Dam")
    ran(library, *runners)
    assert link_horses(library.folder) == 0
    horse.refresh_from_db()
    assert horse.horse_key == "yard:quartofennel-2023"


def test_a_horse_that_ran_before_is_entered_with_its_key(loaded: worlds.Yard) -> None:
    """A horse whose results are there already gets its key on entering, and a second one of it is refused."""
    known = loaded.world.string.row(0, named=True)
    Horse.objects.filter(name=known["name"]).delete()
    horse = entered(Library.open(loaded.library), known["name"].upper(), known["foaled"], known["dam"])
    assert horse.horse_key.startswith("invented:")
