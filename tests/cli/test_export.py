"""`upsides export` and `upsides import`: tables for people, archives, and the yard's own tables on a terminal."""

import csv
import hashlib
import json
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import openpyxl
import pytest

import worlds
from fresh import SMALL_BOOKS, fresh, opened
from upsides.books import clock
from upsides.books.export.cells import defused, plain
from upsides.books.export.tables import Sheet
from upsides.books.export.writing import csv_lines, write_xlsx
from upsides.books.keeping.members import Reader
from upsides.books.models import Entry, Horse, Intake, Person
from upsides.books.services.diary import Draft, record

NASTY = [
    "=1+1", "=HYPERLINK(\"http://example.org\",\"x\")", "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1",
    " =1+1", "=cmd|' /C calc'!A0", "-2+3+cmd|' /C calc'!A0", "＝1+1", "|calc", "%0A=1", "'=1", "=", "-", "+",
    "\"=1+1\"", "Plain Name", "O'Hara", "Étoile", "1-1", "", "x" * 40000, "\x00=1", "\ud800=1",
]  # fmt: skip
NUMBERS = [0, 1, -1, 486.5, -3.25, 1e-7, 10**12]


def sheet_of(cells: list[Any]) -> Sheet:
    return Sheet("nasty", "Nasty", ["=Heading", "Cell"], lambda: iter([["x", cell] for cell in cells]))


def test_no_text_is_computed_by_a_spreadsheet(tmp_path: Path) -> None:
    """Whatever a text begins with, a workbook holds it as text and a CSV never begins a cell with a formula's sign."""
    with (tmp_path / "nasty.xlsx").open("wb") as out:
        write_xlsx([sheet_of(NASTY)], out)
    page = openpyxl.load_workbook(tmp_path / "nasty.xlsx")["nasty"]
    kept = [(cell.value or "", cell.data_type) for row in page.iter_rows() for cell in row]
    assert "f" not in {kind for _, kind in kept}
    assert len(kept) == 2 * (len(NASTY) + 1)
    text = b"".join(csv_lines(sheet_of(NASTY))).decode()
    cells = [cell for row in csv.reader(text.splitlines(keepends=True)) for cell in row]
    for cell in [*cells, *(value for value, _ in kept)]:
        assert not cell.lstrip(" \u00a0").startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "|", "%")), cell


def test_numbers_and_plain_words_stay_what_they_are(tmp_path: Path) -> None:
    """A number is a number, negative ones too, a day is a day, and an ordinary name is written as it is."""
    day, at = date(2026, 3, 4), datetime(2026, 3, 4, 7, 30)  # noqa: DTZ001 -- as spreadsheets have it
    cells = [*NUMBERS, day, at, "Plain Name", "O'Hara", None, True]
    with (tmp_path / "plain.xlsx").open("wb") as out:
        write_xlsx([sheet_of(cells)], out)
    page = openpyxl.load_workbook(tmp_path / "plain.xlsx")["nasty"]
    kept = [row[1] for row in page.iter_rows(min_row=2, values_only=True)]
    assert kept[: len(NUMBERS)] == NUMBERS
    assert kept[len(NUMBERS) :] == [datetime(2026, 3, 4), at, "Plain Name", "O'Hara", None, "yes"]  # noqa: DTZ001
    assert [plain(cell) for cell in (-3.25, day, at, "-7", "-7x", None, False)] == [
        "-3.25", "2026-03-04", "2026-03-04 07:30", "-7", "'-7x", "", "no",
    ]  # fmt: skip
    assert defused("+44 1632 960001") == "'+44 1632 960001"


# Tables for people -------------------------------------------------------------------------------------------------


@pytest.fixture
def kept(loaded: worlds.Yard) -> Path:
    """The yard in the books, with two entries of the diary."""
    trainer, carer = Person.objects.get(login="trainer"), Person.objects.get(login="carer")
    horse, other = Horse.objects.order_by("pk")[:2]
    at = clock.now() - timedelta(days=2)
    values = {"kg": "486.5", "scale": "=cmd|' /C calc'!A0", "water": "before"}
    record(Draft(uuid4(), "mass", horse.pk, values, at), trainer)
    record(Draft(uuid4(), "condition", other.pk, {"score": "5.5"}, at), carer)
    record(Draft(uuid4(), "temperature", horse.pk, {"celsius": "38.1"}, at - timedelta(days=30)), carer)
    return loaded.library


def read_csv(file: Path) -> list[list[str]]:
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.reader(lines))


