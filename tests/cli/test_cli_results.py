"""`upsides results` on small tables."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from click.testing import Result

from upsides.results.importing import add_frames
from upsides.results.library import Library

Run = Callable[..., Result]
Ask = Callable[..., Any]

SHAPE = """
format = 1
source = "home"
timezone = "Europe/London"
birthday = "01-01"

[[table]]
name = "runs"
has = ["race", "horse", "place"]

[table.race]
race_id = "race"
date = "day"
course = "course"
distance_m = { from = "metres", unit = "m" }
code = { value = "flat" }

[table.run]
race_id = "race"
horse_id = "number"
horse_name = "horse"
position = "place"
beaten_lengths = { from = "behind", unit = "written" }
carried_lb = { from = "weight", unit = "written" }

[table.run.outcome]
from = "place"
when = [{ matches = '^\\\\d', value = "finished" }]
codes = { PU = "pulled_up" }
"""
HORSES = """
[[table]]
name = "horses"
has = ["number", "by", "from"]

[table.horse]
horse_id = "number"
horse_name = "horse"
sire = "by"
dam = "from"
"""
HEAD = "race,day,course,metres,number,horse,place,behind,weight,colour\n"
GOOD = """1,2001-05-01,Moor Top,1200,11,Alder,1,0,9-7,bay
1,2001-05-01,Moor Top,1200,12,Birch,2,1.5,9-0,grey
2,2001-05-08,Moor Top,1600,11,Alder,2,2,9-7,bay
2,2001-05-08,Moor Top,1600,14,Dogwood,1,0,9-0,bay
"""
BAD = """2,2001-05-08,Moor Top,1600,15,Elder,3,2.5,banana,bay
3,no day,Moor Top,1600,15,Elder,1,0,9-0,bay
"""


@pytest.fixture
def shape(tmp_path: Path) -> Path:
    path = tmp_path / "home.toml"
    path.write_text(SHAPE.replace("\\\\", "\\"), encoding="utf-8")
    return path


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "runs.csv"
    path.write_text(HEAD + GOOD, encoding="utf-8")
    return path


@pytest.fixture
def where(tmp_path: Path) -> Path:
    return tmp_path / "library"


def test_add_counts_races_and_runs(ask, shape: Path, table: Path, where: Path) -> None:
    """Adding says what was read, what is new and which columns nothing was taken from."""
    found = ask("results", "add", table, "--shape", shape, "--library", where)
    assert {key: found[key] for key in ("source", "races", "runs", "new", "replaced", "unchanged")} == {
        "source": "home", "races": 2, "runs": 4, "new": 2, "replaced": 0, "unchanged": 0,
    }  # fmt: skip
    assert (found["refused_rows"], found["refused"]) == (0, [])
    assert list(found["unused_columns"]["runs.csv"]) == ["colour"]
    assert Library.open(where).runs().collect().height == 4


def test_add_reports_every_row_refused(ask, shape: Path, table: Path, where: Path) -> None:
    """What could not be taken is listed with reason, file, line and value; the rest is in the library."""
    table.write_text(HEAD + GOOD + BAD, encoding="utf-8")
    found = ask("results", "add", table, "--shape", shape, "--library", where)
    assert (found["runs"], found["refused_rows"]) == (5, 1)
    assert all(set(row) == {"reason", "file", "line", "field", "value", "fate"} for row in found["refused"])
    listed = {(row["fate"], row["field"], row["line"], row["value"]) for row in found["refused"]}
    assert ("field", "carried_lb", 6, "banana") in listed
    assert ("row", "date", 7, "no day") in listed
    assert {row["file"] for row in found["refused"]} == {"runs.csv"}


def test_the_same_file_twice_changes_nothing(ask, run, shape: Path, table: Path, where: Path) -> None:
    """The second time every race is unchanged and the library says the same, in words too."""
    arguments = ("results", "add", table, "--shape", shape, "--library", where)
    ask(*arguments)
    before = Library.open(where).runs().collect()
    found = ask(*arguments)
    assert (found["races"], found["runs"], found["new"], found["replaced"], found["unchanged"]) == (2, 4, 0, 0, 2)
    assert Library.open(where).runs().collect().equals(before)
    assert "The library held all of them already." in run(*arguments).stdout


def test_a_corrected_file_replaces(ask, shape: Path, table: Path, where: Path) -> None:
    """A file that says something else about one race replaces that race and leaves the other."""
    ask("results", "add", table, "--shape", shape, "--library", where)
    table.write_text(HEAD + GOOD.replace("Dogwood,1,0,9-0", "Dogwood,1,0,9-2"), encoding="utf-8")
    found = ask("results", "add", table, "--shape", shape, "--library", where)
    assert (found["new"], found["replaced"], found["unchanged"]) == (0, 1, 1)
    weights = Library.open(where).runs().filter(horse_name="Dogwood").collect()["carried_lb"]
    assert weights.to_list() == [128]


def test_add_in_words(run, shape: Path, table: Path, where: Path) -> None:
    """A person reads counts, then every reason with the first place it occurs at."""
    table.write_text(HEAD + GOOD + BAD, encoding="utf-8")
    lines = run("results", "add", table, "--shape", shape, "--library", where).stdout.splitlines()
    assert lines[0] == "home: 2 races and 5 runs read. 2 races are new, 0 replaced, 0 unchanged."
    assert lines[1] == "Not used from runs.csv: colour."
    assert lines[2] == "1 row left out:"
    assert lines[3].split(maxsplit=1)[0] == "1"
    assert "first at runs.csv line 7: 'no day'" in lines[3]
    assert lines[4] == "Kept, but for a cell that was emptied:"
    assert lines[5].endswith("first at runs.csv line 6: 'banana'")


def test_a_table_of_horses_is_told(run, ask, shape: Path, table: Path, where: Path, tmp_path: Path) -> None:
    """Horses that come later are counted, those that have run here among them, and the library's check tells them."""
    shape.write_text(shape.read_text() + HORSES, encoding="utf-8")
    horses = tmp_path / "horses.csv"
    horses.write_text("number,horse,by,from\n11,Alder,Oak,Maple\n19,Elder,Oak,Maple\n", encoding="utf-8")
    ask("results", "add", table, "--shape", shape, "--library", where)
    arguments = ("results", "add", horses, "--shape", shape, "--library", where)
    found = ask(*arguments)
    assert (found["races"], found["horses"], found["horses_changed"], found["horses_raced"]) == (0, 2, 2, 1)
    text = run(*arguments).stdout.splitlines()
    assert text[0] == "home: 2 horses read, nothing is new; of all its listed horses 1 have run here."
    (source,) = ask("results", "check", "--library", where)["sources"]
    assert (source["horses"], source["unraced"]) == (3, 1)
    assert "3 horses and 1 more that have no run here" in run("results", "check", "--library", where).stdout
    told = ask("pedigree", "Alder", "--library", where)
    assert (told["sire"], told["dam"], told["animals"]) == ("Oak", "Maple", 6)


