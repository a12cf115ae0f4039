from collections.abc import Iterator

import pytest

import worlds

YARD = worlds.yard()  # opens the books, so that test modules can import models

from django.test import Client  # noqa: E402  (settings must stand first)

from upsides.books.models import Horse  # noqa: E402  (the same)
from upsides.books.queries import levels  # noqa: E402  (the same)
from upsides.books.queries.results import keyed  # noqa: E402  (the same)
from upsides.books.services.string import load_string  # noqa: E402  (the same)


@pytest.fixture
def yard() -> worlds.Yard:
    return YARD


@pytest.fixture
def books() -> Iterator[None]:
    """Empty books, emptied again afterwards."""
    Horse.objects.all().delete()
    yield
    Horse.objects.all().delete()


@pytest.fixture
def loaded(books: None, yard: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> worlds.Yard:
    """The invented string in the books, with a fit."""
    load_string(keyed(yard.library, yard.world.string), yard.world.today)
    monkeypatch.setattr(levels, "read_levels", lambda _: yard.levels)
    return yard


@pytest.fixture
def client() -> Client:
    return Client(headers={"host": "localhost"})
