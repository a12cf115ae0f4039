"""A gallop's line out of a file: recordings, routes, tables, points; and its marks as people type them."""

import numpy as np
import pytest

import given_recordings as given
from upsides.errors import GallopPointsError, MarksError
from upsides.recordings.gallops.points import Line, line_from, marks_from
from upsides.recordings.plane import to_plane


def length(line: Line) -> float:
    latitude, longitude = np.array([[float(a or 0), float(b or 0)] for a, b, _ in line]).T
    east, north = to_plane(given.PLANE, latitude, longitude)
    return float(np.hypot(np.diff(east), np.diff(north)).sum())


def test_a_canter_draws_the_line_it_ran_on() -> None:
    """Of a recording the canter's way is taken: it runs 2 m beside the gallop it was ridden on, without the walk."""
    line = line_from(given.fit(), "morning.fit")
    east, north = to_plane(given.PLANE, *np.array([[float(a or 0), float(b or 0)] for a, b, _ in line]).T)
    assert np.abs(east - 2.0).max() < 1.0
    assert north.min() > -120
    assert length(line) == pytest.approx(given.LENGTH_M + 170, abs=60)


def test_points_are_taken_as_they_were_drawn() -> None:
    """A CSV, a TOML and a GPX route without times give the same line, point by point."""
    rows = [(round(float(a or 0), 6), round(float(b or 0), 6), 12.5) for a, b, _ in given.LINE]
    table = "Latitude,Longitude,Elevation\n" + "".join(f"{a},{b},{h}\n" for a, b, h in rows)
    comma = "lat;lon;ele\n" + "".join(f"{a};{b};{h}\n".replace(".", ",") for a, b, h in rows)
    toml = f"points = {[list(row) for row in rows]}"
    route = "".join(f'<rtept lat="{a}" lon="{b}"><ele>{h}</ele></rtept>' for a, b, h in rows)
    gpx = f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><rte>{route}</rte></gpx>'
    wanted = [list(row) for row in rows]
    for name, text in (("a.csv", table), ("b.csv", comma), ("c.toml", toml), ("d.gpx", gpx)):
        assert line_from(text.encode(), name) == wanted, name


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.csv", "latitude,longitude\n49.5,-15\n"),
        ("b.csv", "latitude,longitude\n49.5,-15\n95.0,-15\n"),
        ("c.csv", "latitude,longitude\n49.5,-15\nhere,there\n"),
        ("d.toml", "points = 3"),
        ("e.toml", "points = [[1]]"),
        ("f.txt", "nothing at all"),
        ("g.gpx", "<gpx></gpx>"),
        ("h.csv", ""),
    ],
)
def test_what_is_no_line_is_refused(name: str, text: str) -> None:
    """A file without two places on earth is refused by its name, which is said once."""
    with pytest.raises(GallopPointsError, match=rf"^{name}: ") as caught:
        line_from(text.encode(), name)
    assert str(caught.value).count(name) == 1


@pytest.mark.parametrize(
    ("typed", "marks"),
    [
        ("", []),
        ("furlongs", [0.0, 201.2, 402.3, 603.5]),
        ("200m", [0.0, 200.0, 400.0, 600.0]),
        ("0, 201.2,402.3", [0.0, 201.2, 402.3]),
        ("100m,300m", [100.0, 300.0]),
    ],
)
def test_marks_as_they_are_typed(typed: str, marks: list[float]) -> None:
    """Furlongs, steps and places are understood on a gallop of 620 m."""
    assert marks_from(typed, 620.0) == marks


@pytest.mark.parametrize("typed", ["here", "0,0", "300,200", "0,700", "-5,100", "5m", "nan", "inf,1", "m"])
def test_marks_that_cannot_be(typed: str) -> None:
    """What is no number, does not rise, or stands beside the gallop is refused."""
    with pytest.raises(MarksError):
        marks_from(typed, 620.0)
