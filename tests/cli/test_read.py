"""`upsides read`: what files hold, without a library; whatever it is given, words and no traceback."""

import csv
import gzip
import io
import json
import os
import re
import subprocess
import sys
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

import given_recordings as given
from upsides.cli.main import main
from upsides.recordings.formats.fit import write_fit
from upsides.recordings.opening import read_all
from upsides.recordings.summary import summary
from upsides.trade.units import FURLONG_M

KEYS = [
    "file", "format", "fixes", "with_position", "with_heart", "distance_m", "duration_s", "longest_gap_s", "bouts",
    "heart", "messages",
]  # fmt: skip
BOUT = ["kind", "start", "metres", "seconds", "best_furlong_s"]
SHARED = Path(os.environ.get("UPSIDES_SHARED", Path(__file__).resolve().parents[3] / "shared" / "data"))


@pytest.fixture
def morning(tmp_path: Path) -> Path:
    place = tmp_path / "morning.fit"
    place.write_bytes(given.fit())
    return place


def run(*arguments: object, **more: Any) -> Result:
    nowhere = ["--library", "/nowhere/at/all"]
    return CliRunner().invoke(main, ["read", *map(str, arguments), *nowhere], **more)


def test_one_file_is_one_object(morning: Path) -> None:
    """One file is one object with exactly the promised keys; a canter at an even 10 m/s has its furlong in 20.1 s."""
    result = run(morning, "--json")
    told = json.loads(result.stdout)
    assert (result.exit_code, list(told)) == (0, KEYS)
    speed, _ = given.way()
    assert (told["format"], told["fixes"], told["with_position"], told["with_heart"]) == ("fit", *[speed.size] * 3)
    assert told["distance_m"] == pytest.approx(speed.sum() / given.HZ, rel=0.005)
    assert told["duration_s"] == pytest.approx((speed.size - 1) / given.HZ, abs=0.01)
    assert told["longest_gap_s"] == pytest.approx(1 / given.HZ, abs=0.01)
    assert all(list(bout) == BOUT for bout in told["bouts"])
    canter = max(told["bouts"], key=lambda bout: bout["metres"])
    assert canter["kind"] == "canter"
    assert canter["best_furlong_s"] == pytest.approx(FURLONG_M / given.CANTER_MS, abs=0.1)
    assert set(told["heart"]) == {"kept", "max", "mean"}


def test_a_highest_is_not_told_where_the_work_has_no_heart(tmp_path: Path) -> None:
    """A heart that was lost over the canter has a mean of the rest, no highest, and the reading says why."""
    whole, place = given.recording(), tmp_path / "lost.fit"
    heart = np.where(whole.speed_ms > 4.0, np.nan, whole.heart_bpm)
    place.write_bytes(write_fit(replace(whole, heart_bpm=heart)))
    told = json.loads(run(place, "--json").stdout)
    assert told["heart"]["max"] is None
    assert told["heart"]["mean"] > 0
    assert "no heart rate was kept in its fastest work, so that no highest is told" in told["messages"]
    assert "the highest not told" in run(place).stdout


def test_several_files_are_a_list(morning: Path, tmp_path: Path) -> None:
    """Several files, or several in an archive, are a list in their order; those that cannot be read are in it."""
    packed = tmp_path / "week.zip"
    with zipfile.ZipFile(packed, "w") as out:
        out.writestr("a.fit", morning.read_bytes())
        out.writestr("b.txt", b"no recording")
    result = run(morning, packed, "--json")
    told = json.loads(result.stdout)
    assert result.exit_code == 0
    assert [(Path(one["file"]).name, one["format"]) for one in told] == [
        ("morning.fit", "fit"), ("a.fit", "fit"), ("b.txt", None),
    ]  # fmt: skip
    assert told[0]["fixes"] == told[1]["fixes"]
    assert "b.txt" in told[2]["messages"][0]
    assert "b.txt" in result.stderr


def test_plain_lines(morning: Path) -> None:
    """Without --json there are readable lines: what it holds, how far, each bout with its best furlong."""
    result = run(morning)
    assert result.exit_code == 0
    first, far, *rest = result.stdout.splitlines()
    assert first.startswith(f"{morning}: FIT, ")
    assert " km in " in far
    assert any("canter" in line and re.search(r"best furlong 20\.1\d? s", line) for line in rest)


def test_an_error_has_a_digit(monkeypatch: pytest.MonkeyPatch, morning: Path) -> None:
    """A best furlong is told with as many digits as its error needs: no error is told as nought."""
    (one,) = [summary(opened) for opened in read_all([morning])]
    bouts = [replace(b, best={n: replace(best, sd_s=0.02) for n, best in b.best.items()}) for b in one.bouts]
    monkeypatch.setattr("upsides.recordings.summary.summary", lambda *_: replace(one, bouts=tuple(bouts)))
    said = re.findall(r"best furlong (\S+) s ± (\S+)", run(morning).stdout)
    assert said
    assert all(len(seconds.split(".")[1]) == 2 and error == "0.02" for seconds, error in said)


