"""Which start is meant by what somebody writes."""

from datetime import date

import polars as pl
import pytest

from upsides.errors import DrawSurfaceError
from upsides.ratings.draw.starts import Asked, Place, places_of, settled

TURF = Place("Stannock Down", "turf", 1200.0, 60, "straight", ("A", "C+3"))
ROUND = Place("Stannock Down", "turf", 2000.0, 20, "left")
DIRT = Place("Stannock Down", "dirt", 2000.0, 20, "left")
PLACES = (DIRT, TURF, ROUND)


def test_names_and_trips_are_matched_as_people_write_them() -> None:
    """Case makes no difference, six furlongs are the course's 1200 m, and surface and bend are those of its races."""
    found = settled(Asked("stannock down", 1207.0, rail="a"), PLACES)
    assert found.asked == Asked("Stannock Down", 1200.0, "turf", bend="straight", rail="A")
    assert (found.place, found.unknown) == (TURF, ())
    assert settled(Asked("Stannock Down", 1200.0, bend="right"), PLACES).asked.bend == "right"


def test_of_two_surfaces_one_has_to_be_said() -> None:
    """A trip run on turf and dirt is no start until the surface is said, however it is written."""
    with pytest.raises(DrawSurfaceError, match="dirt / turf"):
        settled(Asked("Stannock Down", 2000.0), PLACES)
    assert settled(Asked("Stannock Down", 2000.0, "Grass"), PLACES).place == ROUND


def test_what_the_library_does_not_know_is_told() -> None:
    """An unknown course names those like it, an unknown rail those it knows; a trip never run there is no fault."""
    assert "it has Stannock Down" in settled(Asked("Stanock Down", 1200.0), PLACES).unknown[0]
    assert settled(Asked("Nowhere", 1200.0), PLACES).unknown == (
        "The library knows no course called Nowhere; this is the average of all its courses.",
    )
    assert "(the library has A, C+3)" in settled(Asked("Stannock Down", 1200.0, rail="B"), PLACES).unknown[0]
    assert "where the rail stood" in settled(Asked("Stannock Down", 2000.0, "turf", rail="B"), PLACES).unknown[0]
    never = settled(Asked("Stannock Down", 1400.0, "turf"), PLACES)
    assert (never.place, never.unknown, never.asked.surface) == (None, (), "turf")


def test_starts_are_counted_from_races() -> None:
    """Each start has its races, the bend that most of them say, and the rails that any names; jumping is left out."""
    rows = [
        ("Larkmoor", "turf", 1000.0, "straight", "A", "flat"),
        ("Larkmoor", "turf", 1000.0, None, None, None),
        ("Larkmoor", "turf", 1000.0, "left", "B", "flat"),
        ("Larkmoor", "turf", 1000.0, "straight", "A", "flat"),
        ("Larkmoor", "turf", 3200.0, "left", None, "hurdle"),
        (None, "turf", 1000.0, None, None, "flat"),
    ]
    names = ["course", "surface", "distance_m", "bend", "rail", "code"]
    races = pl.LazyFrame(rows, schema=names, orient="row").with_columns(date=date(2026, 1, 1))
    assert places_of(races) == (Place("Larkmoor", "turf", 1000.0, 4, "straight", ("A", "B")),)
