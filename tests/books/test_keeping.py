"""Backups: whole, of one moment, and back again into either database."""

import json
import os
import stat
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from zipfile import ZipFile

import polars as pl
import pytest

from fresh import SMALL_BOOKS, fresh, opened, told
from upsides.books.keeping import folder as shelf
from upsides.books.keeping.backup import back_up
from upsides.books.keeping.members import BOOKS, LIBRARY, Manifest, Reader
from upsides.errors import BackupPlaceError
from upsides.ratings.fits import Fit, _write, read_fit
from upsides.results.importing import add_frames
from upsides.results.library import Library

BACK_UP = "from upsides.books.keeping import back_up\nsaid = str(back_up(Path(FROM), Path(TO)).file)"
RESTORE = (
    "from pathlib import Path\nfrom upsides.books.keeping import restore\nsaid = restore(Path(FILE), Path(TO)).files"
)
TABLES_WITHOUT_ROWS = {"account.emailconfirmation"}
DAY = date(2026, 6, 1)


def paths(code: str, **named: Path) -> str:
    lines = [f"{name} = {str(path)!r}" for name, path in named.items()]
    return "\n".join(["from pathlib import Path", *lines, code])


def one_race(library: Library, number: int) -> None:
    races = pl.DataFrame({"race_id": [f"{number}"], "date": [DAY]})
    runs = pl.DataFrame({"race_key": [f"x:{number}"] * 2, "source_horse": ["x:a", "x:b"], "date": [DAY] * 2})
    add_frames(library, races, runs, "x")


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, dict[str, str], Path]]:
    """Books with a row in every table, a library with a race, and a backup of both."""
    folder = tmp_path_factory.mktemp("small") / "library"
    one_race(Library.create(folder), 1)
    (folder / "rules.toml").write_text("# none\n", encoding="utf-8")
    (folder / "letters").mkdir()
    (folder / "letters" / "one.log").write_text("Dear owner\n", encoding="utf-8")
    file = folder.parent / "small.zip"
    with fresh(folder, ready=True) as env:
        opened(folder, env, f"{SMALL_BOOKS}\n{paths(BACK_UP, FROM=folder, TO=file)}")
        yield folder, env, file


def parts(file: Path) -> dict[str, str]:
    """Return the hash of every part."""
    with Reader(file) as backup:
        return {name: member.sha256 for name, member in backup.manifest.members.items()}


def manifest(file: Path) -> Manifest:
    with Reader(file) as backup:
        return backup.manifest


def test_a_backup_holds_every_row_of_every_table(small: tuple[Path, dict[str, str], Path]) -> None:
    """Tables and their rows are those of the database, counted by Django; who is signed in is left out."""
    folder, env, file = small
    code = (
        "from django.apps import apps\nsaid = {m._meta.label_lower: m._base_manager.count() for m in apps.get_models()}"
    )
    counted = opened(folder, env, code)
    held = {name: table.rows for name, table in manifest(file).tables.items()}
    left = {"auth.permission", "auth.group", "contenttypes.contenttype", "sessions.session", "usersessions.usersession"}
    assert held == {name: rows for name, rows in counted.items() if name not in left}
    assert {name for name, rows in held.items() if not rows} == TABLES_WITHOUT_ROWS
    with Reader(file) as backup:
        lines = {name: len(list(backup.lines(f"{BOOKS}{name}.jsonl"))) for name in held}
    assert lines == held


def test_a_backup_is_a_zip_that_other_programs_read(small: tuple[Path, dict[str, str], Path]) -> None:
    """Every part stands in the ZIP as it stands in the folder, the key too, and only its owner can read the file."""
    folder, _, file = small
    with ZipFile(file) as archive:
        assert archive.testzip() is None
        assert archive.read(f"{LIBRARY}secret.key") == (folder / "secret.key").read_bytes()
        assert archive.read(f"{LIBRARY}letters/one.log") == b"Dear owner\n"
        assert archive.getinfo(f"{LIBRARY}secret.key").external_attr >> 16 == 0o100600
        names = {name for name in archive.namelist() if name.startswith(LIBRARY)}
    assert not [name for name in names if "books.sqlite3" in name or "/static/" in name or "/." in name]
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_backup_comes_back_the_same(small: tuple[Path, dict[str, str], Path], tmp_path: Path) -> None:
    """Restored and backed up again every part is the same, byte for byte, and a shown time and a text are the same."""
    folder, env, file = small
    back, again = tmp_path / "back", tmp_path / "again.zip"
    look = "from upsides.books.models import *\nsaid = [list(m.objects.order_by('pk').values()) for m in (Entry, Job)]"
    with fresh(back) as other:
        told(paths(RESTORE, FILE=file, TO=back), other)
        before, after = opened(folder, env, look), opened(back, other, look)
        opened(back, other, paths(BACK_UP, FROM=back, TO=again))
    assert after == before
    assert parts(again) == parts(file)
    assert stat.S_IMODE((back / "secret.key").stat().st_mode) == 0o600
    assert not list(tmp_path.glob(".back*"))


