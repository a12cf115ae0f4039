"""A plain map of a morning: the yard's gallops and one horse's way on them, north up, with a scale; direct SVG."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.charts.theme import FONT, LIGHT, themed

Floats = NDArray[np.float64]

WIDTHS: Final[Mapping[str, int]] = {"wide": 760, "narrow": 350}
TALLEST: Final = 1.1
"""No map is higher than so many times its width."""
LOWEST: Final = 0.42
_EDGE: Final = 30
_TOP: Final = 44
_BELOW: Final = 34
_SCALES: Final = (50, 100, 200, 500, 1000, 2000, 5000)
_PACES: Final[Mapping[str, tuple[float, str]]] = {
    "slow": (1.4, LIGHT.soft_ink),
    "canter": (2.6, LIGHT.ink),
    "fast": (4.6, LIGHT.ink),
}
"""How broad a way is drawn, px, and in which colour; fast work has a gorse thread in it."""


@dataclass(frozen=True, slots=True, eq=False)
class Lane:
    """A gallop.

    Attributes:
        name: what it is called.
        east_m, north_m: (k,) its line.
        marks: (j, 2) metres east and north of its marks, and (j, 2) the direction across it, unit vectors.
        bold: whether it is the one that the map is about.
    """

    name: str
    east_m: Floats
    north_m: Floats
    marks: tuple[Floats, Floats] = field(default=(np.empty((0, 2)), np.empty((0, 2))))
    bold: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A part of a horse's way, at one pace.

    Attributes:
        pace: slow, canter or fast.
        east_m, north_m: (k,) where it went.
    """

    pace: str
    east_m: Floats
    north_m: Floats


@dataclass(frozen=True, slots=True)
class MapWords:
    """What a map says.

    Attributes:
        name: unique within the page; ids start with it.
        title: short name of the picture.
        description: what it shows, as a sentence.
        north: what stands at the arrow.
        metres: the scale, with {metres} for its length.
    """

    name: str
    title: str
    description: str
    north: str
    metres: str


@dataclass(frozen=True, slots=True)
class Frame:
    """How metres lie on the picture: px = (east - west) * scale + left, (top - north) * scale + above.

    Attributes:
        width, height: of the picture, px.
        scale: px a metre.
        west, top: metres at its left and upper border.
        left, above: px at them.
    """

    width: int
    height: int
    scale: float
    west: float
    top: float
    left: float
    above: float

    def across(self, east_m: Floats) -> Floats:
        """Return px from the left."""
        return np.asarray((east_m - self.west) * self.scale + self.left)

    def down(self, north_m: Floats) -> Floats:
        """Return px from above."""
        return np.asarray((self.top - north_m) * self.scale + self.above)


def frame_of(lanes: Sequence[Lane], ways: Sequence[Way], width: int) -> Frame:
    """Return the frame that holds all gallops and ways; at least one of them has points."""
    parts: Sequence[Lane | Way] = [*ways, *lanes]
    east = np.concatenate([part.east_m for part in parts])
    north = np.concatenate([part.north_m for part in parts])
    west, right = float(np.nanmin(east)), float(np.nanmax(east))
    south, top = float(np.nanmin(north)), float(np.nanmax(north))
    room = width - 2 * _EDGE
    scale = min(room / max(right - west, 200.0), (TALLEST * width - _TOP - _BELOW) / max(top - south, 60.0))
    height = max(LOWEST * width, (top - south) * scale + _TOP + _BELOW)
    left = (width - (right - west) * scale) / 2
    above = _TOP + (height - _TOP - _BELOW - (top - south) * scale) / 2
    return Frame(width, round(height), scale, west, top, left, above)


def ground_map(lanes: Sequence[Lane], ways: Sequence[Way], frame: Frame, words: MapWords) -> str:
    """Draw a map.

    Args:
        lanes: the gallops that are shown.
        ways: the horse's way, in parts that follow each other.
        frame: how metres lie on it.
        words: what it says.

    Returns:
        One `svg` element, one image to assistive technology, with a hidden dot of class `here` that a page may move.
    """
    begin = next((way for way in ways if way.east_m.size), None)
    parts = [
        *(_lane(lane, frame) for lane in lanes),
        *(_way(way, frame) for way in ways),
        *(_name(lane, frame) for lane in lanes),
        _begin(begin, frame) if begin else "",
        '<circle class="here" cx="0" cy="0" r="7" visibility="hidden" '
        f'fill="{LIGHT.gorse}" stroke="{LIGHT.ink}" stroke-width="2"/>',
        _north(frame, words.north),
        _scale(frame, words.metres),
    ]
    head = (
        f'<svg class="picture" viewBox="0 0 {frame.width} {frame.height}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg" aria-labelledby="{words.name}-title" '
        f'aria-describedby="{words.name}-desc"><title id="{words.name}-title">{escape(words.title)}</title>'
        f'<desc id="{words.name}-desc">{escape(words.description)}</desc>'
    )
    return themed(f"{head}{''.join(parts)}</svg>")


