import pytest

from upsides.demo import Invented, simulate


@pytest.fixture(scope="session")
def invented() -> Invented:
    return simulate()
