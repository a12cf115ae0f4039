"""Settings and shared data for the tests of the trade's values."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


@pytest.fixture(scope="session")
def shared_results() -> Path:
    """Return the folder of real results, or skip where it is absent."""
    root = os.environ.get("UPSIDES_SHARED")
    beside = Path(__file__).parents[2].parent / "shared" / "data"
    folder = (Path(root) if root else beside) / "results"
    if not folder.is_dir():
        pytest.skip("the shared data is not here: set UPSIDES_SHARED to its folder")
    return folder
