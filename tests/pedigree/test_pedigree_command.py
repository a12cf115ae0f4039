"""`upsides pedigree` and `upsides pedigree check`, on tables and on a library."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from click.testing import CliRunner, Result

from upsides.cli.main import main
from upsides.results.importing import add_frames
from upsides.results.library import Library

Write = Callable[..., Path]
TABLE = """horse,sire,dam,sex,foaled
Alder (IRE),,,h,1990
Beech,Alder (IRE),Ash,h,1998
Birch,alder (ire),Elder,m,1999
Cedar (GB),BEECH,Birch,f,2010
"""


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["pedigree", *(str(argument) for argument in arguments)])


def ask(*arguments: object) -> Any:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))


def test_one_animal(write: Write) -> None:
    """Half brother to half sister is 2x2 to their sire, an eighth, with depth and completeness beside it."""
    found = ask("cedar (gb)", "--pedigree", write(TABLE))
    assert (found["animal"], found["sire"], found["dam"]) == ("Cedar (GB)", "Beech", "Birch")
    assert (found["sex"], found["born"], found["line"]) == ("female", 2010, 5)
    assert (found["f"], found["depth"], found["full_generations"]) == (0.125, 2, 2)
    assert found["completeness"] == [1, 1, 0, 0, 0]
    assert found["duplicates"] == [
        {"animal": "Alder (IRE)", "notation": "2x2", "lettered": "2S x 2D", "places": ["2S", "2D"], "f": 0.125}
    ]
    assert found["founders"][0] == {"animal": "Alder (IRE)", "share": 0.5}
    assert (found["ancestors"], found["progeny"], found["animals"], found["rows"]) == (5, 0, 6, 4)
    assert found["faults"]["missing_parents"] == 2


def test_one_animal_in_words(write: Write) -> None:
    """A person reads the inbreeding, how much of the pedigree is known, and the notation; options may come first."""
    text = run("--pedigree", write(TABLE), "Cedar").stdout.splitlines()
    assert text[0] == "Cedar (GB), by Beech out of Birch: inbreeding 12.50% from 5 known ancestors."
    assert "100%, 100%, 0%, 0%, 0%" in text[1]
    assert text[3].split() == ["Alder", "(IRE)", "2S", "x", "2D", "12.50%"]


def test_columns_and_generations(write: Write) -> None:
    """Columns of other names are told, and so is how far back to look."""
    path = write("wer,von,aus\nC,A,B\nA,G,x\nB,G,y\n")
    columns = ("--animal", "wer", "--sire", "von", "--dam", "aus")
    assert ask("C", "--pedigree", path, *columns, "--generations", 1)["duplicates"] == []
    assert ask("C", "--pedigree", path, *columns, "--generations", 2)["duplicates"][0]["notation"] == "2x2"
    assert run("C", "--pedigree", path, "--generations", 11).exit_code == 2


def test_check_tells_every_kind(write: Write) -> None:
    """Every kind of fault is counted and told with its lines, and the file is left as it is."""
    rows = ["id,sire,dam,sex,yob", "A,A,,,", "B,C,,,", "C,B,,,", "D,E,,,1990", "E,,,mare,1995", "F,X,,,", "F,Y,,,"]
    path = write("\n".join(rows))
    found = ask("check", path)
    assert found["counts"] == {
        "loops": 2,
        "own_parent": 1,
        "sex_conflicts": 1,
        "date_conflicts": 1,
        "duplicates": 1,
        "missing_parents": 1,
    }
    assert found["own_parent"] == [{"animals": ["A"], "lines": [2], "said": "A is given as its own sire (line 2)"}]
    assert [fault["animals"] for fault in found["loops"]] == [["A"], ["B", "C"]]
    assert found["date_conflicts"][0]["lines"] == [5, 6]
    assert found["sex_conflicts"][0]["animals"] == ["E"]
    assert found["missing_parents"][0]["animals"] == ["X", "F"]
    assert (found["rows"], found["animals"], found["repeated"]) == (7, 7, 1)
    assert path.read_text() == "\n".join(rows)
    text = run("check", path).stdout
    assert "5 things that cannot be right" in text
    assert "B is out of C is out of B (lines 3, 4)" in text


def test_check_of_a_good_table(write: Write) -> None:
    """A table without faults is said to have none."""
    assert "nothing that cannot be right" in run("check", write(TABLE)).stdout


def test_repair_on_request_only(write: Write) -> None:
    """A table with a loop is refused, as JSON too; with --repair it is read and every link left out is told."""
    path = write("id,sire,dam\nA,B,\nB,A,\nC,A,D\n")
    refused = run("C", "--pedigree", path, "--json")
    assert refused.exit_code == 1
    assert json.loads(refused.stdout)["error"]["kind"] == "PedigreeLoopError"
    assert "A is out of B is out of A (lines 2, 3)" in refused.stderr
    found = ask("C", "--pedigree", path, "--repair")
    assert [(cut["animal"], cut["parent"], cut["role"]) for cut in found["cuts"]] == [
        ("A", "B", "sire"),
        ("B", "A", "sire"),
    ]
    assert "B as sire of A: A is out of B" in run("C", "--pedigree", path, "--repair").stdout


def test_refusals(write: Write, tmp_path: Path) -> None:
    """A file that is not there, one that is no pedigree, and an animal that is not in it are refused in words."""
    for arguments, kind in (
        (("check", tmp_path / "none.csv"), "FileUnreadableError"),
        (("check", write("a,b\n1,2\n", "odd.csv")), "PedigreeTableError"),
        (("Nobody", "--pedigree", write(TABLE)), "AnimalUnknownError"),
        (("Cedar", "--library", tmp_path / "none"), "LibraryMissingError"),
    ):
        result = run(*arguments, "--json")
        assert (result.exit_code, json.loads(result.stdout)["error"]["kind"]) == (1, kind)


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Return a library of five horses, whose parents are named: Cedar's sire and dam have run themselves."""
    horses = [
        ("Alder", "IE", "horse", 2000, "Oak", "Maple"),
        ("Birch", "GB", "mare", 2001, "Oak", "Willow"),
        ("Cedar", "GB", "colt", 2010, "Alder", "Birch"),
        ("Dogwood", "GB", "gelding", 2011, "Alder", "Rowan"),
        ("Elm", "GB", "colt", 2018, "Dogwood", "Birch"),
    ]
    races = pl.DataFrame({"race_id": ["0"], "date": [date(2020, 1, 1)]})
    names = ("horse_name", "suffix", "sex", "foaled", "sire", "dam")
    runs = pl.DataFrame(
        [
            {"race_key": "here:0", "source_horse": f"here:{i}", "outcome": "finished", "position": i + 1}
            | dict(zip(names, horse, strict=True))
            for i, horse in enumerate(horses)
        ]
    )
    folder = tmp_path / "library"
    add_frames(Library.create(folder), races, runs, "here")
    return folder