def test_tables_as_csv(ask, kept: Path, tmp_path: Path) -> None:
    """Each table is a CSV with names and units in its headings; numbers stay numbers and formulas text."""
    told = ask("export", tmp_path / "out", "--what", "horses,people", "--what", "diary", "--library", kept)
    found = {Path(file).stem: read_csv(Path(file)) for file in told["files"]}
    assert set(found) == {"horses", "people", "diary", "mass", "condition", "temperature"}
    assert told["tables"] == {name: len(rows) - 1 for name, rows in found.items()}
    assert found["mass"][0] == ["When", "Horse", "Mass (kg)", "Scale", "Water", "Tack", "Entered by"]
    assert found["mass"][1][1:] == [
        Horse.objects.order_by("pk")[0].name, "486.5", "'=cmd|' /C calc'!A0", "before water", "", "trainer one",
    ]  # fmt: skip
    assert {row[0] for row in found["horses"][1:]} == set(Horse.objects.values_list("name", flat=True))
    assert found["people"][0][:3] == ["Name", "Roles", "E-mail"]


def test_an_opinion_stays_closed_to_who_has_not_formed_one(ask, kept: Path, tmp_path: Path) -> None:
    """What another judged is told as entered, without its value, until the reader has judged the same horse."""
    ask("export", tmp_path / "one", "--what", "condition", "--library", kept)
    rows = read_csv(tmp_path / "one" / "condition.csv")
    assert [row[2] for row in rows[1:]] == [""]
    other = Horse.objects.order_by("pk")[1]
    record(Draft(uuid4(), "condition", other.pk, {"score": "6"}, clock.now()), Person.objects.get(login="trainer"))
    ask("export", tmp_path / "two", "--what", "condition", "--library", kept)
    rows = read_csv(tmp_path / "two" / "condition.csv")
    assert [row[2] for row in rows[1:]] == ["5.5", "6"]


def test_the_diary_between_two_days(ask, kept: Path, tmp_path: Path) -> None:
    """Only what happened between the days asked for is given out, both included."""
    day = (clock.now() - timedelta(days=2)).astimezone(clock.place().zone).date()
    told = ask(
        "export", tmp_path / "out", "--what", "diary", "--from", day, "--to", day, "--mark", "--library", kept
    )  # fmt: skip
    assert told["tables"] == {"diary": 2, "mass": 1, "condition": 1}
    assert (tmp_path / "out" / "diary.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_tables_as_a_workbook(run, kept: Path, tmp_path: Path) -> None:
    """A name that ends in .xlsx makes a workbook of all tables, and nothing half-written lies beside it."""
    told = run("export", tmp_path / "yard.xlsx", "--library", kept)
    assert told.exit_code == 0, told.output
    book = openpyxl.load_workbook(tmp_path / "yard.xlsx")
    assert {"horses", "people", "shares", "rations", "diary", "mass"} <= set(book.sheetnames)
    assert book["mass"]["C2"].value == 486.5
    assert book["mass"]["D2"].data_type == "s"
    assert [path.name for path in tmp_path.iterdir()] == ["yard.xlsx"]


def test_exports_are_refused_in_words(run, kept: Path, tmp_path: Path) -> None:
    """A file that is there, a table that there is none of, options that do not go together, nobody to read: refused."""
    (tmp_path / "there.xlsx").write_bytes(b"x")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "horses.csv").write_bytes(b"x")
    for arguments, words in (
        ((tmp_path / "there.xlsx",), "there is something of that name"),
        ((tmp_path / "out",), "there is a file horses.csv in it"),
        ((tmp_path / "new", "--what", "figures"), "there is no table 'figures'"),
        ((tmp_path / "new", "--by", "nobody"), "nobody of the office signs in as 'nobody'"),
        ((tmp_path / "new", "--with-results"), "belongs to --archive"),
        ((tmp_path / "new", "--archive", "--csv"), "an archive holds everything"),
        ((tmp_path / "new", "--from", "2026-05-01", "--to", "2026-04-30"), "no day lies between them"),
    ):
        told = run("export", *arguments, "--library", kept)
        assert told.exit_code != 0
        assert words in told.stderr
    assert not (tmp_path / "new").exists()
    assert (tmp_path / "there.xlsx").read_bytes() == b"x"


# The yard's own tables ----------------------------------------------------------------------------------------------


@pytest.fixture
def weights(kept: Path, tmp_path: Path) -> Path:
    """A table of which one row is fine and one is not."""
    day = clock.today() - timedelta(1)
    file = tmp_path / "weights.csv"
    name = Horse.objects.order_by("pk")[2].name
    file.write_text(f"Horse;Date;Weight (lb)\n{name};{day:%d.%m.%Y};1071,5\nNobody;{day};480\n", encoding="utf-16")
    return file


