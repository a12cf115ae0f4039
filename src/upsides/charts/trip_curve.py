"""How likely each distance is a horse's best, and what it is expected to run to over each: drawn directly as SVG.

Distances stand in equal ratios, not in equal steps: half a mile more means less the longer the race.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.charts.theme import FONT, LIGHT, themed

Floats = NDArray[np.float64]

SHORTEST_F, LONGEST_F = 4.25, 20.0
"""The distances at the borders of a picture."""
TICKS_F: Final = (5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 16.0)
FEW_TICKS_F: Final = (5.0, 7.0, 10.0, 16.0)
"""The distances that are named, furlongs; few of them on a small picture."""
SIZES: Final[Mapping[str, tuple[int, int]]] = {"wide": (760, 250), "narrow": (350, 210)}
SMALL: Final = (300, 96)
_LETTERS = 14
_EDGE, _BELOW, _ABOVE = 12, 26, 30
_NARROW = 400
_LINE = f'fill="none" stroke-linejoin="round" stroke-linecap="round" stroke="{LIGHT.ink}"'


@dataclass(frozen=True, slots=True)
class Belief:
    """How likely each distance is the best.

    Args:
        furlongs: rising, in equal ratios.
        share: the chance at each.
        inner: between which it lies one time in two, furlongs.
        outer: between which it lies nine times in ten.
        best: as likely shorter as longer.
    """

    furlongs: Sequence[float]
    share: Sequence[float]
    inner: tuple[float, float]
    outer: tuple[float, float]
    best: float


@dataclass(frozen=True, slots=True)
class Words:
    """What a picture says.

    Args:
        name: unique within the page; ids start with it.
        title: short name of the picture.
        description: what it shows, as a sentence.
        ticks: the distances that are named, furlongs, and what each is called.
        mark: what stands at the best distance, empty for nothing.
    """

    name: str
    title: str
    description: str
    ticks: Mapping[float, str]
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A run as a mark.

    Args:
        furlongs: over which distance.
        figure_lb: what it was worth.
        surface: turf, synthetic or dirt, which give its form.
        words: what is shown on pointing at it.
    """

    furlongs: float
    figure_lb: float
    surface: str
    words: str


@dataclass(frozen=True, slots=True)
class Expected:
    """What a horse is expected to run to, lb.

    Args:
        furlongs: rising distances.
        middle: over each of them.
        low, high: between which it lies four times in five.
    """

    furlongs: Sequence[float]
    middle: Sequence[float]
    low: Sequence[float]
    high: Sequence[float]


def belief_picture(belief: Belief, size: tuple[int, int], words: Words, whole: Belief | None = None) -> str:
    """Draw how likely each distance is the best; `whole` is what everything together says, drawn beside it dotted."""
    box = _Box(_EDGE, size[0] - _EDGE, size[1] - _BELOW)
    top = max(*belief.share, *(whole.share if whole else ()))
    x, y = _heights(belief, box, top)
    parts = [
        _grid(box, words.ticks),
        _area(x, y, box, belief.outer, LIGHT.heather_wide),
        _area(x, y, box, belief.inner, LIGHT.heather_inner),
        f'<path d="M{box.left} {box.base}H{box.right}" stroke="{LIGHT.edge}"/>',
    ]
    if whole:
        dotted = _smooth(*_heights(whole, box, top))
        parts.append(f'<path d="{dotted}" {_LINE} stroke-width="1.5" stroke-dasharray="1 5"/>')
    parts.append(f'<path d="{_smooth(x, y)}" {_LINE} stroke-width="2.5"/>')
    parts.append(_best(belief, x, y, box, words.mark))
    return _svg(size, words, parts)


def small_belief(belief: Belief, words: Words) -> str:
    """Draw the same for a page that is about more than the distance: a curve, its ranges, four distances."""
    return belief_picture(belief, SMALL, words)


def figures_picture(expected: Expected, runs: Sequence[Run], size: tuple[int, int], words: Words) -> str:
    """Draw what a horse is expected to run to over each distance, with the runs it has had."""
    box = _Box(34, size[0] - _EDGE, size[1] - _BELOW)
    values = [*expected.low, *expected.high, *(run.figure_lb for run in runs)]
    scale = _Scale(box.base, min(values) - 2.0, max(values) + 2.0)
    x = box.across(expected.furlongs)
    low, middle, high = (scale.up(line) for line in (expected.low, expected.middle, expected.high))
    parts = [
        _levels(box, scale),
        _grid(box, words.ticks),
        f'<path d="{_smooth(x, high)}{_smooth(x[::-1], low[::-1], on=True)}Z" fill="{LIGHT.heather_wide}"/>',
        f'<path d="{_smooth(x, middle)}" {_LINE} stroke-width="2.5"/>',
        *(_mark(run, float(box.across(run.furlongs)), float(scale.up(run.figure_lb))) for run in runs),
    ]
    return _svg(size, words, parts)


@dataclass(frozen=True, slots=True)
class _Box:
    """Where the plot lies within the picture, px: its left and right border, and its lower one."""

    left: int
    right: int
    base: int

    @property
    def letters(self) -> int:
        """Size of the distances' names: they stand closer together in a narrow picture."""
        return 12 if self.right < _NARROW else 13

    def across(self, furlongs: ArrayLike) -> Floats:
        """Return where distances stand."""
        share = np.log2(np.asarray(furlongs) / SHORTEST_F) / np.log2(LONGEST_F / SHORTEST_F)
        return np.asarray(self.left + share * (self.right - self.left))


