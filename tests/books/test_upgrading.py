"""Books of every earlier version come forward whole, with a copy taken first."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

import fresh
from upsides.results.library import Library

KEPT = sorted((Path(__file__).parent / "kept").glob("*.sql"))
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


@pytest.mark.parametrize("file", KEPT, ids=lambda file: file.stem)
def test_kept_yards_come_forward(file: Path, tmp_path: Path) -> None:
    """Every horse of a kept yard stands afterwards as it stood, has its history, and a copy was taken first."""
    with fresh.fresh(tmp_path) as env:
        horses = keep(file, tmp_path, env)
        found = json.loads(run(OPEN, env, str(tmp_path)))
        assert [tuple(horse.values()) for horse in found["horses"]] == [row[1:] for row in horses]
        assert found["then"] == [row[2] for row in horses]
        assert found["before"] == 0
        assert found["yard"][0]["format_version"] == 2
        copy = Path(found["copy"])
        again = json.loads(run(OPEN, env, str(tmp_path)))
    assert again == found | {"copy": None}
    if copy.suffix == ".sqlite3":
        with closing(sqlite3.connect(copy)) as before:
            assert before.execute("SELECT * FROM books_horse ORDER BY id").fetchall() == horses
            assert before.execute("SELECT count(*) FROM django_migrations").fetchone() == (1,)
    else:
        assert all(str(row[2]) in copy.read_text(encoding="utf-8") for row in horses)


def test_every_version_that_was_kept_is_tried() -> None:
    """There is at least one kept yard, that of 0.1.0."""
    assert "0.1.0" in [file.stem for file in KEPT]


def test_newer_books_are_refused(tmp_path: Path) -> None:
    """Books with a change or a format that this program does not know are refused in words and left alone."""
    unknown = "INSERT INTO django_migrations (app, name, applied) VALUES ('books', '0999_later', '2027-01-01')"
    newer = "INSERT INTO books_yard (id, name, zone, jurisdiction, format_version, clock_from_entry) VALUES "
    for change in (unknown, newer + "(1, 'The yard', 'UTC', 'GB', 99, 0)"):
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
    keep(KEPT[0], tmp_path, {})
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
