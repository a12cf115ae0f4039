"""`upsides jobs` in the foreground."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from upsides.cli.jobs import Foreground
from upsides.cli.main import main


def test_each_job_has_a_time_left_of_its_own(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever sits at the worker sees which job begins, and its time left counts from its own beginning."""
    clock = iter([0.0, 100.0, 110.0, 500.0, 520.0])
    monkeypatch.setattr("upsides.cli.progress.monotonic", lambda: next(clock))
    told = Foreground()
    told("fit 1")(0.5, "curves")
    told("check 2")(0.25, "the rows")
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "fit 1",
        " 50 %  curves, about 10 s left",
        "check 2",
        " 25 %  the rows, about 60 s left",
    ]


def test_jobs_without_a_library_is_refused(tmp_path: Path) -> None:
    """Without a library the command names the folder and begins nothing."""
    result = CliRunner().invoke(main, ["jobs", "--library", str(tmp_path / "nowhere")])
    assert (result.exit_code, result.stdout) == (1, "")
    assert "nowhere" in result.stderr