def test_a_dry_run_writes_nothing(run, kept: Path, weights: Path) -> None:
    """A look tells rows, faults and columns, ends with 1 where a row cannot be taken, and writes nothing."""
    told = run("import", weights, "--what", "masses", "--dry-run", "--json", "--library", kept)
    assert told.exit_code == 1
    value = json.loads(told.stdout)
    assert (value["import"], value["rows"], value["fine"], value["taken"], value["refused"]) == (None, 2, 1, 0, 1)
    assert value["columns"] == {"horse": "Horse", "day": "Date", "kg": "Weight (lb)"}
    assert [(one["line"], one["column"]) for one in value["wrong"]] == [(3, "Horse")]
    assert not Intake.objects.exists()


def test_rows_are_taken_on_the_terminal(run, kept: Path, weights: Path) -> None:
    """Rows that are fine are written in the trainer's name and told; all or nothing writes none where one is wrong."""
    whole = run("import", weights, "--what", "masses", "--all-or-nothing", "--library", kept)
    assert (whole.exit_code, Intake.objects.count()) == (1, 0)
    told = run("import", weights, "--what", "masses", "--library", kept)
    assert told.exit_code == 1
    assert "1 taken in. 0 were in the books already, 1 rows were left out." in told.stdout
    assert "line 3, Horse 'Nobody': the books have no horse of that name" in told.stdout
    assert Intake.objects.get().by.login == "trainer"
    assert Entry.objects.latest("pk").values == {"kg": pytest.approx(486.02, abs=0.01)}


def test_columns_are_named_on_the_terminal(run, ask, kept: Path, tmp_path: Path) -> None:
    """Columns that no heading tells are named, and what no column says is said of every row."""
    file = tmp_path / "odd.csv"
    file.write_text(f"Horse,X\n{Horse.objects.order_by('pk')[2].name},486\n", encoding="utf-8")
    refused = run("import", file, "--what", "masses", "--library", kept)
    assert refused.exit_code == 1
    assert "no column says day (day); choose the column" in refused.stderr
    day = clock.today() - timedelta(4)
    named = ("--columns", "kg=X", "--every", f"day={day}", "--by", "secretary")
    assert ask("import", file, "--what", "masses", *named, "--library", kept)["taken"] == 1
    assert Intake.objects.get().by.login == "secretary"
    for arguments, words in (
        (("--columns", "kg"), "has no sign '='"),
        (("--columns", "kg=Y"), "the table has no column 'Y'"),
        (("--columns", "girth=X"), "is called 'girth'"),
    ):
        wrong = run("import", file, "--what", "masses", *arguments, "--library", kept)
        assert wrong.exit_code != 0
        assert words in wrong.stderr
    assert run("import", file, "--library", kept).exit_code == 2


# Archives -----------------------------------------------------------------------------------------------------------


def command(env: dict[str, str], *arguments: object) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-c", "from upsides.cli.main import main; main()", *map(str, arguments)]
    return subprocess.run(line, env=env, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def archived(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Path]]:
    """The folder of books with a row in every table, and an archive of them."""
    folder = tmp_path_factory.mktemp("archived") / "yard"
    with fresh(folder, ready=True) as env:
        opened(folder, env, f"{SMALL_BOOKS}\nsaid = None")
        (folder / "photos").mkdir()
        (folder / "photos" / ("ab" * 32 + ".jpg")).write_bytes(b"\xff\xd8 a picture")
        (folder / "letters").mkdir(exist_ok=True)
        (folder / "letters" / "one.log").write_text("come in", encoding="utf-8")
        (folder / "server.pem").write_text("secret", encoding="utf-8")
        file = folder.parent / "yard.zip"
        told = command(env, "export", "--archive", file, "--library", folder, "--json")
        assert told.returncode == 0, told.stderr
        yield folder, file


def rows(file: Path) -> dict[str, tuple[int, str]]:
    """Return bytes and hash of every table."""
    with Reader(file) as read:
        return {name: (one.bytes, one.sha256) for name, one in read.manifest.members.items()}


def test_a_yard_is_rebuilt_from_its_archive(archived: tuple[Path, Path], tmp_path: Path) -> None:
    """Every table, history and superseded entries among them, and the photographs come back byte for byte."""
    _, file = archived
    back, again = tmp_path / "back", tmp_path / "again.zip"
    with fresh(back) as env:
        told = command(env, "import", "--archive", file, "--library", back, "--json")
        assert told.returncode == 0, told.stderr
        assert json.loads(told.stdout)["same"] is True
        assert command(env, "export", "--archive", again, "--library", back).returncode == 0
    assert rows(again) == rows(file)
    assert rows(file)["books/books.entry.jsonl"][0] > 0
    assert (back / "photos" / ("ab" * 32 + ".jpg")).read_bytes() == b"\xff\xd8 a picture"


