import os
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from upsides.demo import simulate
from upsides.results import importing
from upsides.results.library import Library

Results = tuple[pl.DataFrame, pl.DataFrame]


@pytest.fixture(scope="session")
def invented() -> Results:
    """Return races and runs of a year of the invented country, the runs with horse keys."""
    world = simulate(first=date(2025, 3, 1))
    return world.races, world.runs.with_columns(horse_key="source_horse")


@pytest.fixture(scope="session")
def hk1997(tmp_path_factory: pytest.TempPathFactory) -> Results:
    """Return races and runs of the shared table of that name, skipping where it is absent."""
    shared = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "results"
    if not shared.is_dir():
        pytest.skip("the shared data is not here: set UPSIDES_SHARED to its folder")
    library = Library.create(tmp_path_factory.mktemp("hk1997"))
    importing.add(library, [shared / "hk1997_races.csv.gz", shared / "hk1997_runs.csv.gz"], "hk1997")
    return library.races().collect(), library.runs().collect()
