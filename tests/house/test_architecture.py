"""The documents name what there is, and nothing else."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "upsides"


def _named() -> list[str]:
    """Return the paths in the first column of ARCHITECTURE.md's tables."""
    text = (ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (`.*?) \|", text, flags=re.MULTILINE)
    return [path for row in rows for path in re.findall(r"`([^`]+)`", row)]


def _standing() -> set[str]:
    """Return the modules and packages under src/upsides, the package itself and the books' migrations aside."""
    found = set()
    for path in SOURCE.rglob("*.py"):
        place = path.relative_to(SOURCE)
        if "migrations" in place.parts or place == Path("__init__.py"):
            continue
        found.add(f"{place.parent}/" if path.name == "__init__.py" else str(place))
    return found


def test_architecture_names_every_module() -> None:
    """Every module and package under src/upsides stands in a table of ARCHITECTURE.md."""
    assert _standing() - set(_named()) == set()


def test_architecture_names_nothing_that_is_not_there() -> None:
    """No table of ARCHITECTURE.md names a module that does not exist, and none is named twice."""
    named = _named()
    assert set(named) - _standing() == set()
    assert len(named) == len(set(named))


def test_rooms_to_come_are_not_there_yet() -> None:
    """A room that ARCHITECTURE.md lists as to come does not exist; when it does, it moves into the tables."""
    text = (ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8")
    listed = text.split("## Rooms to come")[1].split(":", 1)[1]
    rooms = re.findall(r"[a-z]+(?=[,.]|\.py)", listed)
    assert {"money", "api"} <= set(rooms)
    assert [room for room in rooms if (SOURCE / room).exists()] == []


def test_readme_gives_the_two_commands() -> None:
    """README.md gives `make run` and `make test`, each on a line of its own in a block of code."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for command in ("make run", "make test"):
        assert re.search(rf"^    {command}\b", text, flags=re.MULTILINE), command


def test_documents_point_at_files_that_are_there() -> None:
    """Every docs/ page, script or benchmark that a document at the root or in docs/ names exists."""
    pages = [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")]
    pointed = {
        (page.name, place)
        for page in pages
        for place in re.findall(r"\b(?:docs|tools|tests|benchmarks|src)/[\w/.-]*\w", page.read_text(encoding="utf-8"))
    }
    assert sorted((page, place) for page, place in pointed if not (ROOT / place).exists()) == []


def test_changelog_has_this_version() -> None:
    """CHANGELOG.md has a section for the version that pyproject.toml states."""
    version = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    assert re.search(rf"^## \[{re.escape(version)}\]", (ROOT / "CHANGELOG.md").read_text("utf-8"), flags=re.MULTILINE)


def test_drawn_pages_agree_with_the_code() -> None:
    """docs/schema.md and docs/rules.md are what `make docs` would write."""
    command = [sys.executable, "tools/docs.py", "--check"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
