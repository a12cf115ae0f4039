"""How far a horse went each week at which speed: a bar a week, parted by speed; drawn directly as SVG."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from upsides.charts.theme import FONT, LIGHT, themed

SIZES: Final[Mapping[str, tuple[int, int]]] = {"wide": (760, 190), "narrow": (350, 170)}
FILLS: Final = (LIGHT.rule, LIGHT.heather_inner, LIGHT.heather, LIGHT.ink)
"""Of the parts, from the slowest."""
_LEFT, _RIGHT, _BELOW, _ABOVE = 52, 8, 26, 10
_STEPS_M: Final = (500, 1000, 2000, 5000, 10000, 20000, 50000)
_WIDEST: Final = 28.0


@dataclass(frozen=True, slots=True)
class Week:
    """A week.

    Attributes:
        label: its first day in short words.
        metres: how far in each part of speed, the slowest first.
        said: the week in words.
    """

    label: str
    metres: tuple[float, ...]
    said: str


@dataclass(frozen=True, slots=True)
class BarWords:
    """What the picture says: a name unique within the page, a title, a sentence, and a level with {km}."""

    name: str
    title: str
    description: str
    km: str


def week_bars(weeks: Sequence[Week], size: tuple[int, int], words: BarWords) -> str:
    """Draw the weeks, at least one, in their order."""
    width, height = size
    base, room = height - _BELOW, width - _LEFT - _RIGHT
    top = max(1.0, *(sum(week.metres) for week in weeks))
    step = next((one for one in _STEPS_M if top / one <= 4), _STEPS_M[-1])
    scale = (base - _ABOVE) / top
    pitch = room / len(weeks)
    parts = [_levels(top, step, scale, size, words.km)]
    every = max(1, -(-len(weeks) // max(1, room // 62)))
    for place, week in enumerate(weeks):
        x = _LEFT + pitch * (place + 0.5)
        parts.append(_bar(week, x, min(_WIDEST, pitch * 0.72), base, scale))
        if place % every == 0:
            parts.append(f'<text x="{x:.1f}" y="{base + 18}" {_letters("middle")}>{escape(week.label)}</text>')
    parts.append(f'<path d="M{_LEFT} {base}H{width - _RIGHT}" stroke="{LIGHT.edge}"/>')
    head = (
        f'<svg class="picture" viewBox="0 0 {width} {height}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'aria-labelledby="{words.name}-title" aria-describedby="{words.name}-desc">'
        f'<title id="{words.name}-title">{escape(words.title)}</title>'
        f'<desc id="{words.name}-desc">{escape(words.description)}</desc>'
    )
    return themed(f"{head}{''.join(parts)}</svg>")


def _bar(week: Week, x: float, width: float, base: float, scale: float) -> str:
    drawn, y = [], base
    for metres, fill in zip(week.metres, FILLS, strict=True):
        high = metres * scale
        if high > 0:
            y -= high
            drawn.append(
                f'<rect x="{x - width / 2:.1f}" y="{y:.1f}" width="{width:.1f}" height="{high:.1f}" fill="{fill}" '
                f'stroke="{LIGHT.edge}" stroke-width="0.75"/>'
            )
    return f"<g><title>{escape(week.said)}</title>{''.join(drawn)}</g>" if drawn else ""


def _levels(top: float, step: float, scale: float, size: tuple[int, int], word: str) -> str:
    base = size[1] - _BELOW
    found = [step * k for k in range(1, int(top / step) + 1)]
    heights = [(base - metres * scale, metres) for metres in found]
    lines = "".join(f"M{_LEFT} {y:.1f}H{size[0] - _RIGHT}" for y, _ in heights)
    words = "".join(
        f'<text x="{_LEFT - 6}" y="{y + 5:.1f}">{escape(word.format(km=f"{metres / 1000:g}"))}</text>'
        for y, metres in heights
    )
    return f'<path d="{lines}" stroke="{LIGHT.rule}"/><g {_letters("end")}>{words}</g>'


def _letters(anchor: str) -> str:
    return f'font-family="{FONT}" font-size="13" fill="{LIGHT.soft_ink}" text-anchor="{anchor}"'
