"""A small curve for lists: a level with its range, drawn directly as SVG."""

from collections.abc import Sequence
from html import escape
from itertools import chain

from upsides.charts.ranges import WIDE

WIDTH, HEIGHT = 132, 40
_EDGE = 5
_PX_A_LB = HEIGHT / 40.0
"""Forty pounds from bottom to top, the same for every curve so that steepness compares across a list."""


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
    middle = HEIGHT / 2 + (max(level_lb) + min(level_lb)) / 2 * _PX_A_LB
    y = [middle - value * _PX_A_LB for value in level_lb]
    spread = [WIDE * sd * _PX_A_LB for sd in sd_lb]
    line = _points(x, y)
    high = _points(x, [here - out for here, out in zip(y, spread, strict=True)])
    low = _points(x[::-1], [here + out for here, out in zip(y[::-1], spread[::-1], strict=True)])
    now_x, now_y = line.rsplit(" ", 1)[-1].split(",")
    return (
        f'<svg class="spark" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" xmlns="http://www.w3.org/2000/svg">'
        f'<title>{escape(title)}</title><polygon class="spark-range" points="{high} {low}"/>'
        f'<polyline class="spark-line" points="{line}"/>'
        f'<circle class="spark-now" cx="{now_x}" cy="{now_y}" r="4"/></svg>'
    )


def _across(days: Sequence[int]) -> list[float]:
    length = max(1, days[-1] - days[0])
    return [_EDGE + (day - days[0]) * (WIDTH - 2 * _EDGE) / length for day in days]


def _points(x: Sequence[float], y: Sequence[float]) -> str:
    """Return points kept inside the box, written in one go: a list draws a hundred curves."""
    inside = [min(HEIGHT - 1.0, max(1.0, value)) for value in y]
    flat = tuple(chain.from_iterable(zip(x, inside, strict=True)))
    return " ".join(["%.1f,%.1f"] * len(x)) % flat