def thinned(east_m: Floats, north_m: Floats, least_m: float) -> NDArray[np.bool_]:
    """Return which points of a line are kept so that neighbours lie about `least_m` apart; the ends always are."""
    steps = np.hypot(np.diff(east_m, prepend=east_m[:1]), np.diff(north_m, prepend=north_m[:1]))
    number = np.floor(np.nancumsum(steps) / least_m)
    kept = np.r_[True, np.diff(number) > 0]
    kept[-1:] = True
    return np.asarray(kept & np.isfinite(east_m) & np.isfinite(north_m))


def _path(east_m: Floats, north_m: Floats, frame: Frame) -> str:
    kept = thinned(east_m, north_m, 1.2 / frame.scale) if east_m.size else np.zeros(0, dtype=np.bool_)
    points = zip(frame.across(east_m[kept]).tolist(), frame.down(north_m[kept]).tolist(), strict=True)
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) if kept.any() else ""


def _lane(lane: Lane, frame: Frame) -> str:
    path = _path(lane.east_m, lane.north_m, frame)
    stroke, width = (LIGHT.heather_inner, 15) if lane.bold else (LIGHT.rule, 12)
    lines = "".join(
        f"M{x - 9 * dx:.1f} {y + 9 * dy:.1f}L{x + 9 * dx:.1f} {y - 9 * dy:.1f}"
        for x, y, dx, dy in zip(
            frame.across(lane.marks[0][:, 0]).tolist(), frame.down(lane.marks[0][:, 1]).tolist(),
            lane.marks[1][:, 0].tolist(), lane.marks[1][:, 1].tolist(), strict=True,
        )
    )  # fmt: skip
    marks = f'<path d="{lines}" stroke="{LIGHT.edge}" stroke-width="1.5"/>' if lines else ""
    round_ = 'stroke-linejoin="round" stroke-linecap="round"'
    return f'<path d="{path}" fill="none" stroke="{stroke}" stroke-width="{width}" {round_}/>{marks}'


def _way(way: Way, frame: Frame) -> str:
    path = _path(way.east_m, way.north_m, frame)
    if not path:
        return ""
    width, colour = _PACES[way.pace]
    line = 'fill="none" stroke-linejoin="round" stroke-linecap="round"'
    drawn = f'<path d="{path}" {line} stroke="{colour}" stroke-width="{width}"/>'
    if way.pace == "fast":
        drawn += f'<path d="{path}" {line} stroke="{LIGHT.gorse}" stroke-width="{width - 2.8:.1f}"/>'
    return drawn


def _name(lane: Lane, frame: Frame) -> str:
    """Return a gallop's name beside its middle, on the side where there is more room."""
    middle = lane.east_m.size // 2
    x, y = float(frame.across(lane.east_m[middle])), float(frame.down(lane.north_m[middle]))
    right = x < frame.width / 2
    anchor, x = ("start", x + 14) if right else ("end", x - 14)
    y = min(max(y, 16.0), frame.height - _BELOW - 4.0)
    halo = f'stroke="{LIGHT.paper}" stroke-width="4" stroke-linejoin="round" paint-order="stroke"'
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-family="{FONT}" font-size="13" '
        f'fill="{LIGHT.ink}" {halo}>{escape(lane.name)}</text>'
    )


def _begin(way: Way, frame: Frame) -> str:
    x, y = float(frame.across(way.east_m[0])), float(frame.down(way.north_m[0]))
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{LIGHT.card}" stroke="{LIGHT.ink}" stroke-width="2"/>'


def _north(frame: Frame, word: str) -> str:
    x, y = frame.width - 18, 12
    return (
        f'<path d="M{x} {y + 26}V{y}M{x - 5} {y + 8}L{x} {y}L{x + 5} {y + 8}" fill="none" stroke="{LIGHT.soft_ink}" '
        f'stroke-width="1.5"/><text x="{x - 9}" y="{y + 14}" text-anchor="end" font-family="{FONT}" font-size="13" '
        f'fill="{LIGHT.soft_ink}">{escape(word)}</text>'
    )


def _scale(frame: Frame, word: str) -> str:
    longest = frame.width / 3 / frame.scale
    metres = max((one for one in _SCALES if one <= longest), default=_SCALES[0])
    x, y, length = 8, frame.height - 10, metres * frame.scale
    return (
        f'<path d="M{x} {y - 5}V{y}H{x + length:.1f}V{y - 5}" fill="none" stroke="{LIGHT.soft_ink}" '
        f'stroke-width="1.5"/><text x="{x + length + 8:.1f}" y="{y}" font-family="{FONT}" font-size="13" '
        f'fill="{LIGHT.soft_ink}">{escape(word.format(metres=metres))}</text>'
    )
