"""Days on which the machine is in the way: each tried for real, each told in words, and nothing lost."""

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from fresh import fresh, opened, told
from upsides.books.troubles import in_words
from upsides.errors import BooksDamagedError, NoRoomError, ReadOnlyError, UpsidesError
from upsides.results.library import Library

BEGIN = """
from datetime import date
from upsides.books.models import Horse, Role, Yard
from upsides.books.services.people import add_person
Yard.objects.create(pk=1, name="Quarr Down", zone="Europe/London")
add_person("Trainer", [Role.TRAINER], login="trainer")
Horse.objects.create(horse_key="x:1", name="Early", foaled=2022, sex="filly", joined=date(2026, 1, 1))
"""
CONNECT = """
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4
from upsides.books.services.opening import connect_books
connect_books(Path(FOLDER))
from django.conf import settings
if "sqlite" in settings.DATABASES["default"]["ENGINE"]:
    settings.DATABASES["default"]["OPTIONS"]["timeout"] = 0.2
from upsides.books.models import Entry, Horse, Person, Yard
from upsides.books.services.diary import Draft, record
from upsides.books.troubles import in_words

def enter(size=0):
    at = datetime(2026, 2, 1, 5, 30, tzinfo=UTC)
    words = {"text": "w" * size} if size else {}
    kind = "note" if size else "looked_at"
    return record(Draft(uuid4(), kind, Horse.objects.get().pk, words, at), Person.objects.get(login="trainer"))

def tried(act):
    try:
        act()
    except Exception as error:
        words = in_words(error)
        if words is None:
            raise
        return [type(words).__name__, str(words)]
    return ["done", ""]
"""
ON_SQLITE = pytest.mark.skipif(
    bool(os.environ.get("UPSIDES_DATABASE")), reason="the books are PostgreSQL's, not a file in the folder"
)


def at(folder: Path, code: str, env: dict[str, str]) -> Any:
    """Run lines in a process that has connected to the books in `folder`, and return what they assigned to `said`."""
    return told(f"FOLDER = {str(folder)!r}\n{CONNECT}\n{code}", env)


