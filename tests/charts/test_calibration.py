"""Chances beside shares, drawn."""

import re
from xml.etree import ElementTree as ET

import pytest

from upsides.charts.calibration import SIZE, Group, calibration

SVG = "{http://www.w3.org/2000/svg}"
GROUPS = [
    Group("person", 0.0, 0.0, 40, "none <of> them"), Group("person", 0.9, 0.9, 10, "most"),
    Group("tool", 0.5, 1.0, 10, "the tool's"),
]  # fmt: skip


def drawn() -> ET.Element:
    return ET.fromstring(calibration(GROUPS, "A & B", "said", "came"))  # noqa: S314 (drawn here)


def test_what_came_as_often_as_was_said_lies_on_the_line() -> None:
    """Groups on the diagonal have their middle on the dotted line, one above it lies above it."""
    svg = drawn()
    (line,) = [one for one in svg.iter(f"{SVG}path") if one.get("stroke-dasharray")]
    x0, y0, x1, y1 = (float(one) for one in re.findall(r"[\d.]+", line.get("d", "")))
    for dot in svg.iter(f"{SVG}circle"):
        x, y = float(dot.get("cx", 0)), float(dot.get("cy", 0))
        on_line = y0 + (x - x0) * (y1 - y0) / (x1 - x0)
        above = dot.find(f"{SVG}title").text == "the tool's"  # type: ignore[union-attr]  # it is there
        assert (y < on_line - 20) if above else y == pytest.approx(on_line, abs=0.2)
        assert 0 <= x <= SIZE


def test_areas_go_by_how_many() -> None:
    """A group of four times as many calls has twice the radius."""
    radius = {one.find(f"{SVG}title").text: float(one.get("r", 0)) for one in drawn().iter(f"{SVG}circle")}  # type: ignore[union-attr]  # it is there
    assert radius["none <of> them"] == pytest.approx(2 * radius["most"])
    assert radius["most"] == radius["the tool's"]


def test_words_are_written_safely_and_colours_are_the_page_s() -> None:
    """Every dot has its words, signs of markup are escaped, and no colour stands without its token."""
    text = calibration(GROUPS, "A & B", "said", "came")
    assert "none &lt;of&gt; them" in text
    assert "<title>A &amp; B</title>" in text
    assert re.findall(r'"#[0-9a-f]{6}"', text) == []
