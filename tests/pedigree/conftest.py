import os
from collections.abc import Callable
from pathlib import Path

import pytest

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Return a function that writes a text or bytes as a file and returns its path."""

    def go(content: str | bytes, name: str = "pedigree.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return go


@pytest.fixture(scope="session")
def studbooks() -> Path:
    """Return the folder of shared pedigrees, skipping where it is absent."""
    folder = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "pedigree"
    if not folder.is_dir():
        pytest.skip("the shared data is not here: set UPSIDES_SHARED to its folder")
    return folder