def command(env: dict[str, str], *arguments: object) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-c", "from upsides.cli.main import main; main()", *map(str, arguments)]
    return subprocess.run(line, env=env, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Small books in SQLite, to be copied."""
    folder = tmp_path_factory.mktemp("books") / "library"
    Library.create(folder)
    with fresh(folder, ready=True) as env:
        env.pop("UPSIDES_DATABASE", None)
        opened(folder, env, BEGIN)
    return folder


@contextmanager
def small_disk(place: Path, size: str = "8m") -> Iterator[Path]:
    """Give a small disk of its own, mounted in `place`."""
    place.mkdir()
    try:
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", place], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("a small disk can only be mounted by root, with a tmpfs")
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", place], check=True)


def fill(disk: Path) -> Path:
    """Write until the disk is full."""
    ballast = disk / "ballast"
    with suppress(OSError), ballast.open("wb", buffering=0) as out:
        while True:
            out.write(bytes(4096))
    assert shutil.disk_usage(disk).free == 0
    return ballast


def own(books: Path, place: Path) -> tuple[Path, dict[str, str]]:
    """Return a copy of the books, and the environment of processes that open it."""
    folder = Path(shutil.copytree(books, place / "library"))
    env = {
        name: value for name, value in os.environ.items() if name not in {"UPSIDES_DATABASE", "DJANGO_SETTINGS_MODULE"}
    }
    return folder, env | {"UPSIDES_LIBRARY": str(folder)}


@ON_SQLITE
def test_the_disk_is_full(books: Path, tmp_path: Path) -> None:
    """What does not fit is refused in words and leaves no trace; all before it stands, and with room it goes on."""
    with small_disk(tmp_path / "disk") as disk:
        folder, env = own(books, disk)
        before = at(folder, "enter()\nsaid = Entry.objects.count()", env)
        ballast = fill(disk)
        many = "[tried(enter) for _ in range(300)]"
        kinds = at(folder, f"said = {many}", env)
        refused = [words for words in kinds if words[0] != "done"]
        assert refused
        assert {kind for kind, _ in refused} == {"NoRoomError"}
        assert refused[0][1].startswith("the disk is full, so nothing was written")
        backup = command(env, "backup", "--library", folder)
        assert backup.returncode == 1
        assert "room" in backup.stderr
        assert not list(folder.glob("backups/*"))
        ballast.unlink()
        whole = "from upsides.books.keeping import check_books\nenter()\n"
        count = "said = [Entry.objects.count(), [one.words for one in check_books(Path(FOLDER)) if not one.well]]"
        stands, wrong = at(folder, whole + count, env)
        assert stands == before + (len(kinds) - len(refused)) + 1
        assert [words for words in wrong if "free" not in words and "backup" not in words] == []


@ON_SQLITE
def test_the_folder_is_read_only(books: Path, tmp_path: Path) -> None:
    """A write, and a backup, are refused in words; when the disk can be written to again all goes on."""
    with small_disk(tmp_path / "disk") as disk:
        folder, env = own(books, disk)
        at(folder, "enter()\nsaid = 1", env)
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
        kind, words = at(folder, "said = tried(enter)", env)
        assert kind == "ReadOnlyError"
        assert "cannot be written to, so nothing was" in words
        backup = command(env, "backup", "--library", folder)
        assert backup.returncode == 1
        assert "Traceback" not in backup.stderr
        subprocess.run(["mount", "-o", "remount,rw", disk], check=True)
        assert at(folder, "said = [tried(enter)[0], Entry.objects.count()]", env) == ["done", 2]


@ON_SQLITE
def test_somebody_else_is_writing(books: Path, tmp_path: Path) -> None:
    """Beyond the time that we wait a write is refused in words, reads go on, and the next write after it goes in."""
    folder, env = own(books, tmp_path)
    with closing(sqlite3.connect(folder / "books.sqlite3", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        kind, words, read = at(folder, "said = [*tried(enter), Horse.objects.count()]", env)
        other.execute("ROLLBACK")
    assert (kind, read) == ("BooksBusyError", 1)
    assert "being written by something else" in words
    assert at(folder, "said = [tried(enter)[0], Entry.objects.count()]", env) == ["done", 1]


@pytest.mark.skipif(not os.environ.get("UPSIDES_DATABASE"), reason="no PostgreSQL here; run it by tools/postgres.sh")
def test_postgresql_in_the_way(tmp_path: Path) -> None:
    """A lock that another holds too long, a database that only reads and one that does not answer are told in words."""
    folder = tmp_path / "library"
    Library.create(folder)
    code = """
from django.db import connection
import psycopg, os
def held():
    with connection.cursor() as cursor:
        cursor.execute("SHOW lock_timeout")
        assert cursor.fetchone() == ("20s",)
        cursor.execute("SET lock_timeout = '200ms'")
    enter()
with psycopg.connect(os.environ["UPSIDES_DATABASE"]) as other:
    other.execute("LOCK TABLE books_entry IN ACCESS EXCLUSIVE MODE")
    said = [tried(held)[0]]
with connection.cursor() as cursor:
    cursor.execute("SET default_transaction_read_only = on")
said.append(tried(enter)[0])
connection.close()
said.append(tried(enter)[0])
connection.close()
connection.settings_dict["HOST"] = "/nowhere"
said.append(tried(enter)[0])
"""
    with fresh(folder, ready=True) as env:
        opened(folder, env, BEGIN)
        assert at(folder, code, env) == ["BooksBusyError", "ReadOnlyError", "done", "BooksUnreachableError"]


@ON_SQLITE
def test_the_books_were_overwritten(books: Path, tmp_path: Path) -> None:
    """Garbage in place of the books, or in the middle of them, is told by a write and by check, and left as it is."""
    for name, harm in (
        ("whole", lambda old: b"garbage " * 1000),
        ("part", lambda old: old[:8192] + b"x" * 16384 + old[24576:]),
    ):
        folder, env = own(books, tmp_path / name)
        file = folder / "books.sqlite3"
        file.write_bytes(harm(file.read_bytes()))
        before = file.read_bytes()
        check = command(env, "check", "--library", folder)
        assert check.returncode == 1
        assert "NOT WELL" in check.stdout
        assert "upsides restore" in check.stdout
        assert "Traceback" not in check.stderr
        assert file.read_bytes() == before
    folder, env = tmp_path / "whole" / "library", env | {"UPSIDES_LIBRARY": str(tmp_path / "whole" / "library")}
    kind, words = at(folder, "said = tried(enter)", env)
    assert kind == "BooksDamagedError"
    assert "bring the last backup back" in words


@ON_SQLITE
def test_books_of_a_newer_program(books: Path, tmp_path: Path) -> None:
    """A newer format is refused by whatever opens the books, told by check, and left as it is."""
    folder, env = own(books, tmp_path)
    with closing(sqlite3.connect(folder / "books.sqlite3")) as other, other:
        other.execute("UPDATE books_yard SET format_version = 99")
    code = "from upsides.books.services.upgrading import upgrade\nsaid = tried(upgrade)"
    kind, words = at(folder, code, env)
    assert kind == "BooksNewerError"
    assert "format is 99" in words
    check = command(env, "check", "--library", folder)
    assert check.returncode == 1
    assert "The books have format 99" in check.stdout
    assert at(folder, "said = Yard.objects.get().format_version", env) == 99


@ON_SQLITE
def test_the_key_is_gone(books: Path, tmp_path: Path) -> None:
    """Without the key check says what follows; the books open all the same, with a new key."""
    folder, env = own(books, tmp_path)
    old = (folder / "secret.key").read_text()
    (folder / "secret.key").unlink()
    check = command(env, "check", "--library", folder)
    assert check.returncode == 1
    assert "everybody has to sign in again" in check.stdout
    opened = "from upsides.books.services.opening import open_books\nopen_books(Path(FOLDER))\n"
    assert at(folder, f"{opened}said = tried(enter)[0]", env) == "done"
    assert (folder / "secret.key").read_text() != old


PAGES = """
from django.test import Client
browser = Client(headers={"host": "localhost"}, raise_request_exception=False)
def page(path="/account/login/"):
    answer = browser.get(path)
    return [answer.status_code, answer.content.decode(), answer.headers.get("Retry-After")]
"""


@ON_SQLITE
def test_pages_say_it_too(books: Path, tmp_path: Path) -> None:
    """A page that cannot be made because of the database says so calmly, with the status of a passing trouble."""
    folder, env = own(books, tmp_path)
    signing_in = """
browser.force_login(Person.objects.get(login="trainer"))
import sqlite3
other = sqlite3.connect(settings.DATABASES["default"]["NAME"], isolation_level=None)
other.execute("BEGIN IMMEDIATE")
answer = browser.post("/account/logout/")
said = [answer.status_code, answer.content.decode(), answer.headers.get("Retry-After")]
other.execute("ROLLBACK")
said += [browser.post("/account/logout/").status_code]
"""
    status, text, again, later = at(folder, PAGES + signing_in, env)
    assert (status, again) == (503, "30")
    assert "That could not be done now" in text
    assert "being written by something else" in text
    assert later == 302
    (folder / "books.sqlite3").write_bytes(b"garbage " * 1000)
    status, text, _ = at(folder, PAGES + "\nsaid = page('/')", env)
    assert status in {302, 503}
    browser = "browser.cookies['sessionid'] = 'a' * 32\n"
    status, text, _ = at(folder, PAGES + browser + "\nsaid = page('/')", env)
    assert status == 503
    assert "The books cannot be read" in text
    assert "Traceback" not in text


def test_only_the_machine_is_put_into_words() -> None:
    """Errors of the disk and the database have words, also behind one that was raised for them; mistakes have none."""
    assert isinstance(in_words(OSError(errno.ENOSPC, "x")), NoRoomError)
    assert isinstance(in_words(PermissionError(errno.EACCES, "x")), ReadOnlyError)
    behind = RuntimeError("x")
    behind.__cause__ = OSError(errno.EROFS, "x")
    assert isinstance(in_words(behind), ReadOnlyError)
    damaged = sqlite3.DatabaseError("file is not a database")
    damaged.sqlite_errorcode = sqlite3.SQLITE_NOTADB
    assert isinstance(in_words(damaged), BooksDamagedError)
    refused = UpsidesError("no")
    assert in_words(refused) is refused
    for mistake in (
        KeyError("x"),
        FileNotFoundError(errno.ENOENT, "x"),
        sqlite3.IntegrityError("UNIQUE"),
        ValueError(),
    ):
        assert in_words(mistake) is None
