import gzip
from collections.abc import Callable
from datetime import date
from pathlib import Path

import openpyxl
import polars as pl
import pytest

from upsides.errors import FileUnreadableError, ShapeError
from upsides.results import importing, staging
from upsides.results.importing import Imported
from upsides.results.library import Library

Write = Callable[..., Path]
HEAD = "race,number,horse,age,place,behind,weight,draw,time\n"


def told(done: Imported) -> list[tuple[str, int, str, str, str]]:
    """Return what was refused as file, line, field, value, fate."""
    return done.refused.sort("file", "line", "field").select("file", "line", "field", "value", "fate").rows()


def test_races_and_runs_are_joined(library: Library, shape: Path, pair: list[Path]) -> None:
    """Two tables in any order become races with their runs, counted, with file and line kept."""
    done = importing.add(library, pair[::-1], shape)
    assert (done.races, done.runs, done.new, done.refused_rows) == (2, 6, 2, 0)
    run = library.runs().filter(race_key="home:2", position=2).collect().row(0, named=True)
    assert (run["horse_name"], run["suffix"], run["source_horse"]) == ("Alder", "IRE", "home:11")
    assert (run["date"], run["beaten_lengths"], run["carried_lb"], run["time_s"]) == (
        date(2001, 5, 1),
        2.0,
        133.0,
        100.1,
    )
    assert (run["file"], run["line"], run["foaled"]) == ("runs.csv", 5, 1998)


def test_same_file_twice_changes_nothing(library: Library, shape: Path, pair: list[Path]) -> None:
    """An import repeated, from the same or a renamed file, leaves every table at its version."""
    importing.add(library, pair, shape)
    pins = dict(library.pins)
    again = importing.add(library, pair, shape)
    assert (again.races, again.runs, again.new, again.replaced, again.unchanged) == (2, 6, 0, 0, 2)
    alone = importing.add(library, pair[1:], shape)
    assert (alone.new, alone.replaced, alone.unchanged) == (0, 0, 2)
    assert library.pins == pins


def test_corrected_file_replaces_whole_races(library: Library, shape: Path, pair: list[Path]) -> None:
    """A corrected file replaces the races that changed, lost runs included, and leaves the others."""
    importing.add(library, pair, shape)
    lines = pair[1].read_text().splitlines()
    pair[1].write_text("\n".join([*lines[:3], *lines[4:]]) + "\n")
    done = importing.add(library, pair, shape)
    assert (done.new, done.replaced, done.unchanged) == (0, 1, 1)
    assert library.runs().filter(race_key="home:1").collect().height == 2
    assert library.races().filter(race_key="home:1").collect()["runners"].to_list() == [2]
    assert "home:13" not in library.horses().collect()["source_horse"]


def test_going_back_to_an_earlier_file_is_a_change(library: Library, shape: Path, pair: list[Path]) -> None:
    """A file that was imported before a correction replaces the correction when it comes again."""
    first = pair[1].read_text()
    importing.add(library, pair, shape)
    pair[1].write_text(first.replace("9-7", "9-6"))
    assert importing.add(library, pair, shape).replaced == 2
    pair[1].write_text(first)
    assert importing.add(library, pair, shape).replaced == 2
    assert library.runs().filter(source_horse="home:11").collect()["carried_lb"].unique().to_list() == [133.0]


def test_runs_may_come_after_their_races(library: Library, shape: Path, pair: list[Path]) -> None:
    """Races without runs are kept as heads; runs that come later find them in the library."""
    heads = importing.add(library, pair[:1], shape)
    assert (heads.races, heads.runs) == (2, 0)
    later = importing.add(library, pair[1:], shape)
    assert (later.runs, later.replaced, later.refused_rows) == (6, 2, 0)
    assert library.races().collect()["runners"].to_list() == [3, 3]


def test_corrected_head_reaches_the_runs(library: Library, shape: Path, pair: list[Path]) -> None:
    """A corrected date of a race moves its runs too, though their file is not given again."""
    importing.add(library, pair, shape)
    pair[0].write_text(pair[0].read_text().replace("2,2001-05-01", "2,2001-05-08"))
    assert importing.add(library, pair[:1], shape).replaced == 1
    assert set(library.runs().filter(race_key="home:2").collect()["date"]) == {date(2001, 5, 8)}
    assert library.runs().collect().height == 6


