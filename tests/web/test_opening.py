"""Opening the books: the key, the settings, what is refused."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

from fresh import fresh, told
from upsides.books.services.opening import keep_secret, open_books
from upsides.errors import BooksOpenError, LibraryMissingError
from upsides.results.library import Library

OPEN = "from upsides.books.services.opening import open_books as opened\nopened"


def test_secret_is_kept_and_private(tmp_path: Path) -> None:
    """The key is written once, readable by its owner only, and never changes."""
    file = tmp_path / "secret.key"
    keep_secret(file)
    first = file.read_text()
    keep_secret(file)
    assert file.read_text() == first
    assert len(first) >= 50
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_pages_use_the_kept_secret(tmp_path: Path) -> None:
    """Two processes of one library sign with the same key, the one that is kept."""
    code = (
        "import sys; from pathlib import Path; from upsides.books.services.opening import open_books as c;"
        "c(Path(sys.argv[1])); from django.conf import settings; print(settings.SECRET_KEY)"
    )
    command = [sys.executable, "-c", code, str(tmp_path)]
    env = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
    keys = [subprocess.run(command, env=env, capture_output=True, text=True, check=True).stdout for _ in "12"]
    assert keys[0] == keys[1] == (tmp_path / "secret.key").read_text() + "\n"


def test_a_missing_library_is_refused(tmp_path: Path) -> None:
    """Opening the books where nothing stands says so and makes nothing."""
    with pytest.raises(LibraryMissingError, match="no library"):
        open_books(tmp_path / "nowhere")
    assert not list(tmp_path.iterdir())


def test_books_of_two_libraries_do_not_mix(tmp_path: Path) -> None:
    """A second library in one process is refused rather than written into the first one's books."""
    with pytest.raises(BooksOpenError):
        open_books(tmp_path)


@pytest.mark.skipif("UPSIDES_DATABASE" in os.environ, reason="SQLite's own settings")
@pytest.mark.django_db
def test_database_is_set_as_designed() -> None:
    """Write-ahead log, full synchronisation and foreign keys are on."""
    with connection.cursor() as cursor:
        values = {}
        for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout"):
            cursor.execute(f"PRAGMA {name}")
            values[name] = cursor.fetchone()[0]
    # SQLite's own numbering: synchronous 2 is FULL; busy_timeout is in milliseconds.
    assert values == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 20000}


@pytest.mark.django_db
def test_migrations_match_the_models() -> None:
    """No model change is without its migration."""
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def test_django_finds_nothing_to_complain_about() -> None:
    """Django's own system check passes."""
    call_command("check", "--fail-level", "WARNING")


def test_letters_are_for_their_owner_only(tmp_path: Path) -> None:
    """The folder that letters with links are written to can be read by nobody else on the machine."""
    Library.create(tmp_path)
    with fresh(tmp_path) as env:
        told(f"from pathlib import Path\n{OPEN}(Path({str(tmp_path)!r}))\nsaid = None", env)
    assert stat.S_IMODE((tmp_path / "letters").stat().st_mode) == 0o700
