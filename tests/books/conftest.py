"""What tests of the books share: the trainer, some horses, a table, a folder for files, a yard in a given week."""

from datetime import timedelta
from pathlib import Path

import pytest

import worlds
from given_tables import Give, giver
from staff_week import MONDAY
from upsides.books.models import Horse, Person, Yard


@pytest.fixture
def trainer(loaded: worlds.Yard) -> Person:
    """The yard's trainer."""
    return Person.objects.get(login="trainer")


@pytest.fixture
def names(loaded: worlds.Yard) -> list[str]:
    """The names of the yard's first six horses."""
    return list(Horse.objects.order_by("pk").values_list("name", flat=True)[:6])


@pytest.fixture
def give(loaded: worlds.Yard) -> Give:
    """A function that gives a table, as text or as bytes, and opens it."""
    return giver(loaded.library)


@pytest.fixture
def in_britain(db: None) -> None:
    """The yard stands in Britain, on the Wednesday of the week in which the clocks go forward."""
    Yard.objects.update(jurisdiction="GB", fixed_day=MONDAY + timedelta(days=2))


@pytest.fixture
def folder(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A library's folder for the files of one test."""
    from django.conf import settings

    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return tmp_path