def test_a_shape_is_proposed_for_a_table(tmp_path: Path) -> None:
    """Saved as it is printed, a proposed shape reads the table that none was known for; of no table it is refused."""
    table, shape = tmp_path / "odd.csv", tmp_path / "odd.toml"
    rows = "".join(f"2024-05-01T06:00:{s:02d}Z;51.5;-1.25;90\n" for s in range(20))
    table.write_text(f"When (UTC time);Breitenlat;Lon deg;Heart\n{rows}")
    assert (run(table).exit_code, "upsides read --propose" in run(table).stderr) == (1, True)
    drafted = run(table, "--propose")
    assert drafted.exit_code == 0
    shape.write_text(drafted.stdout)
    told = json.loads(run(table, "--shape", shape, "--json").stdout)
    assert (told["format"], told["fixes"], told["with_heart"]) == ("csv", 20, 20)
    assert json.loads(run(table, "--propose", "--json").stdout)["shape"] in drafted.stdout
    table.write_text("no table")
    refused = run(table, "--propose")
    assert (refused.exit_code != 0, "Traceback" in refused.stderr) == (True, False)
    assert run(tmp_path / "none.csv", "--propose").exit_code != 0


def test_what_holds_no_fix_is_not_read(tmp_path: Path) -> None:
    """A file of whose fixes none could be read ends with status 1, though its format is known."""
    place = tmp_path / "a.nmea"
    place.write_text("$GPRMC,060000.00,A,5130.000,N,00115.000,W,0.0,0.0,010524,,,A*00\n" * 3)
    result = run(place, "--json")
    told = json.loads(result.stdout)
    assert (result.exit_code, told["format"], told["fixes"]) == (1, "nmea", 0)
    assert any("wrong checksum" in one for one in told["messages"])


def test_what_is_piped_in(morning: Path) -> None:
    """`-` is what is piped in, packed or not."""
    result = run("-", "--json", input=gzip.compress(morning.read_bytes()))
    assert (result.exit_code, json.loads(result.stdout)["format"]) == (0, "fit")
    assert run("-", "--json", input=b"").exit_code == 1


@pytest.mark.parametrize("what", ["folder", "missing", "device", "pipe", "empty", "text", "bomb", "locked"])
def test_nothing_that_is_no_recording_is_a_traceback(what: str, tmp_path: Path) -> None:
    """A folder, a device, a pipe that nobody writes to and files of anything end with 1 and words that name them."""
    place = tmp_path / f"{what}.fit"
    match what:
        case "folder":
            place.mkdir()
        case "device":
            place = Path("/dev/zero")
        case "pipe":
            os.mkfifo(place)
        case "empty":
            place.touch()
        case "text":
            place.write_text("Dear trainer, it rained.\n" * 3)
        case "bomb":
            place.write_bytes(gzip.compress(gzip.compress(b"\0" * (300 << 20))))
        case "locked":
            place.write_bytes(given.fit())
            place.chmod(0)
            if os.access(place, os.R_OK):
                place.write_bytes(b"PK\x03\x04 and no more")
    result = run(place, "--json")
    assert (result.exit_code, result.exception.__class__) == (1, SystemExit)
    told = json.loads(result.stdout)
    assert (list(told), told["format"], told["fixes"]) == (KEYS, None, 0)
    assert str(place) in told["messages"][0]
    assert "Traceback" not in result.stderr
    assert str(place) in run(place).stderr


def test_one_good_file_among_bad_ones_is_enough(morning: Path, tmp_path: Path) -> None:
    """Where anything was read the status is 0, and the others are named."""
    result = run(tmp_path / "missing.fit", morning)
    assert result.exit_code == 0
    assert "missing.fit" in result.stderr
    assert "morning.fit" in result.stdout


def test_a_mistake_of_the_program_is_told_in_words(morning: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a reader stumbles, the file says so and the command goes on to the next."""

    def stumble(*_: object, **__: object) -> None:
        raise ZeroDivisionError("oh")

    monkeypatch.setattr("upsides.recordings.summary.measured", stumble)
    result = run(morning, "--json")
    assert result.exit_code == 1
    assert "ZeroDivisionError" in json.loads(result.stdout)["messages"][0]


def test_the_command_itself_needs_no_library(morning: Path, tmp_path: Path) -> None:
    """In a folder without a library, as a process of its own, it reads, leaves nothing behind, and opens no books."""
    empty = tmp_path / "empty"
    empty.mkdir()
    code = "import sys; from upsides.cli.main import main; main(standalone_mode=False); print('django' in sys.modules)"
    env = {name: value for name, value in os.environ.items() if name != "UPSIDES_LIBRARY"}
    done = subprocess.run(
        [sys.executable, "-c", code, "read", str(morning)],
        cwd=empty,
        env=env,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr == ""
    assert list(empty.iterdir()) == []
    assert "morning.fit" in done.stdout


def test_all_shared_recordings() -> None:
    """All real recordings are read as their list says: fixes, places, heart rates, minutes, and no traceback."""
    if not (SHARED / "recordings" / "INDEX.csv").exists():
        pytest.skip(f"no shared recordings in {SHARED}")
    rows = list(csv.DictReader(io.StringIO((SHARED / "recordings" / "INDEX.csv").read_text(encoding="utf-8"))))
    result = run(*(SHARED / "recordings" / row["file"] for row in rows), "--json")
    assert result.exit_code == 0
    told = json.loads(result.stdout)
    assert len(told) == len(rows)
    for row, one in zip(rows, told, strict=True):
        assert one["format"] is not None, row["file"]
        counts = zip(
            ("points", "points_with_position", "points_with_hr"), ("fixes", "with_position", "with_heart"), strict=True
        )
        for listed, key in counts:
            if row["parses_with_strict_reader"] == "True" and row[listed]:
                assert one[key] == int(row[listed]), (row["file"], key)
        if row["parses_with_strict_reader"] == "False":
            assert one["messages"], row["file"]