@pytest.mark.skipif(not os.environ.get("UPSIDES_DATABASE"), reason="no PostgreSQL here; run it by tools/postgres.sh")
def test_a_yard_moves_between_the_databases(small: tuple[Path, dict[str, str], Path], tmp_path: Path) -> None:
    """From PostgreSQL to SQLite and back to PostgreSQL every part stays the same, byte for byte."""
    _, _, file = small
    light, heavy = tmp_path / "light", tmp_path / "heavy"
    sqlite = {name: value for name, value in os.environ.items() if not name.startswith(("UPSIDES_", "DJANGO_"))}
    told(paths(RESTORE, FILE=file, TO=light), sqlite)
    opened(light, sqlite, paths(BACK_UP, FROM=light, TO=tmp_path / "light.zip"))
    with fresh(heavy) as env:
        told(paths(RESTORE, FILE=tmp_path / "light.zip", TO=heavy), env)
        opened(heavy, env, paths(BACK_UP, FROM=heavy, TO=tmp_path / "heavy.zip"))
    assert (light / "books.sqlite3").exists()
    assert not (heavy / "books.sqlite3").exists()
    assert [manifest(tmp_path / name).database for name in ("light.zip", "heavy.zip")] == ["sqlite", "postgresql"]
    assert parts(file) == parts(tmp_path / "light.zip") == parts(tmp_path / "heavy.zip")


def test_books_that_came_back_go_on(small: tuple[Path, dict[str, str], Path], tmp_path: Path) -> None:
    """New rows get numbers that no row, not even a removed one, ever had; the diary still refuses change."""
    _, _, file = small
    back = tmp_path / "back"
    code = """
from django.db import DatabaseError, transaction
from upsides.books.models import *
def refused():
    try:
        with transaction.atomic():
            Entry.objects.update(kind="other")
    except DatabaseError:
        return True
last = max(Horse.history.values_list("id", flat=True))
new = Horse.objects.create(horse_key="x:9", name="New", foaled=2024, sex="colt", joined="2026-03-01")
said = [last, new.pk, Horse.history.filter(id=new.pk).count(), refused()]
"""
    with fresh(back) as env:
        told(paths(RESTORE, FILE=file, TO=back), env)
        last, number, rows, refused = opened(back, env, code)
    assert number == last + 1
    assert rows == 1
    assert refused


def test_a_backup_is_of_one_moment(tmp_path: Path) -> None:
    """What others commit while a backup is being made is in the books and not in the backup."""
    folder, file = tmp_path / "library", tmp_path / "one.zip"
    Library.create(folder)
    code = f"""
from threading import Thread
from upsides.books.keeping import back_up
from upsides.books.models import *
from upsides.books.services.people import add_person
from django.db import connections
written = []
def write():
    add_person("Late", [Role.RIDER])
    connections.close_all()
def progress(done, what):
    if not written and what.startswith("account"):
        written.append(what)
        late = Thread(target=write); late.start(); late.join()
Yard.objects.create(pk=1, name="Quarr Down")
add_person("Early", [Role.TRAINER], email="a@b.example")
from allauth.account.models import EmailAddress
EmailAddress.objects.create(user=Person.objects.get(), email="a@b.example")
back_up(Path({str(folder)!r}), Path({str(file)!r}), progress)
said = [len(written), Person.objects.count(), Post.objects.count(), Person.history.count()]
"""
    with fresh(folder, ready=True) as env:
        assert opened(folder, env, code) == [1, 2, 2, 2]
    tables = manifest(file).tables
    assert [tables[f"books.{name}"].rows for name in ("person", "post", "historicalperson")] == [1, 1, 1]


def test_the_library_is_that_of_its_pins_although_an_import_runs(tmp_path: Path) -> None:
    """The files named at the beginning show the library as it was, although a race was replaced and one added since."""
    library = Library.create(tmp_path / "library")
    one_race(library, 1)
    before = library.runs().collect()
    pins, files = shelf.pinned_files(library.folder)
    one_race(library, 2)
    races = pl.DataFrame({"race_id": ["1"], "date": [DAY], "course": ["Moor"]})
    add_frames(library, races, pl.DataFrame({"race_key": ["x:1"], "source_horse": ["x:c"], "date": [DAY]}), "x")
    copy = tmp_path / "copy"
    for name, path in files.items():
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        (copy / name).write_bytes(path.read_bytes())
    (copy / "library.json").write_bytes(pins)
    assert Library.open(copy).runs().collect().equals(before)
    one_race(Library.open(copy), 3)
    assert sorted(Library.open(copy).races().collect()["race_id"]) == ["1", "3"]


