import os
from collections.abc import Callable
from pathlib import Path

import pytest

from upsides.results.library import Library

SHAPE = """
format = 1
source = "home"
timezone = "Europe/London"
birthday = "01-01"

[margins]
nose = 0.05
"short head" = 0.1
head = 0.2
neck = 0.3

[[table]]
name = "races"
has = ["race", "day", "metres"]

[table.race]
race_id = "race"
date = "day"
course = "course"
distance_m = { from = "metres", unit = "m" }
going = "going"
code = { value = "flat" }

[[table]]
name = "runs"
has = ["race", "horse", "place"]

[table.run]
race_id = "race"
horse_id = "number"
horse_name = "horse"
age = "age"
position = { from = "place", pattern = '^(\\\\d+)' }
dead_heat = { from = "place", pattern = '(DH)$' }
beaten_lengths = { from = "behind", unit = "written", missing = ["999"] }
carried_lb = { from = "weight", unit = "written" }
draw = "draw"
time_s = { from = "time", format = ["m.ss.cc", "ss.cc"], missing = ["999"] }

[table.run.outcome]
from = "place"
when = [{ matches = '^\\\\d', value = "finished" }]
codes = { PU = "pulled_up", WD = "withdrawn" }
"""
RACES = """race,day,course,metres,going
1,2001-05-01,Moor Top,1200,GOOD
2,2001-05-01,Moor Top,1600,GOOD
"""
RUNS = """race,number,horse,age,place,behind,weight,draw,time
1,11,Alder (IRE),3,1,-,9-7,2,1.12.00
1,12,Birch,3,2,nk,9-0,1,1.12.05
1,13,Cedar,4,3,1-1/4,8-12,3,1.12.30
2,11,Alder (IRE),3,2,2,9-7,1,1.40.10
2,14,Dogwood,5,1,-,9-0,2,1.39.70
2,12,Birch,3,PU,-,9-0,3,---
"""


@pytest.fixture
def library(tmp_path: Path) -> Library:
    """Return an empty library."""
    return Library.create(tmp_path / "library")


@pytest.fixture
def shape(tmp_path: Path) -> Path:
    """Return the path of a small shape for tables called races and runs."""
    path = tmp_path / "home.toml"
    path.write_text(SHAPE.replace("\\\\", "\\"), encoding="utf-8")
    return path


@pytest.fixture
def table(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes a text as a file and returns its path."""

    def write(text: str | bytes, name: str = "runs.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


@pytest.fixture
def pair(table: Callable[..., Path]) -> list[Path]:
    """Return a table of two races and one of their six runs."""
    return [table(RACES, "races.csv"), table(RUNS, "runs.csv")]


@pytest.fixture(scope="session")
def shared() -> Path:
    """Return the folder of shared results, skipping where it is absent."""
    folder = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "results"
    if not folder.is_dir():
        pytest.skip("the shared data is not here: set UPSIDES_SHARED to its folder")
    return folder
