"""A small curve for lists: a level with its range, drawn directly as SVG."""

from collections.abc import Sequence
from html import escape

from upsides.charts.ranges import WIDE

WIDTH, HEIGHT = 132, 40
_EDGE = 5
_SPAN_LB = 40.0
"""Pounds from bottom to top, the same for every curve so that steepness compares across a list."""


def spark(days: Sequence[int], level_lb: Sequence[float], sd_lb: Sequence[float], title: str) -> str:
    """Draw a small curve.

    Every curve has the same pounds to the pixel and stands in the middle of its box, so height says nothing,
    slope and thickness do.

    Args:
        days: days on any common count, rising, at least one.
        level_lb: level on each, lb.
        sd_lb: standard deviation on each, lb.
        title: what it shows, as a sentence.

    Returns:
        An `svg` element coloured by the page's classes: spark-range, spark-line, spark-now.
    """
    x = _across(days)
    middle = (max(level_lb) + min(level_lb)) / 2

    def y(value: float) -> float:
        wanted = HEIGHT / 2 - (value - middle) * HEIGHT / _SPAN_LB
        return min(HEIGHT - 1.0, max(1.0, wanted))

    line = _points(x, [y(value) for value in level_lb])
    high = [y(value + WIDE * sd) for value, sd in zip(level_lb, sd_lb, strict=True)]
    low = [y(value - WIDE * sd) for value, sd in zip(level_lb, sd_lb, strict=True)]
    band = _points([*x, *reversed(x)], [*high, *reversed(low)])
    return (
        f'<svg class="spark" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" xmlns="http://www.w3.org/2000/svg">'
        f'<title>{escape(title)}</title><polygon class="spark-range" points="{band}"/>'
        f'<polyline class="spark-line" points="{line}"/>'
        f'<circle class="spark-now" cx="{x[-1]:.1f}" cy="{y(level_lb[-1]):.1f}" r="4"/></svg>'
    )


def _across(days: Sequence[int]) -> list[float]:
    length = max(1, days[-1] - days[0])
    return [_EDGE + (day - days[0]) * (WIDTH - 2 * _EDGE) / length for day in days]


def _points(x: Sequence[float], y: Sequence[float]) -> str:
    return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
