"""What `check` says: well when all is well, and each thing that is not."""

import json
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from uuid import UUID

import polars as pl
import pytest
from django.db import connection

from fresh import SMALL_BOOKS, fresh, opened
from upsides.books import clock
from upsides.books.keeping import check_files, check_rows
from upsides.books.keeping.check import accept_clock, check_books
from upsides.books.keeping.check_database import of_database, of_numbers
from upsides.books.keeping.findings import Finding
from upsides.books.models import Entry, Horse, Job, Person, Yard
from upsides.books.services.diary import Draft, correct, record
from upsides.books.services.opening import keep_secret
from upsides.errors import ClockWentBackError
from upsides.ratings.fits import Fit, _write
from upsides.results.importing import add_frames
from upsides.results.library import Library

AT = datetime(2026, 6, 1, 5, 30, tzinfo=UTC)
SUBJECTS = {
    "key",
    "database",
    "links",
    "changes",
    "format",
    "rows",
    "numbers",
    "diary",
    "order",
    "clock",
    "history",
    "library",
    "photos",
    "recordings",
    "fits",
    "room",
    "backup",
}
sqlite_only = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="PostgreSQL lets no such row in")


def wrong(found: Iterator[Finding]) -> dict[str, str]:
    return {one.subject: one.words for one in found if not one.well}


def entry(number: int, author: Person, **values: object) -> Entry:
    """Return an entry written past the service, as a mistake of a program would."""
    fields = {"kind": "looked_at", "author": author, "happened_at": AT, "made_at": AT, "recorded_at": AT} | values
    return Entry.objects.create(client_id=UUID(int=number), **fields)


@pytest.fixture
def real_clock(loaded) -> None:
    """The yard is a real one: its clock runs."""
    yard = Yard.objects.get()
    yard.fixed_day = None
    yard.save()


