"""Python's collector rests while many rows are read, and runs again afterwards."""

import gc

import pytest

from upsides.books.queries.uncollected import uncollected


def test_the_collector_rests_only_meanwhile() -> None:
    """It rests inside, also within another, and runs again after the outermost, also where that failed; where it rested
    before, it rests on."""
    assert gc.isenabled()
    with uncollected():
        assert not gc.isenabled()
        with uncollected():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(KeyError), uncollected():
        raise KeyError
    assert gc.isenabled()
    gc.disable()
    try:
        with uncollected():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()
