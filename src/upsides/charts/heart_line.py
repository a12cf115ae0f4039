"""The heart against speed: means of a morning as marks, and the line through them where there is one; direct SVG."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from upsides.charts.theme import FONT, LIGHT, themed

SIZES: Final[Mapping[str, tuple[int, int]]] = {"wide": (560, 240), "narrow": (350, 220)}
_LEFT, _RIGHT, _BELOW, _ABOVE = 42, 12, 40, 10


@dataclass(frozen=True, slots=True)
class HeartWords:
    """What the picture says: a name unique within the page, a title, a sentence, and the axis below."""

    name: str
    title: str
    description: str
    axis: str


def heart_picture(
    means: Sequence[tuple[float, float]],
    line: Sequence[tuple[float, float, float, float]],
    size: tuple[int, int],
    words: HeartWords,
) -> str:
    """Draw the heart against speed.

    Args:
        means: speed, m/s, and heart, beats a minute, of each mean; at least one.
        line: speed, and the heart on the line with the ends of its range; empty for no line.
        size: of the picture, px.
        words: what it says.
    """
    speeds, beats = [v for v, _ in means], [h for _, h in means]
    speeds += [v for v, *_ in line]
    beats += [end for _, _, low, high in line for end in (low, high)]
    box = _Box(size, (min(speeds) - 0.5, max(speeds) + 0.5), (min(beats) - 6, max(beats) + 6))
    marks = "".join(
        f'<circle cx="{box.x(v):.1f}" cy="{box.y(h):.1f}" r="4" fill="{LIGHT.card}" stroke="{LIGHT.ink}" '
        'stroke-width="1.5"/>'
        for v, h in means
    )
    head = (
        f'<svg class="picture" viewBox="0 0 {size[0]} {size[1]}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'aria-labelledby="{words.name}-title" aria-describedby="{words.name}-desc">'
        f'<title id="{words.name}-title">{escape(words.title)}</title>'
        f'<desc id="{words.name}-desc">{escape(words.description)}</desc>'
    )
    axis = (
        f'<text x="{(_LEFT + size[0] - _RIGHT) / 2:.0f}" y="{size[1] - 4}" {_letters("middle")}>'
        f"{escape(words.axis)}</text>"
    )
    return themed(f"{head}{_grid(box)}{_line(box, line)}{marks}{axis}</svg>")


@dataclass(frozen=True, slots=True)
class _Box:
    """Where speeds and beats stand."""

    size: tuple[int, int]
    speeds: tuple[float, float]
    beats: tuple[float, float]

    def x(self, speed: float) -> float:
        """Return px from the left."""
        low, high = self.speeds
        return _LEFT + (speed - low) / (high - low) * (self.size[0] - _LEFT - _RIGHT)

    def y(self, beats: float) -> float:
        """Return px from above."""
        low, high = self.beats
        base = self.size[1] - _BELOW
        return base - (beats - low) / (high - low) * (base - _ABOVE)


def _line(box: _Box, line: Sequence[tuple[float, float, float, float]]) -> str:
    if not line:
        return ""
    upper = "L".join(f"{box.x(v):.1f} {box.y(high):.1f}" for v, _, _, high in line)
    lower = "L".join(f"{box.x(v):.1f} {box.y(low):.1f}" for v, _, low, _ in reversed(line))
    middle = "L".join(f"{box.x(v):.1f} {box.y(h):.1f}" for v, h, _, _ in line)
    return (
        f'<path d="M{upper}L{lower}Z" fill="{LIGHT.heather_wide}"/>'
        f'<path d="M{middle}" fill="none" stroke="{LIGHT.ink}" stroke-width="2.5" stroke-linecap="round"/>'
    )


def _grid(box: _Box) -> str:
    base = box.size[1] - _BELOW
    beats = _round_numbers(box.beats, (10, 20, 40))
    speeds = _round_numbers(box.speeds, (1, 2, 4))
    lines = "".join(f"M{_LEFT} {box.y(at):.1f}H{box.size[0] - _RIGHT}" for at in beats)
    lines += "".join(f"M{box.x(at):.1f} {base}V{_ABOVE}" for at in speeds)
    down = "".join(f'<text x="{_LEFT - 8}" y="{box.y(at) + 5:.1f}">{at}</text>' for at in beats)
    across = "".join(f'<text x="{box.x(at):.1f}" y="{base + 17}">{at}</text>' for at in speeds)
    return (
        f'<path d="{lines}" stroke="{LIGHT.rule}"/><g {_letters("end")}>{down}</g><g {_letters("middle")}>{across}</g>'
    )


def _round_numbers(ends: tuple[float, float], steps: Sequence[int]) -> list[int]:
    step = next((one for one in steps if (ends[1] - ends[0]) / one <= 7), steps[-1])
    first = int(-(-ends[0] // step)) * step
    return list(range(first, int(ends[1]) + 1, step))


def _letters(anchor: str) -> str:
    return f'font-family="{FONT}" font-size="13" fill="{LIGHT.soft_ink}" text-anchor="{anchor}"'
