import json
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from upsides.cli.main import main
from upsides.demo import Invented, rulebook, simulate
from upsides.results.importing import add_frames
from upsides.results.library import Library

Run = Callable[..., Result]
Ask = Callable[..., Any]


@pytest.fixture
def run() -> Run:
    """Return a function that runs the command with arguments."""

    def go(*arguments: object) -> Result:
        return CliRunner().invoke(main, [str(argument) for argument in arguments])

    return go


@pytest.fixture
def ask(run: Run) -> Ask:
    """Return a function that runs the command with --json and reads its standard output, alone, as strict JSON."""

    def go(*arguments: object) -> Any:
        result = run(*arguments, "--json")
        assert result.exit_code == 0, result.stderr
        return read_json(result.stdout)

    return go


def read_json(text: str) -> Any:
    return json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))


@pytest.fixture(scope="session")
def world() -> Invented:
    """Return nine months of the invented country."""
    return simulate(first=date(2025, 9, 1))


@pytest.fixture(scope="session")
def filled(world: Invented, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a library of these months with a fit; tests only read it."""
    folder = tmp_path_factory.mktemp("filled")
    (folder / "rules.toml").write_text(rulebook(), encoding="utf-8")
    add_frames(Library.create(folder), world.races, world.runs, "invented")
    made = CliRunner().invoke(main, ["fit", "--library", str(folder)])
    assert made.exit_code == 0, made.output
    return folder


@pytest.fixture
def own(filled: Path, tmp_path: Path) -> Path:
    """Return a copy of that library that a test may change."""
    return Path(shutil.copytree(filled, tmp_path / "own"))


@pytest.fixture(scope="session")
def busy(world: Invented) -> dict[str, Any]:
    """Return the horse with the most runs: its number in the source, name, first day and runs."""
    ran = world.runs.filter(world.runs["position"].is_not_null())
    most = ran.group_by("source_horse", "horse_name").len().sort("len", "source_horse", descending=True).row(0)
    first = ran.filter(ran["source_horse"] == most[0])["date"].min()
    return {"number": most[0], "name": most[1], "first": first, "runs": most[2]}
