"""The command as a whole: errors, days, progress and what goes where."""

import json
import sys
from datetime import date
from pathlib import Path

import click
import numpy as np
import pytest
from click.testing import CliRunner, Result

from upsides.cli import main as main_module
from upsides.cli.main import main
from upsides.cli.options import Day, answer
from upsides.cli.progress import Shown
from upsides.errors import UpsidesError


def test_an_unknown_command_is_refused(run) -> None:
    """A word that is no command is named and ends with the code of wrong usage."""
    result = run("gallop")
    assert result.exit_code == 2
    assert "gallop" in result.stderr


def test_errors_are_json_where_asked_for(run, tmp_path: Path) -> None:
    """With --json, wherever it stands, an error is one JSON object on standard output and words on the other."""
    for arguments in (("--library", tmp_path / "none", "--json"), ("--json", "--library", tmp_path / "none")):
        result = run("rate", "Anything", *arguments)
        assert result.exit_code == 1
        error = json.loads(result.stdout)["error"]
        assert error["kind"] == "LibraryMissingError"
        assert str(tmp_path / "none") in error["message"]
        assert result.stderr == f"Error: {error['message']}\n"


def test_errors_are_words_otherwise(run, tmp_path: Path) -> None:
    """Without --json nothing is printed on standard output, and no traceback anywhere."""
    result = run("fit", "--library", tmp_path / "none")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith("Error: no library of results in")
    assert "Traceback" not in result.stderr


def test_the_process_does_not_matter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether errors are JSON hangs on the command's own arguments, not on those of the process around it."""
    monkeypatch.setattr(sys, "argv", ["other", "--json"])
    assert CliRunner().invoke(main, ["fit", "--library", str(tmp_path / "none")]).stdout == ""


@pytest.mark.parametrize("text", ["31/1/2003", "2003-13-01", "2003-02-29", "yesterday", ""])
def test_a_day_that_is_none_is_refused(run, text: str) -> None:
    """What is no day is shown back with how to write one, in words and with the code of wrong usage."""
    result = run("evaluate", "--json", "--from", text)
    assert (result.exit_code, result.stdout) == (2, "")
    assert f"{text!r} is not a day; write it like 2003-01-31" in result.stderr


@pytest.mark.parametrize("text", ["0001-01-01", "1699-12-31", "2201-01-01", "9999-12-31"])
def test_a_day_far_away_is_refused(run, text: str) -> None:
    """A day that no calendar about it could be worked out for is shown back with the days that can be asked for."""
    result = run("evaluate", "--from", text)
    assert (result.exit_code, result.stdout) == (2, "")
    assert f"{text!r} is too far away; give a day from 1700-01-01 to 2200-12-31" in result.stderr


def test_a_day_is_read() -> None:
    """A day written year-month-day is that date, and a date stays one."""
    assert Day().convert("2003-01-31", None, None) == date(2003, 1, 31)
    assert Day().convert(date(2003, 1, 31), None, None) == date(2003, 1, 31)


def test_ctrl_c_says_stopped(run, monkeypatch: pytest.MonkeyPatch, filled: Path) -> None:
    """Ctrl-C ends with a word and the code that shells give it."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("upsides.results.library.Library.open", stop)
    result = run("results", "check", "--library", filled)
    assert result.exit_code == main_module.INTERRUPTED == 130
    assert result.stderr == "Stopped before the end.\n"


def printed(value: dict[str, object], *, as_json: bool) -> Result:
    @click.command()
    def command() -> None:
        answer(as_json, value, ["one", "two"])

    return CliRunner().invoke(command)


def test_answers() -> None:
    """An answer is lines, or JSON with days as text and no number as null; what JSON lacks is never printed."""
    assert printed({}, as_json=False).stdout == "one\ntwo\n"
    value = {"day": date(2003, 1, 31), "path": Path("a"), "none": np.nan, "list": (1, np.inf, {2: 0.5})}
    want = {"day": "2003-01-31", "path": "a", "none": None, "list": [1, None, {"2": 0.5}]}
    assert json.loads(printed(value, as_json=True).stdout) == want
    assert isinstance(printed({"n": np.int64(3)}, as_json=True).exception, TypeError)


def test_progress_tells_time_left(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Away from a terminal a line comes now and then, with the time left, on standard error only."""
    clock = iter([100.0, 101.0, 102.0, 110.0, 400.0, 500.0])
    monkeypatch.setattr("upsides.cli.progress.monotonic", lambda: next(clock))
    line = Shown()
    for done, what in ((0.0, "start"), (0.05, "too soon"), (0.25, "reading"), (0.5, "fitting"), (1.0, "done")):
        line(done, what)
    line.end()
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "  0 %  start",
        " 25 %  reading, about 30 s left",
        " 50 %  fitting, about 5 min left",
        "100 %  done",
    ]


def test_progress_rewrites_its_line_on_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a terminal one line is written over, long words leaving nothing behind short ones."""
    line = Shown()
    monkeypatch.setattr(line, "terminal", True)
    line(0.0, "something long")
    line(1.0, "short")
    line.end()
    assert capsys.readouterr().err == "\r  0 %  something long\r100 %  short         \n"


def test_errors_of_every_kind_are_caught(monkeypatch: pytest.MonkeyPatch, run) -> None:
    """Anything the package refuses ends in words, a mistake of its own does not hide."""

    def refuse(*_: object) -> None:
        raise UpsidesError("not today")

    def slip(*_: object) -> None:
        raise RuntimeError("a mistake")

    monkeypatch.setattr("upsides.results.library.Library.open", refuse)
    assert run("fit").stderr == "Error: not today\n"
    monkeypatch.setattr("upsides.results.library.Library.open", slip)
    assert isinstance(run("fit").exception, RuntimeError)
