"""`upsides gallop add`: drawing a gallop from a canter or from points."""

from pathlib import Path
from typing import Any

import pytest

import given_recordings as given
from fresh import fresh, told

ADD = """
import json
from pathlib import Path
from click.testing import CliRunner
from upsides.books.services.opening import open_books
from upsides.cli.main import main
open_books(Path({library!r}))
done = CliRunner().invoke(main, ["gallop", "add", *{arguments!r}, "--library", {library!r}, "--json"])
from upsides.books.models import Gallop, Job
rows = list(Gallop.objects.values("name", "surface", "length_m", "rise_m", "marks"))
jobs = Job.objects.filter(kind="recordings").count()
said = [done.exit_code, json.loads(done.stdout), rows, jobs]
"""


@pytest.fixture
def books(tmp_path: Path) -> Any:
    with fresh(tmp_path / "library", ready=True) as env:

        def add(*arguments: object) -> Any:
            code = ADD.format(arguments=[str(one) for one in arguments], library=str(tmp_path / "library"))
            return told(code, env)

        yield add


def test_a_gallop_is_drawn_and_drawn_anew(books: Any, tmp_path: Path) -> None:
    """Points make a new gallop of their length, with a mark where it was asked for; a canter then draws it anew."""
    points = tmp_path / "points.csv"
    points.write_text(
        "latitude,longitude,height\n" + "".join(f"{a},{b},{10 * k}\n" for k, (a, b, _) in enumerate(given.LINE))
    )
    status, answer, rows, jobs = books("Straight six", "--from", points, "--marks", "furlongs", "--surface", "woodchip")
    assert status == 0
    assert answer | {"marks_m": []} == {
        "gallop": "Straight six", "new": True, "surface": "woodchip", "length_m": round(given.LENGTH_M), "rise_m": 120,
        "points": len(given.LINE), "marks_m": [],
    }  # fmt: skip
    assert answer["marks_m"] == [0.0, 201.2, 402.3, 603.5, 804.7, 1005.8, 1207.0]
    assert (len(rows), jobs) == (1, 1)
    ridden = tmp_path / "canter.fit"
    ridden.write_bytes(given.fit())
    status, answer, rows, _ = books("Straight six", "--from", ridden)
    assert (status, answer["new"], len(rows), rows[0]["surface"]) == (0, False, 1, "woodchip")
    assert rows[0]["marks"] == []
    assert answer["length_m"] > given.LENGTH_M


def test_what_is_no_gallop_is_refused(books: Any, tmp_path: Path) -> None:
    """A file that is not there, marks beyond the end and a line of 20 m are refused, and no gallop is entered."""
    short = tmp_path / "short.csv"
    short.write_text("latitude,longitude\n49.5,-15\n49.5001,-15\n")
    points = tmp_path / "points.csv"
    points.write_text("latitude,longitude\n" + "".join(f"{a},{b}\n" for a, b, _ in given.LINE))
    for arguments, kind in (
        (("A", "--from", tmp_path / "none.gpx"), "GallopPointsError"),
        (("A", "--from", points, "--marks", "0,5000"), "MarksError"),
        (("A", "--from", short), "GallopLineError"),
        (("", "--from", points), "GallopLineError"),
    ):
        status, answer, rows, jobs = books(*arguments)
        assert (status, answer["error"]["kind"], rows, jobs) == (1, kind, [], 0)