@dataclass(frozen=True, slots=True)
class _Scale:
    """How high figures stand: the lower border in px, and the figures at both borders, lb."""

    base: int
    low: float
    high: float

    def up(self, figures: ArrayLike) -> Floats:
        """Return the heights of figures."""
        share = (np.asarray(figures) - self.low) / (self.high - self.low)
        return np.asarray(self.base - share * (self.base - 8.0))


def _heights(belief: Belief, box: _Box, top: float) -> tuple[Floats, Floats]:
    """Return the curve within the box, ends on its borders."""
    x, share = box.across(belief.furlongs), np.array(belief.share)
    inside = (x > box.left) & (x < box.right)
    ends = np.array([max(box.left, x[0]), min(box.right, x[-1])])
    at = np.concatenate([ends[:1], x[inside], ends[1:]])
    keep = np.concatenate([[True], np.diff(at) > 0.05])
    return at[keep], box.base - np.interp(at[keep], x, share) / top * (box.base - _ABOVE)


def _area(x: Floats, y: Floats, box: _Box, between: tuple[float, float], colour: str) -> str:
    low, high = (float(np.clip(box.across(end), x[0], x[-1])) for end in between)
    inside = (x > low) & (x < high)
    at = np.concatenate([[low], x[inside], [high]])
    under = f"{_smooth(at, np.interp(at, x, y))}L{high:.1f} {box.base}H{low:.1f}Z"
    return f'<path d="{under}" fill="{colour}"/>'


def _smooth(x: Floats, y: Floats, *, on: bool = False) -> str:
    """Return a smooth path through points in order of x; `on` goes on from where another path has led."""
    slope = np.gradient(y, x) if x.size > 1 else np.zeros(1)
    third = np.diff(x) / 3.0
    flat = np.column_stack(
        [x[:-1] + third, y[:-1] + slope[:-1] * third, x[1:] - third, y[1:] - slope[1:] * third, x[1:], y[1:]]
    )
    bends = "".join("C" + " ".join(f"{value:.1f}" for value in row) for row in flat.tolist())
    return f"{'L' if on else 'M'}{x[0]:.1f} {y[0]:.1f}{bends}"


def _grid(box: _Box, ticks: Mapping[float, str]) -> str:
    """Return hairlines at the distances that are named, and their names."""
    places = {float(box.across(tick)): name for tick, name in ticks.items()}
    lines = "".join(f"M{x:.1f} {box.base}V8" for x in places)
    words = "".join(f'<text x="{x:.1f}" y="{box.base + 19}">{escape(name)}</text>' for x, name in places.items())
    return f'<path d="{lines}" stroke="{LIGHT.rule}"/><g {_letters("middle", size=box.letters)}>{words}</g>'


def _letters(anchor: str, colour: str = LIGHT.soft_ink, size: int = _LETTERS) -> str:
    return f'font-family="{FONT}" font-size="{size}" fill="{colour}" text-anchor="{anchor}"'


def _levels(box: _Box, scale: _Scale) -> str:
    """Return hairlines at round figures, and what they are, lb."""
    step = next(step for step in (5, 10, 20, 50, 100) if (scale.high - scale.low) / step < 5)
    values = range(int(np.ceil(scale.low / step)) * step, int(scale.high) + 1, step)
    heights = [float(scale.up(value)) for value in values]
    lines = "".join(f"M{box.left} {y:.1f}H{box.right}" for y in heights)
    words = "".join(
        f'<text x="{box.left - 8}" y="{y + 5:.1f}">{value}</text>' for value, y in zip(values, heights, strict=True)
    )
    return f'<path d="{lines}" stroke="{LIGHT.rule}"/><g {_letters("end")}>{words}</g>'


def _best(belief: Belief, x: Floats, y: Floats, box: _Box, mark: str) -> str:
    """Return the yellow dot at the best distance, with its words above."""
    at = float(np.clip(box.across(belief.best), x[0], x[-1]))
    height = float(np.interp(at, x, y))
    dot = f'<circle cx="{at:.1f}" cy="{height:.1f}" r="6" fill="{LIGHT.gorse}" stroke="{LIGHT.ink}" stroke-width="2"/>'
    letters = _letters("middle", LIGHT.ink, _LETTERS + 2)
    return (
        f'{dot}<text x="{at:.1f}" y="{height - 14:.1f}" {letters} font-weight="600">{escape(mark)}</text>'
        if mark
        else dot
    )


def _mark(run: Run, x: float, y: float) -> str:
    """Return a run: round on turf, a diamond on synthetic, a square on dirt."""
    drawn = {
        "synthetic": f"M{x:.1f} {y - 6.5:.1f}l6.5 6.5l-6.5 6.5l-6.5 -6.5z",
        "dirt": f"M{x - 4.6:.1f} {y - 4.6:.1f}h9.2v9.2h-9.2z",
    }.get(run.surface, f"M{x - 5:.1f} {y:.1f}a5 5 0 1 0 10 0a5 5 0 1 0 -10 0z")
    paint = f'fill="{LIGHT.card}" stroke="{LIGHT.ink}" stroke-width="1.5"'
    return f'<path d="{drawn}" {paint}><title>{escape(run.words)}</title></path>'


def _svg(size: tuple[int, int], words: Words, parts: Sequence[str]) -> str:
    """Return one scalable picture, one image to assistive technology."""
    head = (
        f'<svg class="picture" viewBox="0 0 {size[0]} {size[1]}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'aria-labelledby="{words.name}-title" aria-describedby="{words.name}-desc">'
        f'<title id="{words.name}-title">{escape(words.title)}</title>'
        f'<desc id="{words.name}-desc">{escape(words.description)}</desc>'
    )
    return themed(f"{head}{''.join(parts)}</svg>")
