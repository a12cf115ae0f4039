from datetime import date

import pytest

import worlds
from upsides.demo import Books, Invented, books_of, simulate


@pytest.fixture(scope="session")
def invented() -> Invented:
    return worlds.world()


@pytest.fixture(scope="session")
def books(invented: Invented) -> Books:
    """Return what the invented yard has in its books."""
    return books_of(invented)


@pytest.fixture(scope="session")
def other() -> Invented:
    """Return another seed's world, raced from this year's first of March only."""
    return simulate(5, first=date(2026, 3, 1))


@pytest.fixture(scope="session")
def full() -> Invented:
    """Return the full world, raced over the same months only."""
    return simulate(5, first=date(2026, 3, 1), size="full")