def test_a_fit_is_of_one_make_although_it_is_made_again(tmp_path: Path) -> None:
    """Files of a fit that were opened stay those of that fit while a new one takes its place."""

    def write(number: int) -> None:
        frame = pl.DataFrame({"number": [number]})
        _write(tmp_path, Fit(DAY, frame, frame, frame, {"format": 1, "number": number}), latest=True)

    write(1)
    (place,) = shelf.fits(tmp_path)
    with shelf.one_fit(place) as files:
        write(2)
        seen = {pl.read_parquet(file)["number"][0] for name, file in files.items() if name.endswith(".parquet")}
        assert json.load(files["manifest.json"])["number"] == 1
    assert seen == {1}
    assert read_fit(tmp_path).manifest["number"] == 2


@pytest.mark.usefixtures("loaded")
class TestPlace:
    """Where a backup goes, and what stays there."""

    def test_progress_tells_of_everything(self, yard, tmp_path: Path) -> None:
        """Progress grows from near 0 to 1, and the file is there when it is told to be done."""
        told_of: list[tuple[float, str]] = []
        made = back_up(yard.library, tmp_path, lambda done, what: told_of.append((done, what)))
        shares = [done for done, _ in told_of]
        assert shares == sorted(shares)
        assert shares[0] < 0.5
        assert told_of[-1] == (1.0, "done")
        assert made.file.parent == tmp_path
        assert made.files == sum(name.startswith(LIBRARY) for name in parts(made.file))

    def test_stopped_it_leaves_nothing(self, yard, tmp_path: Path) -> None:
        """Ctrl-C in the middle, and any error, leave neither a backup nor a part of one."""

        def stop(done: float, _what: str) -> None:
            if done > 0.3:
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            back_up(yard.library, tmp_path / "one.zip", stop)
        assert not list(tmp_path.iterdir())

    def test_older_ones_are_dropped_and_nothing_else(self, yard, tmp_path: Path) -> None:
        """With two to keep the newest older one stays; files that we did not name, and other yards' files, stay too."""
        old = [tmp_path / f"upsides-2026-01-0{day}-023000.zip" for day in (1, 2, 3)]
        other = [tmp_path / name for name in ("upsides-2026.zip", "photos.zip", "upsides-2026-01-01-023000.zip.txt")]
        for age, path in enumerate([*reversed(old), *other], start=1):
            path.write_bytes(b"x")
            os.utime(path, (time.time() - 1000 * age,) * 2)
        made = back_up(yard.library, tmp_path, keep=2, books_only=True)
        assert made.removed == old[:2]
        assert set(tmp_path.iterdir()) == {made.file, old[2], *other}

    def test_what_a_killed_one_left_is_dropped_an_hour_later(self, yard, tmp_path: Path) -> None:
        """A half-written file that nobody has touched for an hour goes; one that somebody may be writing stays."""
        dead, living = tmp_path / ".a.zip.part", tmp_path / ".b.zip.part"
        for path, age in ((dead, 3700), (living, 3500)):
            path.write_bytes(b"x")
            os.utime(path, (time.time() - age,) * 2)
        back_up(yard.library, tmp_path / "c.zip", books_only=True)
        assert {path.name for path in tmp_path.iterdir()} == {".b.zip.part", "c.zip"}

    def test_books_only_holds_no_key(self, yard, tmp_path: Path) -> None:
        """Without the library neither its files nor the key are in it, and the manifest says so."""
        made = back_up(yard.library, tmp_path / "one.zip", books_only=True)
        assert not manifest(made.file).library
        assert all(name.startswith(BOOKS) for name in parts(made.file))

    def test_where_it_cannot_go_is_said(self, yard, tmp_path: Path) -> None:
        """A folder that is not there, a file that is, and keeping beside a named file are refused in words."""
        (tmp_path / "there.zip").write_bytes(b"mine")
        for to, keep, words in (
            (tmp_path / "no" / "one.zip", None, "there is no folder"),
            (tmp_path / "there.zip", None, "there is a file of that name"),
            (tmp_path / "one.zip", 3, "name a folder"),
        ):
            with pytest.raises(BackupPlaceError, match=words):
                back_up(yard.library, to, keep=keep)
        assert (tmp_path / "there.zip").read_bytes() == b"mine"
        assert len(list(tmp_path.iterdir())) == 1

    def test_its_own_place_is_not_backed_up(self, yard) -> None:
        """Backups that lie in the library, and what is made again anyway, are not part of the next one."""
        names = set(shelf.other_files(yard.library))
        made = back_up(yard.library)
        try:
            assert made.file.parent == yard.library / "backups"
            again = back_up(yard.library, yard.library / "second.zip")
            held = {name.removeprefix(LIBRARY) for name in parts(again.file)}
            again.file.unlink()
        finally:
            made.file.unlink()
        assert names <= held
        assert not [
            name for name in held if name.startswith(("backups/", "static/")) or name in {"lock", "tests.sqlite3"}
        ]
