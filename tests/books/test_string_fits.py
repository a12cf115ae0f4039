"""Which fit pages read, how long it is kept, and what reading it loads."""

import json
import os
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest

import worlds
from upsides.books.queries.levels import Levels, read_levels
from upsides.books.queries.races import figures_of_race
from upsides.books.queries.results import race, state_of
from upsides.books.queries.standings import FIGURES, standings
from upsides.errors import FitMissingError, FitNewerError
from upsides.ratings.kept_fits import FORMAT
from upsides.results.library import Library


def write_fit(library: Path, fit: Levels, day: date, shift: float = 0.0) -> None:
    """Write what a fit said as if it had been made as of a day."""
    folder = library / "fits" / str(day)
    folder.mkdir(parents=True, exist_ok=True)
    fit.levels.with_columns(pl.col("level_lb") + shift).write_parquet(folder / "levels.parquet")
    fit.figures.write_parquet(folder / "figures.parquet")
    fit.horses.with_columns(pl.col("level_lb") + shift).write_parquet(folder / "horses.parquet")
    fresh = folder / "manifest.new"
    fresh.write_text(json.dumps({"format": FORMAT, "as_of": str(day)}))
    fresh.replace(folder / "manifest.json")


def test_the_fit_of_a_day_is_the_last_one_until_then(yard: worlds.Yard, tmp_path: Path) -> None:
    """As of a day the fit that knows most is read, none of a later day, and what is no fit is passed over."""
    for day in (date(2026, 5, 4), date(2026, 6, 1), date(2026, 6, 15)):
        write_fit(tmp_path, yard.levels, day)
    for other in ("2026-06-10", ".2026-06-12.new", "notes"):
        (tmp_path / "fits" / other).mkdir()
    assert read_levels(tmp_path, date(2026, 6, 14)).as_of == date(2026, 6, 1)
    assert read_levels(tmp_path, date(2026, 6, 15)).as_of == date(2026, 6, 15)
    assert read_levels(tmp_path, date(2030, 1, 1)).as_of == date(2026, 6, 15)
    with pytest.raises(FitMissingError, match="2026-05-03 or earlier"):
        read_levels(tmp_path, date(2026, 5, 3))
    with pytest.raises(FitMissingError):
        read_levels(tmp_path / "nowhere", date(2026, 5, 3))


def test_a_fit_is_kept_until_it_is_made_again(yard: worlds.Yard, tmp_path: Path) -> None:
    """The same fit is one object; made again, or followed by a later one, what is read is the new one."""
    day, later = date(2026, 6, 1), date(2026, 6, 15)
    keys = frozenset(yard.world.string["source_horse"])
    write_fit(tmp_path, yard.levels, day)
    first = read_levels(tmp_path, later)
    assert read_levels(tmp_path, later) is first
    assert standings(read_levels(tmp_path, later), keys) is standings(first, keys)
    write_fit(tmp_path, yard.levels, day, shift=5.0)
    again = standings(read_levels(tmp_path, later), keys)
    for key, standing in standings(first, keys).items():
        assert again[key].level.lb == pytest.approx(standing.level.lb + 5.0)
    write_fit(tmp_path, yard.levels, later)
    assert read_levels(tmp_path, later).as_of == later


def test_a_fit_of_a_newer_program_is_refused(yard: worlds.Yard, tmp_path: Path) -> None:
    """A fit with a format that is not known is refused in words."""
    write_fit(tmp_path, yard.levels, date(2026, 6, 1))
    manifest = tmp_path / "fits" / "2026-06-01" / "manifest.json"
    manifest.write_text(json.dumps({"format": FORMAT + 1, "as_of": "2026-06-01"}))
    with pytest.raises(FitNewerError):
        read_levels(tmp_path, date(2026, 6, 1))


def test_only_the_yards_own_horses_are_kept(yard: worlds.Yard, tmp_path: Path) -> None:
    """Of a fit no more is kept than the levels and figures of the horses asked for, whole."""
    write_fit(tmp_path, yard.levels, yard.world.today)
    keys = frozenset(yard.world.string["source_horse"])
    found = standings(read_levels(tmp_path, yard.world.today), keys)
    ours = pl.col("horse_key").is_in(list(keys))
    assert set(found) == set(yard.levels.horses.filter(ours)["horse_key"])
    assert (
        sum(one.career.height for one in found.values())
        == yard.levels.levels.filter(pl.col("horse_key").is_in(list(found))).height
    )
    figures = yard.levels.figures.filter(ours)
    assert sum(len(one.figures) for one in found.values()) == figures.height
    for row in figures.sample(50, seed=1).to_dicts():
        assert found[row["horse_key"]].figures[row["race_key"]]["figure_lb"] == row["figure_lb"]


def test_a_fit_without_late_speed_leaves_it_empty(yard: worlds.Yard) -> None:
    """A fit that has no late speed gives figures all the same, with late speed empty."""
    assert "late_speed" not in yard.levels.figures.columns
    row = yard.levels.figures.row(0, named=True)
    told = figures_of_race(yard.levels, row["race_key"], row["date"])[row["horse_key"]]
    assert set(FIGURES) <= set(told)
    assert (told["figure_lb"], told["late_speed"]) == (row["figure_lb"], None)


def test_figures_of_a_race_are_those_of_its_runners(yard: worlds.Yard) -> None:
    """Of the fit's figures a race's page reads those of the race."""
    key, day = yard.levels.figures.row(123, named=True)["race_key"], yard.levels.figures.row(123, named=True)["date"]
    expected = yard.levels.figures.filter(pl.col("race_key") == key)
    told = figures_of_race(yard.levels, key, day)
    assert {horse: row["figure_lb"] for horse, row in told.items()} == dict(
        expected.select("horse_key", "figure_lb").iter_rows()
    )
    assert figures_of_race(yard.levels, key, day + timedelta(days=1)) == {}


def test_results_are_read_anew_when_the_library_changes(yard: worlds.Yard, tmp_path: Path) -> None:
    """What is kept of results is of one state of the library: after an import the next reading sees the new races."""
    library = Library.create(tmp_path)
    before = state_of(tmp_path)
    key = yard.world.races["race_key"][0]
    assert race(before, key) is None
    few = yard.world.races.head(20)["race_key"].to_list()
    from upsides.results.importing import add_frames

    ours = pl.col("race_key").is_in(few)
    add_frames(library, yard.world.races.filter(ours), yard.world.runs.filter(ours), "invented")
    after = state_of(tmp_path)
    assert after != before
    assert race(after, key) is not None


def test_pages_load_nothing_that_makes_fits(tmp_path: Path) -> None:
    """A web process reads fits without the code that makes them, which compiles and takes seconds to load."""
    code = (
        "import sys, django; django.setup(); import upsides.web.urls;"
        "print([name for name in sys.modules if name.split('.')[0] in ('numba', 'scipy') or "
        "name in ('upsides.ratings.fits', 'upsides.ratings.levels.fitting')])"
    )
    env = os.environ | {"UPSIDES_LIBRARY": str(tmp_path), "DJANGO_SETTINGS_MODULE": "upsides.books.settings"}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=False)
    assert done.stdout.strip() == "[]", done.stdout + done.stderr
