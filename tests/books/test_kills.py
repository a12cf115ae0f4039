"""Writers killed in the middle of their work lose nothing that was acknowledged, and leave nothing half-written."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from fresh import fresh

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.skipif(sys.platform == "win32", reason="writers are forks, which this system does not have")
def test_some_kills(tmp_path: Path) -> None:
    """After 24 kills of writers of the books and two of each writer of files all is there, once and whole.

    `python -m tools.kills --times 1000` does the same at length.
    """
    command = [sys.executable, "-m", "tools.kills", "--times", "24", "--files", "2", "--every", "12"]
    with fresh(tmp_path, ready=True) as env:
        done = subprocess.run(command, env=env, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    books = re.search(r"the books, (\w+): (\d+) kills, .*?; ([\d,]+) writes acknowledged, ([\d,]+) found", done.stdout)
    assert books, done.stdout
    assert books[1] == ("postgresql" if "UPSIDES_DATABASE" in env else "sqlite")
    assert int(books[2]) == 24
    assert int(books[3].replace(",", "")) == int(books[4].replace(",", "")) > 0
    assert re.findall(r"(\w+): 2 kills", done.stdout) == ["backups", "fits", "imports"]
