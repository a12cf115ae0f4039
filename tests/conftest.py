"""Every test run has one folder, one library and one database of its own."""

import atexit
import gc
import os
import shutil
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, time
from functools import lru_cache
from pathlib import Path
from typing import Any

import django
import pytest

FOLDER = Path(tempfile.mkdtemp(prefix="upsides-tests-")).resolve()
atexit.register(shutil.rmtree, FOLDER, ignore_errors=True)
os.environ["UPSIDES_LIBRARY"] = str(FOLDER)
os.environ["DJANGO_SETTINGS_MODULE"] = "upsides.books.settings"
django.setup()

from django.conf import settings as django_settings  # noqa: E402  (the settings must stand first)
from django.core.management import call_command  # noqa: E402  (the same)
from django.db import connection  # noqa: E402  (the same)
from django.db.migrations.recorder import MigrationRecorder  # noqa: E402  (the same)
from django.test import Client  # noqa: E402  (the same)
from django.test.client import ClientHandler  # noqa: E402  (the same)

import worlds  # noqa: E402  (the same)
from upsides.books import clock  # noqa: E402  (the same)
from upsides.books.jobs import running  # noqa: E402  (the same)
from upsides.books.jobs.running import SEAT, Seat  # noqa: E402  (the same)
from upsides.books.keeping.laying import note_changes  # noqa: E402  (the same)
from upsides.books.models import Person  # noqa: E402  (the same)
from upsides.books.queries import levels, trips  # noqa: E402  (the same)


def pytest_xdist_setupnodes() -> None:
    """Let every process of a run that is spread over several read the settings of its own folder."""
    os.environ.pop("DJANGO_SETTINGS_MODULE")


FIRST = (
    "tests/cli/test_demo.py",
    "tests/web/test_serve.py",
    "tests/web/test_access.py",
    "tests/web/test_as_of.py",
    "tests/placing/test_chance.py",
    "tests/books/test_upgrading.py",
    "tests/books/test_recordings_kept.py",
    "tests/books/test_kills.py",
    "tests/paper/test_sheets.py",
    "tests/cli/test_races_commands.py",
    "tests/books/test_bad_days.py",
    "tests/cli/test_new.py",
    "tests/books/test_jobs_workers.py",
    "tests/cli/test_cli_ratings.py",
    "tests/trip/test_selection.py",
    "tests/house/test_sizes.py",
)
"""Files that take longest, longest first."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes longest, so that no process is left alone with it in the end."""
    place = {name: number for number, name in enumerate(FIRST)}
    items.sort(key=lambda item: place.get(item.nodeid.partition("::")[0], len(place)))


def pytest_collection_finish() -> None:
    """Leave alone what was loaded when rubbish is collected, and collect it more seldom: it is much, but stays."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


QUICK = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None) -> None:
    """Keep the test database in a file, so that other threads and processes see it too; lay its tables as they are."""
    database = django_settings.DATABASES["default"]
    database["TEST"]["MIGRATE"] = False
    if "sqlite" in database["ENGINE"]:
        database["TEST"]["NAME"] = str(FOLDER / "tests.sqlite3")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> None:
    """The yard stands in the test database before the first test; every test's changes are rolled back."""
    django_settings.PASSWORD_HASHERS = QUICK
    with django_db_blocker.unblock():
        MigrationRecorder(connection).ensure_schema()
        note_changes()
        call_command("createcachetable", verbosity=0)
        worlds.people_the_yard()


@pytest.fixture
def yard() -> worlds.Yard:
    return worlds.yard()


@pytest.fixture
def at(loaded: worlds.Yard) -> datetime:
    """Half past five this morning, UTC."""
    return datetime.combine(clock.today(), time(5, 30), UTC)


@pytest.fixture
def loaded(db: None, yard: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> worlds.Yard:
    """The yard in the books, with what a fit that knew the truth would say."""
    monkeypatch.setattr(levels, "read_levels", lambda *_: yard.levels)
    return yard


@pytest.fixture
def seat(monkeypatch: pytest.MonkeyPatch) -> Iterator[Seat]:
    """A worker's place, in which this test sits; nobody beats, who would not see what this test has not committed."""
    monkeypatch.setattr(running, "BEAT_S", 600.0)
    here = Seat("here")
    token = SEAT.set(here)
    yield here
    SEAT.reset(token)


@pytest.fixture
def with_trips(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> worlds.Yard:
    """The yard in the books, with what a fit would say of its levels and trips."""
    import trip_yard  # it loads compiled code, which most tests need not

    found = trip_yard.trips_of(loaded.levels)
    monkeypatch.setattr(trips, "read_trips", lambda *_: found)
    return loaded


@lru_cache
def handler() -> ClientHandler:
    """Return what answers the browsers of a process; to load the middleware anew for each takes longer than a page."""
    return ClientHandler(enforce_csrf_checks=False)


@pytest.fixture
def client_as(db: None) -> worlds.ClientAs:
    """Return a browser in which the person with a sign-in name has signed in."""

    def signed_in(login: str) -> Client:
        browser = Client(headers={"host": "localhost"})
        browser.handler = handler()
        browser.force_login(Person.objects.get(login=login))
        return browser

    return signed_in


@pytest.fixture
def client(db: None) -> Client:
    """A browser in which nobody has signed in."""
    return Client(headers={"host": "localhost"})