def test_a_librarys_own_horses(library: Path) -> None:
    """A horse of the library is found as elsewhere; its parents are the library's horses where names, sexes and years
    fit, and animals of their own otherwise.
    """
    found = ask("here:2", "--library", library)
    assert (found["animal"], found["sire"], found["dam"]) == ("Cedar (GB)", "Alder (IE)", "Birch (GB)")
    assert [(one["animal"], one["notation"]) for one in found["duplicates"]] == [("Oak", "2x2")]
    assert found["f"] == 0.125
    assert ask("Oak", "--library", library)["progeny"] == 2
    # the library's Dogwood is a gelding, so the sire of that name is another animal
    assert ask("Elm", "--library", library)["depth"] == 2
    assert ask("Elm", "--library", library)["sire"] == "Dogwood"
    assert ask("Dogwood (GB)", "--library", library)["progeny"] == 0


def test_check_of_a_library(library: Path) -> None:
    """Without a file the library's horses are looked through."""
    found = ask("check", "--library", library)
    assert (found["rows"], found["animals"]) == (5, 10)
    assert [found["counts"][kind] for kind in ("loops", "sex_conflicts", "date_conflicts", "duplicates")] == [0] * 4


def test_horses_of_a_register(studbooks: Path) -> None:
    """A register that numbers horses and names parents answers for a number and for a name (12,945 horses)."""
    path = studbooks / "horses_hk_to2018.csv.gz"
    row = pl.read_csv(path, infer_schema_length=0).filter(pl.col("horse_id") == "L247").row(0, named=True)
    found = ask("L247", "--pedigree", path)
    assert (found["animal"], found["sire"], found["dam"]) == (row["horse_name"], row["sire"], row["dam"])
    assert found["rows"] == 12945
    assert ask(row["horse_name"].lower(), "--pedigree", path)["key"] == "l247"