@pytest.mark.skipif(not os.environ.get("UPSIDES_DATABASE"), reason="no PostgreSQL here; run it by tools/postgres.sh")
def test_an_archive_moves_between_the_databases(archived: tuple[Path, Path], tmp_path: Path) -> None:
    """What PostgreSQL wrote SQLite rebuilds the same, table by table."""
    _, file = archived
    back, again = tmp_path / "light", tmp_path / "again.zip"
    light = {name: value for name, value in os.environ.items() if not name.startswith(("UPSIDES_", "DJANGO_"))}
    assert command(light, "import", "--archive", file, "--library", back).returncode == 0
    assert command(light, "export", "--archive", again, "--library", back).returncode == 0
    assert rows(again) == rows(file)


def test_an_archive_is_read_with_nothing_of_ours(archived: tuple[Path, Path]) -> None:
    """A ZIP of JSON lines with a manifest, every row an object by its columns; no key, letter or certificate in it."""
    _, file = archived
    with zipfile.ZipFile(file) as packed:
        names = packed.namelist()
        manifest = json.loads(packed.read("manifest.json"))
        entries = [json.loads(line) for line in packed.read("books/books.entry.jsonl").splitlines()]
    assert manifest["format"] == 1
    assert manifest["tables"]["books.entry"]["rows"] == len(entries)
    assert {"kind", "values", "happened_at", "recorded_at", "supersedes_id", "withdrawn"} <= set(entries[0])
    assert any(entry["supersedes_id"] for entry in entries)
    sha256 = hashlib.sha256(b"a recording").hexdigest()
    assert [name for name in names if name.startswith("library/")] == [
        f"library/photos/{'ab' * 32}.jpg",
        f"library/recordings/{sha256[:2]}/{sha256}.gz",
    ]


def test_results_go_in_where_they_are_asked_for(kept: Path, ask, tmp_path: Path) -> None:
    """With results the library's tables are in the archive; without them no file of it is."""
    with_, without = tmp_path / "with.zip", tmp_path / "without.zip"
    ask("export", "--archive", with_, "--with-results", "--library", kept)
    ask("export", "--archive", without, "--library", kept)
    names = {file: set(zipfile.ZipFile(file).namelist()) for file in (with_, without)}
    assert "library/library.json" in names[with_]
    assert any(name.startswith("library/runs/") for name in names[with_])
    assert not [name for name in names[without] if name.startswith(("library/runs", "library/fits", "library/library"))]


@pytest.mark.parametrize("harm", ["cut", "changed", "newer", "foreign", "text"])
def test_a_harmed_archive_leaves_nothing_behind(archived: tuple[Path, Path], tmp_path: Path, harm: str) -> None:
    """An archive that is cut off, changed, newer than we are or somebody else's is refused, and no folder is made."""
    _, file = archived
    bad, back = tmp_path / "bad.zip", tmp_path / "back"
    whole = file.read_bytes()
    if harm == "cut":
        bad.write_bytes(whole[: len(whole) // 2])
    elif harm == "text":
        bad.write_text("Dear owner", encoding="utf-8")
    elif harm == "foreign":
        with zipfile.ZipFile(bad, "w") as packed:
            packed.writestr("xl/workbook.xml", "<x/>")
    else:
        rewritten(file, bad, newer=harm == "newer")
    with fresh(back) as env:
        told = command(env, "import", "--archive", bad, "--library", back)
    assert told.returncode == 1
    assert "nothing was written" in told.stderr
    assert "Traceback" not in told.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["bad.zip"]


def rewritten(file: Path, to: Path, *, newer: bool) -> None:
    """Write an archive again with a newer format, or with one letter of an entry changed."""
    with zipfile.ZipFile(file) as packed, zipfile.ZipFile(to, "w") as out:
        for name in packed.namelist():
            content = packed.read(name)
            if newer and name == "manifest.json":
                content = json.dumps(json.loads(content) | {"format": 99}).encode()
            if not newer and name == "books/books.entry.jsonl":
                content = content.replace(b"temperature", b"temperaturE", 1)
            out.writestr(name, content)


def test_an_archive_needs_an_empty_place(archived: tuple[Path, Path], tmp_path: Path) -> None:
    """A folder that holds something stays as it is, and a file that is there is not written over."""
    folder, file = archived
    full = tmp_path / "full"
    full.mkdir()
    (full / "mine.txt").write_text("mine", encoding="utf-8")
    with fresh(tmp_path / "env") as env:
        told = command(env, "import", "--archive", file, "--library", full)
    assert told.returncode == 1
    assert "it is not empty" in told.stderr
    assert [path.name for path in full.iterdir()] == ["mine.txt"]
    copy = tmp_path / "copy.zip"
    shutil.copy(file, copy)
    with fresh(tmp_path / "other") as env:
        again = command(env | {"UPSIDES_LIBRARY": str(folder)}, "export", "--archive", copy, "--library", folder)
    assert again.returncode == 1
    assert copy.read_bytes() == file.read_bytes()