def test_all_is_well(yard, loaded, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the invented yard everything is looked at and everything is well, each said in a sentence."""
    monkeypatch.setattr(check_files, "LITTLE_ROOM", 1)
    keep_secret(yard.library / "secret.key")
    told: list[float] = []
    found = check_books(yard.library, lambda done, _: told.append(done))
    assert wrong(iter(found)) == {}
    assert {one.subject for one in found} == SUBJECTS
    assert all((one.words.endswith((".", ".zip.")) and one.words[0].isupper()) or "/" in one.words for one in found)
    assert told == sorted(told)
    assert told[-1] == 1.0


@sqlite_only
def test_rows_that_break_a_rule_are_counted(loaded) -> None:
    """A value outside a constraint, a text too long and a word not offered are named, for SQLite lets them in."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        cursor.execute("UPDATE books_horse SET foaled = 1066 WHERE id IN (SELECT id FROM books_horse LIMIT 2)")
        cursor.execute("PRAGMA ignore_check_constraints = OFF")
        cursor.execute("UPDATE books_person SET phone = %s WHERE login = 'vet'", ["0" * 41])
        cursor.execute("UPDATE books_historicalpost SET role = 'jester' WHERE history_id = 1")
    words = wrong(check_rows.of_constraints())["rows"]
    assert "2 rows of books_horse break horse_foaled_in_our_time" in words
    assert "1 rows of books_person hold a phone longer than 40" in words
    assert "1 rows of books_historicalpost hold a role that is not offered" in words


def test_missing_values_break_no_rule(loaded) -> None:
    """Where a constraint allows nothing to be there, as the database does, a missing value is no finding."""
    assert Horse.objects.filter(left=None).exists()
    assert wrong(check_rows.of_constraints()) == {}


def test_a_circle_of_corrections_is_found(trainer: Person) -> None:
    """Two entries that correct each other are named; a chain of corrections is well."""
    first = entry(1, trainer)
    second = entry(2, trainer, supersedes=first)
    entry(3, trainer, supersedes=second)
    assert wrong(check_rows.of_diary()) == {}
    assert check_rows._circles({1: 2, 2: 3, 3: 1, 4: 1}) == [1]
    assert check_rows._circles({1: 1}) == [1]
    assert check_rows._circles({4: 3, 3: 2, 2: 1, 6: 3}) == []


def test_time_that_went_back_is_found_and_accepted(trainer: Person, yard) -> None:
    """An entry recorded before one of a lower number is named, until the clock is accepted up to it."""
    late = entry(1, trainer, recorded_at=AT + timedelta(days=1))
    early = entry(2, trainer)
    words = wrong(check_rows.of_diary())["order"]
    assert f"entry {early.pk} was recorded at 2026-06-01 05:30 UTC, after one of 2026-06-02 05:30 UTC" in words
    assert "--accept-clock" in words
    assert accept_clock(yard.library) == early.pk > late.pk
    assert wrong(check_rows.of_diary()) == {}


def test_a_clock_set_back_is_said_and_can_be_accepted(
    trainer: Person, yard, real_clock: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After an entry of tomorrow nothing can be recorded, which check says; accepted, the diary goes on in order."""
    monkeypatch.setattr(clock, "now", lambda: AT)
    entry(1, trainer, recorded_at=AT + timedelta(days=1))
    horse = Horse.objects.earliest("pk").pk
    draft = Draft(UUID(int=2), "looked_at", horse, {}, AT)
    with pytest.raises(ClockWentBackError):
        record(draft, trainer)
    assert "2026-06-02 05:30 UTC, so nothing can be entered" in wrong(check_rows.of_clock())["clock"]
    history = Yard.history.count()
    accept_clock(yard.library)
    record(draft, trainer)
    assert wrong(check_rows.of_clock()) == wrong(check_rows.of_diary()) == {}
    assert Yard.history.count() == history + 1
    accept_clock(yard.library)
    accept_clock(yard.library)
    assert Yard.history.count() == history + 2


def test_history_that_disagrees_is_found(loaded) -> None:
    """A row changed, added or removed past its history is named; what the program brings up itself is not."""
    changed, added, removed = Horse.objects.order_by("pk")[:3]
    Yard.objects.update(format_version=1)
    assert wrong(check_rows.of_history()) == {}
    Horse.objects.filter(pk=changed.pk).update(colour="Elsewhere")
    Horse.history.filter(id=added.pk).delete()
    Horse.objects.filter(pk=removed.pk).delete()
    Horse.history.filter(id=removed.pk, history_type="-").delete()
    words = wrong(check_rows.of_history())["history"]
    assert f"books_horse row {changed.pk} is not as its history says" in words
    assert f"books_horse row {added.pk} has no history" in words
    assert f"books_horse row {removed.pk} went without a word in its history" in words


def test_a_number_that_is_taken_is_found(loaded) -> None:
    """A table whose next number is taken already, as after rows were put in past the database's counting, is named."""
    assert wrong(of_numbers()) == {}
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("UPDATE sqlite_sequence SET seq = 1 WHERE name = 'books_horse'")
        else:
            cursor.execute("SELECT setval(pg_get_serial_sequence('books_horse', 'id'), 1)")
    assert "the next row of books_horse would get a number that is taken" in wrong(of_numbers())["numbers"]
    with connection.cursor() as cursor:  # PostgreSQL does not roll this back
        highest = Horse.objects.latest("pk").pk
        if connection.vendor == "postgresql":
            cursor.execute("SELECT setval(pg_get_serial_sequence('books_horse', 'id'), %s)", [highest])


@sqlite_only
def test_a_row_that_names_nothing_is_found(tmp_path: Path) -> None:
    """A row that names another which is not there is told with both tables."""
    folder = tmp_path / "library"
    folder.mkdir()
    code = """
from django.db import connection
with connection.cursor() as cursor:
    cursor.execute("PRAGMA foreign_keys = OFF")
    cursor.execute("UPDATE books_share SET owner_id = 4711")
from upsides.books.keeping import check_books
said = [one.words for one in check_books(Path(folder)) if one.subject == "links" and not one.well]
"""
    with fresh(folder, ready=True) as env:
        (words,) = opened(folder, env, f"{SMALL_BOOKS}\n{code}")
    assert "books_share row 1 names a row of books_person that is not there" in words


def test_every_link_is_looked_at(loaded) -> None:
    """The database and every link of the invented yard are whole, on either database."""
    assert [one.well for one in of_database()] == [True, True]


def test_a_key_that_others_can_read_is_told(tmp_path: Path) -> None:
    """No key, and one that others on the machine can read, are told with what to do; one for its owner is well."""
    key = tmp_path / "secret.key"
    assert "was not there" in wrong(check_files.of_key(tmp_path))["key"]
    key.write_text("k")
    for mode, well in ((0o644, False), (0o640, False), (0o604, False), (0o600, True), (0o400, True)):
        key.chmod(mode)
        assert [one.well for one in check_files.of_key(tmp_path)] == [well]
    key.chmod(0o644)
    assert f"chmod 600 {key}" in wrong(check_files.of_key(tmp_path))["key"]


def test_results_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    """A data file that is gone, and one that is damaged, are told by table; nothing else is."""
    whole = Library.create(tmp_path / "whole")
    assert wrong(check_files.of_library(tmp_path)) == {}
    races = pl.DataFrame({"race_id": ["1"], "date": [AT.date()]})
    add_frames(whole, races, pl.DataFrame({"race_key": ["x:1"], "source_horse": ["x:a"], "date": [AT.date()]}), "x")
    assert next(check_files.of_library(whole.folder)).words.startswith("The published results can be read: 3 rows in")
    for name, harm in (("gone", Path.unlink), ("cut", lambda path: path.write_bytes(path.read_bytes()[:99]))):
        folder = Path(shutil.copytree(whole.folder, tmp_path / name))
        (file,) = folder.glob("runs/source=x/year=2026/*.parquet")
        harm(file)
        words = wrong(check_files.of_library(folder))["library"]
        assert "runs" in words
        assert "races" not in words
    (tmp_path / "cut" / "library.json").write_text("{")
    with pytest.raises(Exception, match=r"library\.json there cannot be read"):
        list(check_files.of_library(tmp_path / "cut"))


def test_fits_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    """A fit with a damaged part, and a note that names a fit which is not there, are told."""
    frame = pl.DataFrame({"number": [1]})
    _write(tmp_path, Fit(AT.date(), frame, frame, frame, {"format": 1}), latest=True)
    assert wrong(check_files.of_fits(tmp_path)) == {}
    (tmp_path / "fits" / "2026-06-01" / "levels.parquet").write_bytes(b"PAR1")
    (tmp_path / "fits" / "latest.json").write_text(json.dumps({"as_of": "2026-06-02"}))
    words = wrong(check_files.of_fits(tmp_path))["fits"]
    assert "the fit 2026-06-01 cannot be read" in words
    assert "names a fit that is not there: 2026-06-02" in words
    (tmp_path / "fits" / "latest.json").write_text("?")
    assert "latest.json cannot be read" in wrong(check_files.of_fits(tmp_path))["fits"]


def test_a_disk_that_is_nearly_full_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Below a gibibyte the room is said not to be enough."""
    for free, well in ((1 << 30, True), ((1 << 30) - 1, False)):
        monkeypatch.setattr(shutil, "disk_usage", lambda _, free=free: SimpleNamespace(free=free))
        assert [one.well for one in check_files.of_room(tmp_path)] == [well]


def test_a_yard_without_backups_is_told(real_clock: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No backup, and one of more than two days ago, are not well; a younger one is, with its day and place."""
    monkeypatch.setattr(clock, "now", lambda: AT)
    assert "No backup was made yet" in wrong(check_files.of_backup(tmp_path))["backup"]
    note = tmp_path / "last-backup.json"
    for age, well in ((timedelta(days=2), True), (timedelta(days=2, seconds=1), False)):
        note.write_text(json.dumps({"made_at": (AT - age).isoformat(), "file": "/b/one.zip"}))
        (found,) = check_files.of_backup(tmp_path)
        assert found.well == well
        assert "on 2026-05-30 at 05:" in found.words
        assert "/b/one.zip" in found.words


def test_an_invented_yard_needs_no_backup(loaded, tmp_path: Path) -> None:
    """An invented yard without a backup is well: it can be invented again."""
    assert wrong(check_files.of_backup(tmp_path)) == {}


def test_corrected_and_asked_for_rows_are_well(trainer: Person) -> None:
    """What the services write keeps to every rule: entries, corrections, changes of horses, jobs."""
    horse = Horse.objects.earliest("pk")
    old = record(Draft(UUID(int=1), "temperature", horse.pk, {"celsius": "38.2"}, AT), trainer)
    correct(old, {"celsius": "38.4"}, trainer, client_id=UUID(int=2), made_at=AT)
    horse.barn = "Elsewhere"
    horse.save()
    Job.objects.create(kind="fit", asked_at=AT)
    looks: tuple[Callable[[], Iterator[Finding]], ...] = (
        check_rows.of_constraints,
        check_rows.of_diary,
        check_rows.of_history,
        of_numbers,
    )
    assert [words for look in looks for words in wrong(look()).values()] == []