def test_progress_stays_off_standard_output(run, shape: Path, table: Path, where: Path) -> None:
    """Progress is on standard error, so that standard output alone is the answer."""
    result = run("results", "add", table, "--shape", shape, "--library", where, "--json")
    assert json.loads(result.stdout)["runs"] == 4
    assert "100 %" in result.stderr
    assert "%" not in result.stdout


@pytest.mark.parametrize(
    ("file", "form", "kind", "words"),
    [
        ("none.csv", None, "FileUnreadableError", "none.csv: there is no such file; check its path"),
        (None, "moorland", "ShapeError", "shape moorland: there is no such shape; name one of hk1997"),
    ],
)
def test_what_cannot_be_added_is_named(
    run, shape: Path, table: Path, where: Path, file: str | None, form: str | None, kind: str, words: str
) -> None:
    """A missing file or an unknown shape is refused by name, and the library stays empty."""
    result = run("results", "add", file or table, "--shape", form or shape, "--library", where, "--json")
    assert result.exit_code == 1
    error = json.loads(result.stdout)["error"]
    assert error["kind"] == kind
    assert words in error["message"]
    assert not where.exists() or Library.open(where).races().collect().is_empty()


def test_check_says_what_is_there(ask, run, filled: Path) -> None:
    """A look through the library counts its sources and lists what is odd."""
    found = ask("results", "check", "--library", filled)
    assert set(found) == {"sources", "years", "missing", "findings"}
    (source,) = found["sources"]
    library = Library.open(filled)
    assert source["races"] == library.races().collect().height
    assert source["first"] == str(library.races().collect()["date"].min())
    assert f"invented: {source['races']:,} races" in run("results", "check", "--library", filled).stdout


