import json
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from upsides.errors import LibraryBusyError, LibraryMissingError, LibraryNewerError
from upsides.results import importing, tables
from upsides.results.library import Library
from upsides.results.lock import writing
from upsides.results.schema import RACES, RUNS


def test_library_is_asked_for_where_there_is_none(tmp_path: Path) -> None:
    """Opening a folder without a library says so and names the remedy."""
    with pytest.raises(LibraryMissingError, match="upsides results add"):
        Library.open(tmp_path)


def test_newer_library_is_refused(library: Library) -> None:
    """A library of a later format is refused plainly, naming both formats."""
    path = library.folder / "library.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | {"format_version": 99}))
    with pytest.raises(LibraryNewerError, match="format 99, this program knows up to 2; upgrade"):
        Library.open(library.folder)


def test_damaged_pin_file_is_told(library: Library) -> None:
    """A library whose pin file cannot be read is not opened, and nothing is written over it."""
    (library.folder / "library.json").write_text("{")
    with pytest.raises(LibraryMissingError, match=r"library\.json"):
        Library.create(library.folder)


def test_frames_have_the_schema(library: Library, shape: Path, pair: list[Path]) -> None:
    """Races and runs come with the schema's columns and types, runs with a horse key besides."""
    importing.add(library, pair, shape)
    assert library.races().collect().schema == pl.Schema({c.name: c.dtype for c in RACES})
    runs = library.runs().collect()
    assert runs.drop("horse_key").schema == pl.Schema({c.name: c.dtype for c in RUNS})
    assert runs["horse_key"].to_list() == runs["source_horse"].to_list()


def test_as_of_is_what_was_known_that_morning(library: Library, shape: Path, pair: list[Path]) -> None:
    """As of a day only results of earlier days are shown, not those of the day itself."""
    importing.add(library, pair, shape)
    assert library.runs(as_of=date(2001, 5, 1)).collect().is_empty()
    assert library.races(as_of=date(2001, 5, 2)).collect().height == 2


def test_killed_import_leaves_the_old_state(
    library: Library, shape: Path, pair: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An import that dies before its last step changes nothing, and the next one works."""
    importing.add(library, pair, shape)
    before = library.runs().collect()
    changed = pair[1].read_text().replace("nk", "hd")
    pair[1].write_text(changed)
    with monkeypatch.context() as patch:
        patch.setattr(tables, "write_pins", lambda folder, versions: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            importing.add(library, pair, shape)
    assert Library.open(library.folder).runs().collect().equals(before)
    done = importing.add(library, pair, shape)
    assert (done.new, done.replaced, done.unchanged) == (0, 1, 1)
    after = library.runs().collect()
    assert after.height == 6
    assert after.filter(horse_name="Birch", position=2)["beaten_lengths"].to_list() == [0.2]


def test_one_writer_at_a_time(library: Library, shape: Path, pair: list[Path]) -> None:
    """While one import writes, another is refused with the writer's name; afterwards it works."""
    with writing(library.folder), pytest.raises(LibraryBusyError, match="process"):
        importing.add(library, pair, shape)
    assert importing.add(library, pair, shape).new == 2


def test_a_library_shows_one_state(library: Library, shape: Path, pair: list[Path]) -> None:
    """A library that is open goes on showing the state it was opened at until it is refreshed."""
    reader = Library.open(library.folder)
    importing.add(library, pair, shape)
    assert reader.races().collect().is_empty()
    reader.refresh()
    assert reader.races().collect().height == 2


def test_summary_counts_every_source(library: Library, shape: Path, pair: list[Path]) -> None:
    """The summary gives races, runs, horses, rows left out and the span of dates."""
    importing.add(library, pair, shape)
    (one,) = library.summary()
    assert (one.source, one.races, one.runs, one.horses, one.refused) == ("home", 2, 6, 4, 0)
    assert one.first == one.last == date(2001, 5, 1)


def test_many_small_imports_are_joined(
    library: Library, shape: Path, pair: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where many imports have left many files they are joined, and what they hold stays the same."""
    importing.add(library, pair, shape)
    before = library.runs().sort("race_key", "line").collect()
    monkeypatch.setattr(tables, "MANY_FILES", 1)
    races, runs = pair[0].read_text(), pair[1].read_text()
    for number in (3, 4):
        pair[0].write_text(races.replace("\n2,", f"\n{number},"))
        pair[1].write_text(runs.replace("\n2,", f"\n{number},"))
        importing.add(library, pair, shape)
    after = library.runs().filter(pl.col("race_key").is_in(["home:1", "home:2"])).sort("race_key", "line").collect()
    assert after.equals(before)
    assert library.races().collect().height == 4
    assert len(list((library.folder / "races").rglob("*.parquet"))) > 1
