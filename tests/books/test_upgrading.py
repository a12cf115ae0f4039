"""Books of every earlier version come forward whole, with a copy taken first."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from importlib.metadata import version
from pathlib import Path

import pytest

import fresh
from upsides.results.library import Library

PLACE = Path(__file__).parent / "kept"
FIRST = PLACE / "0.1.0.sql"
"""Books that held horses only, in tables without history."""
LATER = sorted(set(PLACE.glob("*.sql")) - {FIRST})
BACKUPS = sorted(PLACE.glob("*.zip"))
OPEN = """
import json, sys
from pathlib import Path
from upsides.books.services.opening import open_books
from upsides.errors import UpsidesError
try:
    copy = open_books(Path(sys.argv[1]))
except UpsidesError as error:
    print(json.dumps({"refused": str(error)}))
    raise SystemExit
from upsides.books.models import Horse, Yard
from upsides.books.queries import moments
from datetime import UTC, datetime
day = datetime(2026, 7, 1, tzinfo=UTC)
print(json.dumps({
    "copy": str(copy) if copy else None,
    "yard": list(Yard.objects.values("name", "jurisdiction", "fixed_day", "format_version")),
    "horses": list(Horse.objects.order_by("pk").values("horse_key", "name", "foaled", "sex", "sire", "dam", "joined")),
    "then": [h.name for h in moments.rows(Horse, moments.as_of(day)).order_by("pk")],
    "before": moments.rows(Horse, moments.as_of(datetime(2026, 6, 1, tzinfo=UTC))).count(),
}, default=str))
"""
SHAPE = """
import django, json; django.setup()
from django.db import connection
shape = {}
with connection.cursor() as cursor:
    look = connection.introspection
    for table in sorted(look.table_names(cursor)):
        columns = [[one.name, str(one.type_code), one.null_ok, one.display_size, one.precision, one.scale]
                   for one in look.get_table_description(cursor, table)]
        rules = [[one["columns"], one["primary_key"], one["unique"], one["foreign_key"], one["check"], one["index"],
                  one.get("orders"), one.get("type")] for one in look.get_constraints(cursor, table).values()]
        shape[table] = [sorted(columns, key=str), sorted(rules, key=str)]
print(json.dumps(shape))
"""
"""What every table holds and refuses, whatever the order of its columns."""
OF_NO_USE = {"auth_group_permissions"}
"""Django's migrations number these rows with 8 bytes on PostgreSQL where its models say 4; the books have none."""
BEGIN_0_1_0 = """
import django; django.setup()
from django.core.management import call_command
call_command("migrate", "books", "0001", verbosity=0)
"""


def run(code: str, env: dict[str, str], *arguments: str) -> str:
    command = [sys.executable, "-c", code, *arguments]
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def shape(env: dict[str, str]) -> dict[str, object]:
    """Return what every table of the books holds and refuses."""
    found: dict[str, object] = json.loads(run(SHAPE, env | {"DJANGO_SETTINGS_MODULE": "upsides.books.settings"}))
    return found


def keep(file: Path, folder: Path, env: dict[str, str]) -> list[tuple[object, ...]]:
    """Put a kept yard's books into place and return its horses."""
    Library.create(folder)
    text = file.read_text(encoding="utf-8")
    with closing(sqlite3.connect(":memory:")) as kept:
        kept.executescript(text)
        horses = kept.execute("SELECT * FROM books_horse ORDER BY id").fetchall()
    if "UPSIDES_DATABASE" not in env:
        with closing(sqlite3.connect(folder / "books.sqlite3")) as books:
            books.executescript(text)
        return horses
    import psycopg

    run(BEGIN_0_1_0, env | {"DJANGO_SETTINGS_MODULE": "upsides.books.settings"})
    with psycopg.connect(env["UPSIDES_DATABASE"], autocommit=True) as server:
        server.cursor().executemany("INSERT INTO books_horse VALUES (%s, %s, %s, %s, %s, %s, %s, %s)", horses)
    return horses


def test_the_first_kept_yard_comes_forward(tmp_path: Path) -> None:
    """Every horse of 0.1.0's yard stands afterwards as it stood, has its history, and a copy was taken first.

    Its tables are then those that new books are laid with.
    """
    Library.create(tmp_path / "new")
    with fresh.fresh(tmp_path / "new") as env:
        run(OPEN, env, str(tmp_path / "new"))
        laid = shape(env)
    with fresh.fresh(tmp_path) as env:
        horses = keep(FIRST, tmp_path, env)
        found = json.loads(run(OPEN, env, str(tmp_path)))
        assert [tuple(horse.values()) for horse in found["horses"]] == [row[1:] for row in horses]
        assert found["then"] == [row[2] for row in horses]
        assert found["before"] == 0
        assert found["yard"][0]["format_version"] == 4
        copy = Path(found["copy"])
        again = json.loads(run(OPEN, env, str(tmp_path)))
        come = shape(env)
    assert come.keys() == laid.keys()
    assert {name: (come[name], laid[name]) for name in laid.keys() - OF_NO_USE if come[name] != laid[name]} == {}
    assert again == found | {"copy": None}
    if copy.suffix == ".sqlite3":
        with closing(sqlite3.connect(copy)) as before:
            assert before.execute("SELECT * FROM books_horse ORDER BY id").fetchall() == horses
            assert before.execute("SELECT count(*) FROM django_migrations").fetchone() == (1,)
    else:
        assert all(str(row[2]) in copy.read_text(encoding="utf-8") for row in horses)