def test_later_file_joins_the_same_horses(library: Library, shape: Path, pair: list[Path], table: Write) -> None:
    """A later file of the source adds runs to the horses that are there."""
    importing.add(library, pair, shape)
    races = table("race,day,course,metres,going\n3,2002-06-01,Moor Top,1200,SOFT\n", "races2.csv")
    runs = table(HEAD + "3,11,Alder (IRE),4,1,-,9-7,1,1.13.00\n", "runs2.csv")
    importing.add(library, [races, runs], shape)
    horse = library.horses().filter(source_horse="home:11").collect().row(0, named=True)
    assert (horse["runs"], horse["first_run"], horse["last_run"]) == (3, date(2001, 5, 1), date(2002, 6, 1))


def test_many_buckets_give_the_same_library(
    library: Library, shape: Path, pair: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Spreading the rows over many buckets changes nothing in the result."""
    importing.add(library, pair, shape)
    monkeypatch.setattr(staging, "BUCKET_BYTES", 40)
    monkeypatch.setattr(staging, "HELD_ROWS", 2)
    other = Library.create(tmp_path / "other")
    importing.add(other, pair, shape)
    for one, two in ((library.runs(), other.runs()), (library.races(), other.races())):
        assert one.sort("race_key", "line").collect().equals(two.sort("race_key", "line").collect())
    assert not list(other.folder.glob("staging*"))


def test_bad_cells_are_emptied_and_bad_rows_left_out(library: Library, shape: Path, pair: list[Path]) -> None:
    """A cell that cannot be used is emptied, a row without its race is left out; each is told by line and
    value.
    """
    pair[1].write_text(
        HEAD
        + "1,11,Alder,3,1,-,9-7,2,-72.0\n"
        + "1,12,Birch,3,2,999,heavy,1,999\n"
        + "1,13,Cedar,300,3,two,=SUM(G2:G3),3,1.12.30\n"
        + "9,14,Dogwood,5,1,-,9-0,2,1.39.70\n"
        + "2,,,5,1,-,9-0,2,1.39.70\n"
        + ",15,Elder,5,1,-,9-0,2,1.39.70\n"
        + "2,16,=HYPERLINK(A1),5,XX,-,9-0,2,1.39.70\n"
    )
    done = importing.add(library, pair, shape)
    assert told(done) == [
        ("runs.csv", 2, "time_s", "-72.0", "field"),
        ("runs.csv", 3, "carried_lb", "heavy", "field"),
        ("runs.csv", 4, "age", "300", "field"),
        ("runs.csv", 4, "beaten_lengths", "two", "field"),
        ("runs.csv", 4, "carried_lb", "=SUM(G2:G3)", "field"),
        ("runs.csv", 5, "race_id", "9", "row"),
        ("runs.csv", 6, "horse_name", "", "row"),
        ("runs.csv", 7, "race_id", "", "row"),
        ("runs.csv", 8, "horse_name", "=HYPERLINK(A1)", "field"),
        ("runs.csv", 8, "outcome", "XX", "field"),
    ]
    assert (done.runs, done.refused_rows) == (4, 3)
    assert library.refused().collect().height == done.refused.height
    kept = library.runs().filter(source_horse="home:12").collect().row(0, named=True)
    assert (kept["carried_lb"], kept["beaten_lengths"], kept["time_s"]) == (None, None, None)


@pytest.mark.parametrize("day", ["1900-01-01", "1899-12-30", "2001-02-30", "soon", "3001-05-01", "1799-05-01"])
def test_impossible_dates_leave_the_race_out(library: Library, shape: Path, table: Write, day: str) -> None:
    """A race on day nought of a spreadsheet, on a day that is none, or before all racing is left out by its
    line.
    """
    path = table(f"race,day,course,metres,going\n1,{day},Moor Top,1200,GOOD\n", "races.csv")
    done = importing.add(library, [path], shape)
    assert told(done) == [("races.csv", 2, "date", day, "row")]


def test_an_older_table_may_say_so(library: Library, shape: Path, table: Write) -> None:
    """A shape that names an earlier first day lets old races in."""
    shape.write_text(
        shape.read_text()
        .replace("[margins]", "earliest = 1750-01-01\n[margins]", 1)
        .replace('birthday = "01-01"\n\nearliest = 1750-01-01\n', 'birthday = "01-01"\nearliest = 1750-01-01\n\n')
    )
    path = table("race,day,course,metres,going\n1,1799-05-01,Moor Top,3200,GOOD\n", "races.csv")
    assert importing.add(library, [path], shape).races == 1


def test_duplicates_are_told(library: Library, shape: Path, pair: list[Path]) -> None:
    """A race or runner that stands twice is kept once, the second told by its line."""
    with pair[0].open("a") as out:
        out.write("1,2001-05-01,Moor Top,1300,GOOD\n")
    with pair[1].open("a") as out:
        out.write("1,12,Birch,3,2,nk,9-0,1,1.12.05\n")
    done = importing.add(library, pair, shape)
    assert told(done) == [
        ("races.csv", 4, "race_id", "1", "row"),
        ("runs.csv", 8, "horse_id", "home:12", "row"),
    ]
    assert library.races().filter(race_key="home:1").collect()["distance_m"].to_list() == [1200.0]


def test_two_horses_of_one_name_stay_two(library: Library, shape: Path, pair: list[Path]) -> None:
    """Horses that share a name but not a number are two horses, in one race as well."""
    pair[1].write_text(HEAD + "1,11,Alder,3,1,-,9-7,2,1.12.00\n1,12,Alder,4,2,nk,9-0,1,1.12.05\n")
    importing.add(library, pair, shape)
    assert library.runs().collect()["horse_key"].n_unique() == 2


def test_one_runner_and_all_dead_heats(library: Library, shape: Path, pair: list[Path]) -> None:
    """A walk-over is a race, and a race in which all share the first place is one too."""
    pair[1].write_text(
        HEAD
        + "1,11,Alder,3,1,-,9-7,2,1.12.00\n"
        + "2,11,Alder,3,1 DH,-,9-7,1,1.40.00\n2,12,Birch,3,1 DH,-,9-0,2,1.40.00\n"
        + "2,13,Cedar,3,1 DH,-,9-0,3,1.40.00\n"
    )
    importing.add(library, pair, shape)
    runs = library.runs().sort("race_key", "line").collect()
    assert runs["dead_heat"].to_list() == [False, True, True, True]
    assert runs["beaten_lengths"].to_list() == [0.0, 0.0, 0.0, 0.0]
    assert library.races().sort("race_key").collect()["runners"].to_list() == [1, 3]


def test_winner_with_a_margin(library: Library, shape: Path, pair: list[Path]) -> None:
    """A margin beside the winner is what it won by: it becomes 0 and is remarked on."""
    pair[1].write_text(HEAD + "1,11,Alder,3,1,2,9-7,2,1.12.00\n1,12,Birch,3,2,2,9-0,1,1.12.30\n")
    done = importing.add(library, pair, shape)
    assert told(done) == [("runs.csv", 2, "beaten_lengths", "2.0", "noted")]
    assert library.runs().sort("line").collect()["beaten_lengths"].to_list() == [0.0, 2.0]


def test_truncated_file_takes_nothing(library: Library, shape: Path, pair: list[Path], table: Write) -> None:
    """A gzip file that breaks off leaves the library as it was and no staging behind."""
    whole = gzip.compress((HEAD + "1,11,Alder,3,1,-,9-7,2,1.12.00\n" * 3000).encode())
    broken = table(whole[: len(whole) // 2], "runs.csv.gz")
    with pytest.raises(FileUnreadableError, match="cut off"):
        importing.add(library, [pair[0], broken], shape)
    assert library.races().collect().is_empty()
    assert not (library.folder / "staging").exists()


def test_missing_columns_are_named(library: Library, shape: Path, table: Write) -> None:
    """A table that lacks a column the shape reads is refused with the column's name."""
    with pytest.raises(FileUnreadableError, match="lacks the column draw, time"):
        importing.add(library, [table("race,number,horse,age,place,behind,weight\n1,2,A,3,1,-,9-0\n")], shape)


def test_unknown_table_names_the_nearest(library: Library, shape: Path, table: Write) -> None:
    """A table of another kind is refused, with the nearest table of the shape and what it would need."""
    with pytest.raises(FileUnreadableError, match="nearest, 'races', would also need race"):
        importing.add(library, [table("rid,day,metres\n1,2001-01-01,1200\n")], shape)


def test_formula_in_a_sheet_is_refused(library: Library, shape: Path, pair: list[Path], tmp_path: Path) -> None:
    """A formula in a sheet empties its cell and is told as a formula, never as its result."""
    book = openpyxl.Workbook()
    for line in [*(HEAD + "1,11,Alder,3,1,-,9-7,2,1.12.00").splitlines()]:
        book.active.append(line.split(","))
    book.active["G2"] = "=SUM(A1:A9)"
    book.save(tmp_path / "runs.xlsx")
    done = importing.add(library, [pair[0], tmp_path / "runs.xlsx"], shape)
    assert told(done) == [("runs.xlsx", 2, "carried_lb", "=SUM(A1:A9)", "field")]
    assert "formula" in done.refused["reason"][0]


def test_unused_columns_are_told(library: Library, shape: Path, table: Write) -> None:
    """Columns that the shape takes nothing from are listed by file."""
    path = table("race,day,course,metres,going,weather\n1,2001-05-01,Moor Top,1200,GOOD,fair\n", "races.csv")
    assert importing.add(library, [path], shape).unused == {"races.csv": {"weather": ""}}


def test_frames_in_the_schema_are_added(library: Library) -> None:
    """Races and runs that are in the schema already are added, compared and replaced like a file's."""
    races = pl.DataFrame({"race_id": ["1"], "date": [date(2020, 1, 4)], "distance_m": [1200.0]})
    runs = pl.DataFrame(
        {
            "race_key": ["yard:1"] * 2,
            "source_horse": ["yard:a", "yard:b"],
            "horse_name": ["Alder", "Birch"],
            "outcome": ["finished"] * 2,
            "position": [1, 2],
            "beaten_lengths": [0.0, 1.5],
            "draw": [2, 5],
        }
    )
    assert importing.add_frames(library, races, runs, "yard").new == 1
    assert importing.add_frames(library, races, runs, "yard").unchanged == 1
    changed = runs.with_columns(beaten_lengths=pl.Series([0.0, 2.5]))
    assert importing.add_frames(library, races, changed, "yard").replaced == 1
    assert library.runs().sort("draw").collect()["started_from"].to_list() == [1, 2]


def test_progress_rises_to_the_end(library: Library, shape: Path, pair: list[Path]) -> None:
    """Progress never falls and ends at its total."""
    seen: list[float] = []
    importing.add(library, pair, shape, progress=lambda done, total, label: seen.append(done / total))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0


def test_files_are_looked_at_before_a_library_is_made(
    shape: Path, pair: list[Path], table: Write, tmp_path: Path
) -> None:
    """What cannot be used is told from the files alone: a missing shape, a folder, a cut-off file, a strange table."""
    assert importing.check_files(pair, shape).source == "home"
    with pytest.raises(ShapeError, match="no such shape"):
        importing.check_files(pair, "nowhere")
    whole = gzip.compress((HEAD + "1,11,Alder,3,1,-,9-7,2,1.12.00\n" * 3000).encode())
    strange = table("product,price\nhay,3\n", "strange.csv")
    for bad in (tmp_path, tmp_path / "absent.csv", table(whole[:-50], "cut.csv.gz"), strange):
        with pytest.raises(FileUnreadableError):
            importing.check_files([*pair, bad], shape)
    with pytest.raises(FileUnreadableError, match="no file was given"):
        importing.check_files([], shape)


def test_runs_without_their_race_say_what_to_do(library: Library, shape: Path, pair: list[Path]) -> None:
    """Runs added before their races are refused with the remedy."""
    done = importing.add(library, pair[1:], shape)
    assert done.runs == 0
    assert done.refused["reason"].unique().to_list() == [
        "no such race, neither here nor in the library: add its races first, or both together"
    ]


def test_published_start_places_come_from_a_shape(library: Library, shape: Path, pair: list[Path]) -> None:
    """A shape may fill the place started from, and the library keeps it when the race's head comes again."""
    shape.write_text(shape.read_text().replace('draw = "draw"', 'started_from = "draw"'))
    importing.add(library, pair, shape)
    pair[0].write_text(pair[0].read_text().replace("GOOD", "SOFT"))
    importing.add(library, pair[:1], shape)
    assert library.runs().sort("race_key", "line").collect()["started_from"].to_list() == [2, 1, 3, 1, 2, 3]
