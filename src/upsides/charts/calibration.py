"""Chances beside the shares that came true, for two who said them. Drawn directly as SVG."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from math import sqrt
from typing import Final, Literal

from upsides.charts.theme import FONT, LIGHT, themed

SIZE: Final = 320
_LEFT, _FOOT, _EDGE = 34, 30, 12
_MOST_PX: Final = 15.0
_TICKS: Final = (0, 25, 50, 75, 100)


@dataclass(frozen=True, slots=True)
class Group:
    """Calls of about one chance.

    Attributes:
        whose: of the person or of the tool.
        said, came: mean chance, and the share that came true.
        count: how many.
        words: it in words.
    """

    whose: Literal["person", "tool"]
    said: float
    came: float
    count: int
    words: str


def calibration(groups: Sequence[Group], title: str, across: str, up: str) -> str:
    """Draw groups about the line on which chances and shares are the same; areas go by how many there are.

    Args:
        groups: of both.
        title: what it shows, in words.
        across: words for the axis of what was said.
        up: words for the axis of what came true.

    Returns:
        An `svg` element in the page's colours.
    """
    most = max((one.count for one in groups), default=1)
    last = sorted(groups, key=lambda one: (one.whose == "person", -one.count))
    body = "".join([_frame(across, up), *(_dot(one, most) for one in last)])
    return themed(
        f'<svg class="picture" viewBox="0 0 {SIZE} {SIZE}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'font-family="{escape(FONT)}" font-size="11"><title>{escape(title)}</title>{body}</svg>'
    )


def _x(share: float) -> float:
    return _LEFT + share * (SIZE - _LEFT - _EDGE)


def _y(share: float) -> float:
    return _EDGE + (1.0 - share) * (SIZE - _EDGE - _FOOT)


def _frame(across: str, up: str) -> str:
    ticks = "".join(
        f'<path d="M{_x(at / 100):.1f} {_y(0):.1f}V{_y(1):.1f}M{_x(0):.1f} {_y(at / 100):.1f}H{_x(1):.1f}" '
        f'stroke="{LIGHT.rule}" fill="none"/>'
        f'<text x="{_x(at / 100):.1f}" y="{_y(0) + 14:.1f}" text-anchor="middle" fill="{LIGHT.soft_ink}">{at}</text>'
        f'<text x="{_LEFT - 6}" y="{_y(at / 100) + 4:.1f}" text-anchor="end" fill="{LIGHT.soft_ink}">{at}</text>'
        for at in _TICKS
    )
    line = f'<path d="M{_x(0):.1f} {_y(0):.1f}L{_x(1):.1f} {_y(1):.1f}" stroke="{LIGHT.edge}" stroke-dasharray="4 4"/>'
    words = (
        f'<text x="{_x(1):.1f}" y="{SIZE - 3}" text-anchor="end" fill="{LIGHT.soft_ink}">{escape(across)}</text>'
        f'<text x="{_LEFT + 6}" y="{_EDGE + 10}" fill="{LIGHT.soft_ink}">{escape(up)}</text>'
    )
    return f"{ticks}{line}{words}"


def _dot(one: Group, most: int) -> str:
    radius = max(_MOST_PX * sqrt(one.count / most), 3.0)
    fill, stroke = (LIGHT.gorse, LIGHT.ink) if one.whose == "person" else (LIGHT.heather_inner, LIGHT.heather)
    return (
        f'<circle cx="{_x(one.said):.1f}" cy="{_y(one.came):.1f}" r="{radius:.1f}" fill="{fill}" stroke="{stroke}" '
        f'stroke-width="1.5"><title>{escape(one.words)}</title></circle>'
    )