def rows(file: Path) -> dict[str, list[dict[str, object]]]:
    """Return every row of every table of a SQLite database."""
    with closing(sqlite3.connect(file)) as books:
        books.row_factory = sqlite3.Row
        names = [row[0] for row in books.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
        return {name: [dict(row) for row in books.execute(f'SELECT * FROM "{name}" ORDER BY 1')] for name in names}  # noqa: S608


@pytest.mark.skipif("UPSIDES_DATABASE" in os.environ, reason="what was kept is SQLite's; PostgreSQL tries the backups")
@pytest.mark.parametrize("file", LATER, ids=lambda file: file.stem)
def test_kept_yards_come_forward(file: Path, tmp_path: Path) -> None:
    """Every value of every row of a kept yard stands afterwards where its table and column are; barns as boxes."""
    Library.create(tmp_path)
    place = tmp_path / "books.sqlite3"
    with closing(sqlite3.connect(place)) as books:
        books.executescript(file.read_text(encoding="utf-8"))
    before = rows(place)
    with fresh.fresh(tmp_path) as env:
        found = json.loads(run(OPEN, env, str(tmp_path)))
    after = rows(place)
    made = {"django_migrations", "django_content_type", "auth_permission", "sqlite_sequence", "django_site"}
    assert {name for name in before if name.startswith("books_")} <= after.keys()
    for name in before.keys() & after.keys() - made - {"books_yard"}:
        shared = before[name][0].keys() & after[name][0].keys() if before[name] else set()
        cut = [[{column: row[column] for column in shared} for row in table[name]] for table in (before, after)]
        assert cut[0] == cut[1], name
    boxes = {row["id"]: row["barn"] for row in after["books_box"]}
    barns = {row["id"]: row["barn"] for row in before["books_horse"] if row.get("barn")}
    assert {row["horse_id"]: boxes[row["box_id"]] for row in after["books_stand"]} == barns or "books_box" in before
    assert len(after["books_historicalstand"]) >= len(barns)
    assert (found["copy"] is None) == (len(before["django_migrations"]) == len(after["django_migrations"]))
    assert "".join(row["values"] for row in after["books_entry"]).count("38.4") == 1


@pytest.mark.parametrize("file", BACKUPS, ids=lambda file: file.stem)
def test_kept_backups_come_back(file: Path, tmp_path: Path) -> None:
    """A backup that an earlier version wrote is restored whole on either database, and all is well with it."""
    to = tmp_path / "back"
    look = """
from upsides.books.models import *
from upsides.books.keeping import check_books
bad = [one.words for one in check_books(Path(folder)) if one.subject in {"links", "history", "diary"} and not one.well]
said = [Yard.objects.get().name, Person.objects.get(login="owner").name, Entry.objects.count(),
        Horse.objects.count(), Horse.history.count(), Share.objects.get().denominator, bad]
"""
    with fresh.fresh(to) as env:
        command = [sys.executable, "-c", "from upsides.cli.main import main; main()", "restore", str(file)]
        done = subprocess.run([*command, "--library", str(to)], env=env, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        found = fresh.opened(to, env, look)
    assert found == ["Quarr Down", 'Étienne "Tip" O\'Hara', 3, 2, 5, 3, []]


def test_every_version_that_was_kept_is_tried() -> None:
    """There is a kept yard of each earlier version, and one of this."""
    assert [file.stem for file in LATER] == [file.stem for file in BACKUPS]
    assert {"0.1.0", version("upsides")} <= {file.stem for file in (FIRST, *LATER)}


def test_newer_books_are_refused(tmp_path: Path) -> None:
    """Books with a change or a format that this program does not know are refused in words and left alone."""
    unknown = "INSERT INTO django_migrations (app, name, applied) VALUES ('books', '0999_later', '2027-01-01')"
    columns = "id, name, zone, jurisdiction, format_version, clock_from_entry, feed_times, fast_most"
    newer = f"INSERT INTO books_yard ({columns}) VALUES "  # noqa: S608 -- our own words
    for change in (unknown, newer + "(1, 'The yard', 'UTC', 'GB', 99, 0, '[]', '[]')"):
        folder = tmp_path / str(len(change))
        Library.create(folder)
        with fresh.fresh(folder) as env:
            run(OPEN, env, str(folder))
            run(
                f"import django; django.setup()\nfrom django.db import connection\n"
                f"connection.cursor().execute({change!r})",
                env | {"DJANGO_SETTINGS_MODULE": "upsides.books.settings"},
            )
            refused = json.loads(run(OPEN, env, str(folder)))["refused"]
        assert "a newer Upsides wrote these books" in refused
        assert "nothing was changed" in refused
        assert not list(folder.glob("books-before-upgrade-*"))


def test_no_copy_no_upgrade(tmp_path: Path) -> None:
    """Where no copy can be written nothing is changed, and the words say why."""
    if "UPSIDES_DATABASE" in os.environ:
        pytest.skip("the copy of PostgreSQL books is pg_dump's; its absence is what is tried here on SQLite")
    keep(FIRST, tmp_path, {})
    blocked = OPEN.replace(
        "import json, sys",
        "import json, sys, sqlite3\n"
        "import upsides.results.library\n"
        "from pathlib import Path as P\n"
        "real = sqlite3.connect\n"
        "def connect(place, *a, **k):\n"
        "    if str(place).endswith('.part'): raise OSError(28, 'No space left on device')\n"
        "    return real(place, *a, **k)\n"
        "sqlite3.connect = connect",
    )
    with fresh.fresh(tmp_path) as env:
        refused = json.loads(run(blocked, env, str(tmp_path)))["refused"]
    assert "No space left on device" in refused
    with closing(sqlite3.connect(tmp_path / "books.sqlite3")) as books:
        assert books.execute("SELECT count(*) FROM django_migrations").fetchone() == (1,)
