"""Four legs as lines, drawn here: each limb seen from its own side, cut into the places that entries name.

A limb is drawn by where its front and its back lie at some heights, in units of the picture; between them both run
smoothly. The near side looks to the left, the off side is the same the other way round.
"""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from upsides.books.diary.legs import LIMBS

WIDTH: Final = 84
"""Width of a limb's picture with the room beside it."""
Line = Sequence[tuple[float, float]]

FORE_FRONT: Final[Line] = (
    (0, 25), (30, 27.5), (64, 30), (78, 28.5), (94, 28), (108, 29.5), (120, 31.5), (140, 32.5), (180, 32.8), (206, 32),
    (218, 30.5), (232, 28), (246, 27), (262, 24.5), (285, 18.5), (306, 12.5), (316, 11), (332, 9.5), (346, 8), (400, 3),
)  # fmt: skip
FORE_BACK: Final[Line] = (
    (0, 65), (20, 61.5), (40, 57.5), (64, 54.5), (74, 56.5), (84, 59.5), (94, 59), (106, 55), (120, 53), (140, 52.5),
    (180, 52.5), (206, 53.5), (218, 55.5), (230, 58.5), (242, 59), (254, 56), (266, 52), (285, 48), (306, 46.5),
    (316, 48), (332, 51), (346, 52), (400, 56),
)  # fmt: skip
HIND_FRONT: Final[Line] = (
    (0, 11), (22, 19), (44, 26), (64, 31), (78, 33), (92, 33.2), (106, 32.6), (120, 33), (140, 34), (180, 34.5),
    (206, 34), (218, 32.5), (232, 30), (246, 29), (262, 26.5), (285, 21), (306, 15.5), (316, 14), (332, 12.5),
    (346, 11), (400, 6.5),
)  # fmt: skip
HIND_BACK: Final[Line] = (
    (0, 57), (22, 56.5), (44, 59), (60, 65), (70, 69), (78, 69.5), (86, 66.5), (98, 61), (108, 57.5), (120, 55.8),
    (140, 55), (180, 55), (206, 56), (218, 58), (230, 61), (242, 61.5), (254, 58.5), (266, 54.5), (285, 50.5),
    (306, 49), (316, 50.5), (332, 53), (346, 54), (400, 58),
)  # fmt: skip
TENDON: Final = {"fore": 44.0, "hind": 46.5}
"""Where the tendon begins behind the cannon bone."""
ROWS: Final = ((0, 64), (64, 120), (120, 216), (216, 262), (262, 306), (306, 346), (346, 400))
"""Where each place begins and ends: above, knee or hock, cannon bone and tendon, fetlock, pastern, coronet, foot."""
TILT: Final = {262: 3, 306: 6, 346: 7}
"""How much higher a line across the limb lies in front than in the middle, and lower behind."""
STEPS: Final = 14
"""Into how many pieces an outline is cut."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One place of one limb.

    Args:
        limb: of `LIMBS`.
        place: of `PLACES`.
        box: what of the limb's picture it takes, as SVG has it.
        front, back: the outlines of its two halves.
        edges: its outline on the left and right, and the lines across the limb where it begins and ends.
    """

    limb: str
    place: str
    box: str
    front: str
    back: str
    edges: str

    @property
    def key(self) -> str:
        """Return the spot as a form says it."""
        return f"{self.limb} {self.place}"


@cache
def limbs() -> Mapping[str, tuple[Spot, ...]]:
    """Return the spots of each limb, from above downwards."""
    return {limb: tuple(_spots(limb)) for limb in LIMBS}


def _spots(limb: str) -> list[Spot]:
    part = limb.partition("_")[2]
    places = ["above", "knee" if part == "fore" else "hock", "cannon", "fetlock", "pastern", "coronet", "foot"]
    found = []
    for place, (top, end) in zip(places, ROWS, strict=True):
        if place != "cannon":
            found.append(_spot(limb, place, top, end))
            continue
        halves = (_spot(limb, "cannon", top, end), _spot(limb, "tendon", top, end))
        found += halves if limb.startswith("near") else reversed(halves)
    return found


def _spot(limb: str, place: str, top: int, end: int) -> Spot:
    part, off = limb.partition("_")[2], limb.startswith("off")
    split = TENDON[part]
    front = _along(FORE_FRONT if part == "fore" else HIND_FRONT, top - TILT.get(top, 0), end - TILT.get(end, 0))
    back = _along(FORE_BACK if part == "fore" else HIND_BACK, top + TILT.get(top, 0), end + TILT.get(end, 0))
    left, right = 0.0, float(WIDTH)
    if place == "cannon":
        back, right = [(y, split) for y, _ in back], split
    elif place == "tendon":
        front, left = [(y, split) for y, _ in front], split
    middle = [((y + low) / 2, (x + other) / 2) for (y, x), (low, other) in zip(front, back, strict=True)]
    if off:
        front, back, middle = _mirrored(front), _mirrored(back), _mirrored(middle)
        left, right = WIDTH - right, WIDTH - left
    across = _path([front[0], back[0]]) * (top > 0) + _path([front[-1], back[-1]])
    box = f"{left:g} {top} {right - left:g} {end - top}"
    return Spot(limb, place, box, _closed(front, middle), _closed(middle, back), _path(front) + _path(back) + across)


def _along(line: Line, top: float, end: float) -> list[tuple[float, float]]:
    heights = [top + (end - top) * step / STEPS for step in range(STEPS + 1)]
    return [(y, _at(line, y)) for y in heights]


def _mirrored(line: Line) -> list[tuple[float, float]]:
    return [(y, WIDTH - x) for y, x in line]


def _at(line: Line, y: float) -> float:
    """Return where a line lies at a height: a curve through its points that runs on smoothly (Catmull and Rom)."""
    place = min(max(bisect_right([at for at, _ in line], y) - 1, 0), len(line) - 2)
    (y0, x0), (y1, x1) = line[place], line[place + 1]
    share = (y - y0) / (y1 - y0)
    before, after = line[max(place - 1, 0)], line[min(place + 2, len(line) - 1)]
    rise0, rise1 = (x1 - before[1]) / (y1 - before[0]), (after[1] - x0) / (after[0] - y0)
    square, cube, length = share**2, share**3, y1 - y0
    return (
        (2 * cube - 3 * square + 1) * x0
        + (cube - 2 * square + share) * length * rise0
        + (3 * square - 2 * cube) * x1
        + (cube - square) * length * rise1
    )


def _path(line: Line) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for y, x in line)


def _closed(one: Line, other: Line) -> str:
    return f"{_path([*one, *reversed(other)])}Z"
