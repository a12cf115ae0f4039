import stat
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection

import worlds
from upsides.books.services.opening import keep_secret, open_books
from upsides.errors import BooksOpenError, LibraryMissingError


def test_secret_is_kept_and_private(tmp_path: Path) -> None:
    """The key is written once, readable by its owner only, and never changes."""
    file = tmp_path / "secret.key"
    keep_secret(file)
    first = file.read_text()
    keep_secret(file)
    assert file.read_text() == first
    assert len(first) >= 50
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_pages_use_the_kept_secret(yard: worlds.Yard) -> None:
    """Two processes of one library sign with the same key."""
    assert (yard.library / "secret.key").read_text() == settings.SECRET_KEY


def test_a_missing_library_is_refused(tmp_path: Path) -> None:
    """Opening the books where nothing stands says so and makes nothing."""
    with pytest.raises(LibraryMissingError, match="no library"):
        open_books(tmp_path / "nowhere")
    assert not list(tmp_path.iterdir())


def test_books_of_two_libraries_do_not_mix(tmp_path: Path) -> None:
    """A second library in one process is refused rather than written into the first one's books."""
    with pytest.raises(BooksOpenError):
        open_books(tmp_path)


def test_database_is_set_as_designed(yard: worlds.Yard) -> None:
    """Write-ahead log, full synchronisation and foreign keys are on."""
    with connection.cursor() as cursor:
        values = {}
        for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout"):
            cursor.execute(f"PRAGMA {name}")
            values[name] = cursor.fetchone()[0]
    # SQLite's own numbering: synchronous 2 is FULL; busy_timeout is in milliseconds.
    assert values == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 20000}


def test_migrations_match_the_models() -> None:
    """No model change is without its migration."""
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def test_django_finds_nothing_to_complain_about() -> None:
    """Django's own system check passes."""
    call_command("check", "--fail-level", "WARNING")