def test_check_of_an_empty_library(run, where: Path) -> None:
    """An empty library says how to fill it."""
    Library.create(where)
    assert "upsides results add FILE" in run("results", "check", "--library", where).stdout


def test_propose_prints_a_shape_that_works(run, ask, tmp_path: Path, table: Path, where: Path) -> None:
    """What is proposed for an unknown table is TOML as it stands, and the table can be added with it."""
    names = "race_id,date,course,distance,horse,position,colour"
    horses = [
        f"{colour} {tree}" for colour in ("Red", "Dun", "Pied", "Roan") for tree in ("Fig", "Elm", "Oak", "Yew", "Bay")
    ]
    rows = [
        f"{r},2001-05-{r:02},Moor Top,1200,{horses[(3 * r + place) % 20]},{place},bay"
        for r in range(1, 9)
        for place in range(1, 5)
    ]
    table.write_text("\n".join([names, *rows]) + "\n")
    result = run("results", "propose", table)
    assert result.exit_code == 0
    path = tmp_path / "proposed.toml"
    path.write_text(result.stdout, encoding="utf-8")
    assert ask("results", "add", table, "--shape", path, "--library", where)["runs"] == 32
    assert "#   date" in result.stdout
    found = ask("results", "propose", table)
    assert {"toml", "understood", "dropped", "unclear", "trial"} <= set(found)
    assert found["toml"] in result.stdout
    assert set(found["understood"]["runs.csv"]) | set(found["dropped"]["runs.csv"]) == set(names.split(","))


def test_shapes_are_listed(ask, run) -> None:
    """The shipped shapes are listed with what they are for."""
    found = ask("results", "shapes")["shapes"]
    assert {"hk1997", "hk2014", "world2019", "ukire"} <= set(found)
    assert all(about and name in run("results", "shapes").stdout for name, about in found.items())


def test_horses_are_linked_and_taken_apart_again(run: Run, ask: Ask, tmp_path: Path) -> None:
    """Two horses of two sources become one and, taken back, two again, with both steps on record."""
    opened = Library.create(tmp_path / "library")
    for source in ("first", "second"):
        races = pl.DataFrame({"race_id": [f"{source}1"], "date": [date(2024, 5, 1 if source == "first" else 2)]})
        runs = pl.DataFrame(
            {
                "race_key": [f"{source}:{source}1"] * 2,
                "source_horse": [f"{source}:1", f"{source}:2"],
                "horse_name": ["COPPERPLATE VOLTA", f"OTHER {source}"],
                "outcome": ["finished", "finished"],
            }
        )
        add_frames(opened, races, runs, source)
    proposed = ask("results", "links", "--library", opened.folder)["proposed"]
    assert [(link["kept"], link["merged"]) for link in proposed] == [("first:1", "second:1")]
    number = ask("results", "link", "first:1", "second:1", "--reason", "same passport", "--library", opened.folder)[
        "number"
    ]
    opened.refresh()
    assert opened.runs().filter(pl.col("horse_key") == "first:1").collect().height == 2
    assert run("results", "unlink", number, "--reason", "not so", "--library", opened.folder).exit_code == 0
    opened.refresh()
    assert opened.runs().filter(pl.col("horse_key") == "first:1").collect().height == 1
    assert len(ask("results", "links", "--library", opened.folder)["links"]) == 2
    assert "no merge 77" in run("results", "unlink", 77, "--reason", "x", "--library", opened.folder).stderr
