"""Everything of a horse on one time axis: days line up, weeks add up, words are safe."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date, timedelta

import pytest

from upsides.charts.theme import LIGHT
from upsides.charts.time_axis import HEIGHTS, SIZES, AxisWords, Dot, Mark, TimeAxis, Week, empty_rows, time_axis

LAST = date(2026, 6, 20)
MONDAY = date(2026, 6, 15)
NONE = TimeAxis(LAST, (), (), (), None, (), ())
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WORDS = AxisWords(
    "axis", "A & B <horse>", "All on one axis.", {row: f"the {row}" for row in HEIGHTS}, "{km} km", MONTHS
)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(told: TimeAxis, size: str = "wide") -> ET.Element:
    return ET.fromstring(time_axis(told, size, WORDS))  # noqa: S314 (drawn by the line before)


def x_of(svg: ET.Element, said: str) -> float:
    """Return where across something stands, by its words."""
    for one in svg.iter():
        title = one.find(f"{SVG}title")
        if title is not None and title.text == said:
            shape = one if one.get("cx") or one.get("d") else next(iter(one))[0] if len(one) < 2 else one[1]
            found = shape.get("cx") or re.match(r"M([\d.]+)", shape.get("d", ""))
            return float(found if isinstance(found, str) else found[1])  # type: ignore[index]  # it is there
    raise AssertionError(said)


@pytest.mark.parametrize("size", SIZES)
def test_what_was_on_one_day_stands_in_one_line(size: str) -> None:
    """A run with its figure, a mass, a temperature, the heart, what was left and what was given on one day have the
    same place across."""
    day = date(2026, 5, 20)
    told = TimeAxis(
        LAST, (), (Mark(day, "run", "ran"), Mark(day, "treated", "given")), (Dot(day, 500.0, "kg"),), None,
        (Dot(day, 38.0, "warm"),), (Dot(day, 0.5, "half"),), (Dot(day, 120.0, "heart"),), (Dot(day, 71.5, "figure"),),
    )  # fmt: skip
    svg = drawn(told, size)
    places = {x_of(svg, said) for said in ("ran", "given", "kg", "warm", "half", "heart", "figure")}
    assert max(places) - min(places) < 0.11


@pytest.mark.parametrize("size", SIZES)
def test_a_bar_is_as_high_as_its_week(size: str) -> None:
    """Twice the metres are a bar twice as high, the parts one above the other from the slowest."""
    weeks = (
        Week(MONDAY - timedelta(days=7), (5000.0, 0.0, 0.0, 0.0), "one"),
        Week(MONDAY, (4000.0, 3000.0, 2000.0, 1000.0), "two"),
    )
    svg = drawn(TimeAxis(LAST, weeks, (), (), None, (), ()), size)
    groups = {
        one.find(f"{SVG}title").text: one.findall(f"{SVG}rect")
        for one in svg.iter(f"{SVG}g")
        if one.find(f"{SVG}title") is not None
    }  # type: ignore[union-attr]  # it is there
    (one,), four = groups["one"], groups["two"]
    heights = [float(part.get("height", 0)) for part in four]
    assert sum(heights) == pytest.approx(2 * float(one.get("height", 0)), abs=0.2)
    tops = [float(part.get("y", 0)) for part in four]
    assert tops == sorted(tops, reverse=True)
    for above, below in zip(four[1:], four, strict=False):
        assert float(above.get("y", 0)) + float(above.get("height", 0)) == pytest.approx(
            float(below.get("y", 0)), abs=0.11
        )


def test_days_outside_of_the_weeks_are_left_out() -> None:
    """A narrow picture shows half the weeks of a wide one: what was before is in the wide one only."""
    dots = (Dot(LAST - timedelta(weeks=20), 500.0, "long ago"), Dot(LAST, 501.0, "now"))
    told = TimeAxis(LAST, (), (), dots, None, (), ())
    assert "long ago" in time_axis(told, "wide", WORDS)
    assert "long ago" not in time_axis(told, "narrow", WORDS)
    assert "now" in time_axis(told, "narrow", WORDS)


def test_racing_mass_is_a_dotted_line_within_the_row() -> None:
    """The horse's racing mass is drawn dotted, between the highest and the lowest value."""
    told = TimeAxis(LAST, (), (), (Dot(LAST, 510.0, "now"), Dot(MONDAY, 490.0, "then")), 500.0, (), ())
    (line,) = [one for one in drawn(told).iter(f"{SVG}path") if one.get("stroke-dasharray")]
    at = {one.find(f"{SVG}title").text: float(one.get("cy", 0)) for one in drawn(told).iter(f"{SVG}circle")}  # type: ignore[union-attr]  # it is there
    found = re.match(r"M44 ([\d.]+)", line.get("d", ""))
    assert found
    assert at["now"] < float(found[1]) < at["then"]


def test_a_pound_is_no_leap() -> None:
    """Figures a pound apart stand near each other, a tenth as far as figures ten pounds apart."""

    def apart(lb: float) -> float:
        figures = (Dot(MONDAY, 80.0, "then"), Dot(LAST, 80.0 + lb, "now"))
        svg = drawn(TimeAxis(LAST, (), (), (), None, (), (), (), figures))
        then, now = (float(one.get("cy", 0)) for one in svg.iter(f"{SVG}circle"))
        return then - now

    assert apart(1.0) == pytest.approx(apart(10.0) / 10, abs=0.11)


@pytest.mark.parametrize("size", SIZES)
def test_a_row_without_anything_is_left_out_and_named(size: str) -> None:
    """Rows with nothing in the weeks drawn are named apart and take no room, since what is missing is a finding told in
    a sentence; words are written safely."""
    assert empty_rows(NONE, size) == list(HEIGHTS)
    text = time_axis(NONE, size, WORDS)
    assert "the mass" not in text
    assert "A &amp; B &lt;horse&gt;" in text
    told = replace(NONE, mass=(Dot(LAST, 500.0, "kg"),), temperature=(Dot(LAST - timedelta(days=400), 38.0, "t"),))
    assert empty_rows(told, size) == [row for row in HEIGHTS if row != "mass"]
    svg = drawn(told, size)
    assert "the mass" in "".join(svg.itertext())
    assert "the temperature" not in "".join(svg.itertext())
    assert float(svg.get("viewBox", "").split()[3]) < 130


def test_the_picture_follows_the_page_s_colours() -> None:
    """Every colour is a token of the theme, with its light value as fallback."""
    marks = (Mark(LAST, "fast", "f"), Mark(LAST, "found", "o"))
    told = TimeAxis(LAST, (Week(MONDAY, (1000.0, 0.0, 0.0, 900.0), "w"),), marks,
                    (Dot(LAST, 500.0, "kg"),), 505.0, (Dot(LAST, 38.0, "t"),), (Dot(LAST, 0.0, "l"),))  # fmt: skip
    text = time_axis(told, "narrow", WORDS)
    colours = set(re.findall(r"#[0-9a-f]{6}", text))
    assert colours <= set(vars_of())
    assert re.findall(r'"#[0-9a-f]{6}"', text) == []


def vars_of() -> list[str]:
    from dataclasses import fields

    return [getattr(LIGHT, one.name) for one in fields(LIGHT)]
