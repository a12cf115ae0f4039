from datetime import date, timedelta
from statistics import NormalDist
from xml.etree import ElementTree as ET

import polars as pl
import pytest
import vl_convert

from upsides.charts.level_curve import level_spec
from upsides.charts.picture import picture, vega_of
from upsides.charts.ranges import INNER, WIDE
from upsides.charts.spark import HEIGHT, WIDTH, spark
from upsides.charts.theme import LIGHT, Tokens


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 (our own drawing, not outside input)


SVG = "{http://www.w3.org/2000/svg}"
DAYS = [date(2026, 1, 1) + timedelta(days=14 * i) for i in range(10)]
LEVELS = pl.DataFrame(
    {"date": DAYS, "level_lb": [70.0 + i for i in range(10)], "sd_lb": [6.0 - 0.3 * i for i in range(10)]}
)
RUNS = pl.DataFrame(
    {
        "date": DAYS[2::3],
        "figure_lb": [71.0, 66.5, 80.0],
        "figure_sd_lb": [4.0, 9.0, 5.0],
        "surface": ["turf", "synthetic", "dirt"],
        "label": ["first", "second <b>", "third"],
    }
)


@pytest.fixture(scope="module")
def drawn() -> ET.Element:
    return parsed(picture(level_spec(LEVELS, RUNS), (600, 240), "A horse", "Worth 79 lb & rising", "p1"))


def test_ranges_hold_what_they_say() -> None:
    """The inner range holds half of a normal distribution, the wide one four fifths (statistics module)."""
    normal = NormalDist()
    assert normal.cdf(INNER) - normal.cdf(-INNER) == pytest.approx(0.5, abs=1e-4)
    assert normal.cdf(WIDE) - normal.cdf(-WIDE) == pytest.approx(0.8, abs=1e-4)


def test_a_picture_is_one_image_with_words(drawn: ET.Element) -> None:
    """Title and description are there, are pointed at, and escape what they must."""
    assert drawn.get("role") == "img"
    ids = {element.get("id"): element.text for element in drawn.iter() if element.get("id")}
    assert ids[drawn.get("aria-labelledby")] == "A horse"
    assert ids[drawn.get("aria-describedby")] == "Worth 79 lb & rising"


def test_a_picture_keeps_to_a_strict_page(drawn: ET.Element) -> None:
    """No style attribute, script, style element or address anywhere: a strict page policy holds."""
    for element in drawn.iter():
        assert "style" not in element.attrib
        assert element.tag not in {f"{SVG}script", f"{SVG}style", f"{SVG}a", f"{SVG}image"}


def test_a_picture_uses_the_themes_colours_only(drawn: ET.Element) -> None:
    """Every colour drawn is a token of the theme."""
    drawn_with = [element.get(kind) for element in drawn.iter() for kind in ("fill", "stroke")]
    colours = set(drawn_with) - {None, "none"}
    allowed = {f"var(--{name.replace('_', '-')}, {getattr(LIGHT, name)})" for name in Tokens.__dataclass_fields__}
    assert colours <= allowed | {"transparent"}


def test_every_run_is_a_point_with_its_words(drawn: ET.Element) -> None:
    """Each run's label is the title of its point."""
    titles = [title.text for path in drawn.iter(f"{SVG}path") for title in path.findall(f"{SVG}title")]
    assert {"first", "second <b>", "third"} <= set(titles)


def test_what_is_made_once_draws_what_is_drawn_at_once() -> None:
    """Of one horse or another, with runs or without, the picture is that which Vega-Lite itself draws of the whole."""
    for levels, runs in ((LEVELS, RUNS), (LEVELS[:3], RUNS[:1]), (LEVELS, RUNS.clear())):
        spec = level_spec(levels, runs) | {"width": 400, "height": 200}
        assert vl_convert.vega_to_svg(vega_of(spec)) == vl_convert.vegalite_to_svg(spec)


def test_a_horse_without_runs_still_has_a_curve() -> None:
    """An unraced horse's level is drawn without points."""
    drawn = picture(level_spec(LEVELS.tail(1), RUNS.clear()), (300, 200), "t", "d", "p2")
    assert "<svg" in drawn


def test_the_same_values_draw_the_same_picture() -> None:
    """A picture depends on its values alone."""
    first, second = (picture(level_spec(LEVELS, RUNS), (300, 200), "t", "d", "p3") for _ in range(2))
    assert first == second


def test_a_small_curve_stays_inside_its_box() -> None:
    """Every point of a small curve lies inside, however wild the level, and the last is the dot."""
    drawn = parsed(spark([1, 5, 9], [20.0, 90.0, 70.0], [1.0, 30.0, 4.0], "A & B"))
    assert drawn.findtext(f"{SVG}title") == "A & B"
    for tag in ("polygon", "polyline"):
        for pair in drawn.find(f"{SVG}{tag}").get("points").split():
            x, y = map(float, pair.split(","))
            assert 0 <= x <= WIDTH
            assert 0 <= y <= HEIGHT
    points = drawn.find(f"{SVG}polyline").get("points")
    circle = drawn.find(f"{SVG}circle")
    assert points.endswith(f"{circle.get('cx')},{circle.get('cy')}")


def test_small_curves_compare_slopes() -> None:
    """Ten pounds are as high in one small curve as in another."""

    def rise(levels: list[float]) -> float:
        points = parsed(spark([0, 10], levels, [1.0, 1.0], "t")).find(f"{SVG}polyline").get("points")
        first, last = (float(pair.split(",")[1]) for pair in points.split())
        return first - last

    assert rise([50.0, 60.0]) == pytest.approx(rise([90.0, 100.0]))
    assert rise([50.0, 60.0]) == pytest.approx(HEIGHT / 4)


def test_one_day_is_enough_for_a_small_curve() -> None:
    """A single day draws a dot without dividing by zero."""
    assert "<circle" in spark([7], [70.0], [5.0], "t")
