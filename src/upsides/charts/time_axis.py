"""Everything of a horse on one time axis: distance by speed, fast work and runs, figures, mass, temperature, the heart.

Drawn directly as SVG: rows one below the other, so that what happened on a day stands in one line from top to bottom.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from html import escape
from typing import Final, Literal

from upsides.charts.theme import FONT, LIGHT, themed
from upsides.charts.week_bars import FILLS

SIZES: Final[Mapping[str, tuple[int, int]]] = {"wide": (760, 26), "narrow": (350, 13)}
"""Width in px, and how many weeks are drawn."""
_LEFT, _RIGHT, _TITLE, _FOOT = 44, 8, 20, 24
_STEPS_M: Final = (1000, 2000, 5000, 10000, 20000, 50000, 100000)
Row = Literal["distance", "marks", "figures", "recovery", "mass", "temperature", "left", "treated"]
HEIGHTS: Final[Mapping[Row, int]] = {
    "distance": 92, "marks": 26, "figures": 50, "recovery": 56,
    "mass": 74, "temperature": 56, "left": 34, "treated": 24,
}  # fmt: skip
LEAST: Final = {"figures": 10.0, "recovery": 10.0, "temperature": 0.5}
"""A row is drawn over so much at least, so that a pound more does not look like a leap."""


@dataclass(frozen=True, slots=True)
class Week:
    """A week from a Monday on: how far in each part of speed, the slowest first, and the week in words."""

    monday: date
    metres: tuple[float, ...]
    said: str


@dataclass(frozen=True, slots=True)
class Dot:
    """A value of a day, and it in words."""

    day: date
    value: float
    said: str


@dataclass(frozen=True, slots=True)
class Mark:
    """Something of a day: a run, fast work, or what was given or found; and it in words."""

    day: date
    kind: Literal["run", "fast", "treated", "found"]
    said: str


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """What is drawn.

    Attributes:
        last: the last day.
        weeks: of distance by speed.
        marks: runs, days of fast work, what was given or found.
        mass: masses in kg.
        racing_kg: the horse's racing mass, drawn as a dotted line; None where it has none.
        temperature: in °C.
        left: share of the feed that was left, 0 to 1.
        recovery: the heart a minute after work.
        figures: of its runs, lb.
    """

    last: date
    weeks: Sequence[Week]
    marks: Sequence[Mark]
    mass: Sequence[Dot]
    racing_kg: float | None
    temperature: Sequence[Dot]
    left: Sequence[Dot]
    recovery: Sequence[Dot] = ()
    figures: Sequence[Dot] = ()


@dataclass(frozen=True, slots=True)
class AxisWords:
    """What the picture says.

    Attributes:
        name: unique within the page.
        title, description: of the whole, for those who cannot see it.
        rows: the title above each row.
        km: a distance with {km}.
        months: short names of the months, January first.
    """

    name: str
    title: str
    description: str
    rows: Mapping[Row, str]
    km: str
    months: Sequence[str]


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where days stand across, and where a row stands down."""

    first: date
    last: date
    width: int
    top: float = 0.0
    height: float = 0.0

    def x(self, day: date) -> float:
        room = self.width - _LEFT - _RIGHT
        return _LEFT + room * ((day - self.first).days + 0.5) / ((self.last - self.first).days + 1)

    def shows(self, day: date) -> bool:
        return self.first <= day <= self.last

    @property
    def base(self) -> float:
        return self.top + self.height


def _frame(told: TimeAxis, size: str) -> _Frame:
    width, weeks = SIZES[size]
    monday = told.last - timedelta(days=told.last.weekday())
    return _Frame(monday - timedelta(weeks=weeks - 1), monday + timedelta(days=6), width)


def empty_rows(told: TimeAxis, size: str) -> list[Row]:
    """Return the rows in which nothing stands, `wide` or `narrow`: they are not drawn."""
    frame = _frame(told, size)
    return [row for row in HEIGHTS if not _row(row, told, frame, "{km}")]


def time_axis(told: TimeAxis, size: str, words: AxisWords) -> str:
    """Draw the axis, `wide` or `narrow`; rows in which nothing stands are left out."""
    frame, width = _frame(told, size), SIZES[size][0]
    parts, top = [], 0.0
    for row, height in HEIGHTS.items():
        here = _Frame(frame.first, frame.last, width, top + _TITLE, height)
        drawn = _row(row, told, here, words.km)
        if drawn:
            parts += [_title(words.rows[row], top), drawn]
            top = here.base + 6
    months = _months(frame, top, words.months)
    name = f"{words.name}-{size}"
    head = (
        f'<svg class="picture" viewBox="0 0 {width} {top + _FOOT:.0f}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'aria-labelledby="{name}-title" aria-describedby="{name}-desc">'
        f'<title id="{name}-title">{escape(words.title)}</title>'
        f'<desc id="{name}-desc">{escape(words.description)}</desc>'
    )
    return themed(f"{head}{months}{''.join(parts)}</svg>")


def _row(row: Row, told: TimeAxis, frame: _Frame, km: str) -> str:
    """Return what stands in a row, empty for nothing."""
    match row:
        case "distance":
            return _bars(told.weeks, frame, km)
        case "marks":
            return _marks([one for one in told.marks if one.kind in {"fast", "run"}], frame)
        case "treated":
            return _marks([one for one in told.marks if one.kind in {"treated", "found"}], frame)
        case "mass":
            return _dots(told.mass, frame, told.racing_kg, joined=True)
        case "figures" | "recovery" | "temperature":
            dots = {"figures": told.figures, "recovery": told.recovery, "temperature": told.temperature}[row]
            return _dots(dots, frame, None, joined=row == "figures", least=LEAST[row])
        case "left":
            return _left(told.left, frame)


def _bars(weeks: Sequence[Week], frame: _Frame, km: str) -> str:
    shown = [one for one in weeks if frame.shows(one.monday)]
    highest = max((sum(one.metres) for one in shown), default=0.0)
    if not highest:
        return ""
    step = next((one for one in _STEPS_M if highest / one <= 3), _STEPS_M[-1])
    scale = frame.height / highest
    levels = [step * k for k in range(1, int(highest / step) + 1)]
    parts = [_levels(frame, [(frame.base - one * scale, km.format(km=f"{one / 1000:g}")) for one in levels])]
    pitch = frame.x(frame.first + timedelta(days=7)) - frame.x(frame.first)
    for one in shown:
        x, y, drawn = frame.x(one.monday) - pitch / 14, frame.base, []
        for metres, fill in zip(one.metres, FILLS, strict=True):
            if metres > 0:
                y -= metres * scale
                drawn.append(
                    f'<rect x="{x + pitch * 0.12:.1f}" y="{y:.1f}" width="{pitch * 0.76:.1f}" '
                    f'height="{metres * scale:.1f}" fill="{fill}" stroke="{LIGHT.edge}" stroke-width="0.75"/>'
                )
        parts.append(f"<g><title>{escape(one.said)}</title>{''.join(drawn)}</g>")
    return "".join([*parts, _ground(frame)])


def _marks(marks: Sequence[Mark], frame: _Frame) -> str:
    drawn, y = [], frame.top + frame.height / 2
    for one in sorted(marks, key=lambda mark: (mark.kind != "fast", mark.day)):
        if not frame.shows(one.day):
            continue
        x = frame.x(one.day)
        if one.kind == "run":
            shape = f'<path d="M{x:.1f} {y - 8:.1f}l8 8l-8 8l-8 -8Z" fill="{LIGHT.gorse}" stroke="{LIGHT.ink}"/>'
        elif one.kind == "found":
            shape = f'<rect x="{x - 4.5:.1f}" y="{y - 4.5:.1f}" width="9" height="9" fill="{LIGHT.card}" {_EDGED}/>'
        else:
            fill = LIGHT.ink if one.kind == "fast" else LIGHT.heather
            shape = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{fill}"/>'
        drawn.append(f"<g><title>{escape(one.said)}</title>{shape}</g>")
    return "".join([*drawn, _ground(frame)]) if drawn else ""


_EDGED: Final = f'stroke="{LIGHT.ink}" stroke-width="1.5"'


def _dots(dots: Sequence[Dot], frame: _Frame, line: float | None, *, joined: bool, least: float = 0.5) -> str:
    shown = sorted((one for one in dots if frame.shows(one.day)), key=lambda one: one.day)
    if not shown:
        return ""
    values = [one.value for one in shown] + ([line] if line is not None else [])
    low, high = min(values), max(values)
    room = max(high - low, least)
    scale = (frame.height - 10) / room

    def y(value: float) -> float:
        return frame.base - 5 - (value - low) * scale

    ends = [low, high] if high - low >= 0.05 else [low]
    parts = [_levels(frame, [(y(one), f"{one:g}") for one in ends])]
    if line is not None:
        parts.append(
            f'<path d="M{_LEFT} {y(line):.1f}H{frame.width - _RIGHT}" stroke="{LIGHT.heather}" stroke-width="1.5" '
            'stroke-dasharray="4 4" fill="none"/>'
        )
    if joined:
        way = "L".join(f"{frame.x(one.day):.1f} {y(one.value):.1f}" for one in shown)
        parts.append(f'<path d="M{way}" stroke="{LIGHT.soft_ink}" stroke-width="1.25" fill="none"/>')
    radius = 3 if joined else 2
    parts += [
        f'<circle cx="{frame.x(one.day):.1f}" cy="{y(one.value):.1f}" r="{radius}" fill="{LIGHT.ink}">'
        f"<title>{escape(one.said)}</title></circle>"
        for one in shown
    ]
    return "".join(parts)


def _left(dots: Sequence[Dot], frame: _Frame) -> str:
    """Draw what was left as bars of the share; a stroke on the ground says that nothing was."""
    shown = [one for one in dots if frame.shows(one.day)]
    if not shown:
        return ""
    bars = [
        f'<path d="M{frame.x(one.day):.1f} {frame.base:.1f}V{frame.base - max(one.value * frame.height, 2.5):.1f}" '
        f'stroke="{LIGHT.ink if one.value else LIGHT.edge}" stroke-width="3"><title>{escape(one.said)}</title></path>'
        for one in shown
    ]
    return "".join([_ground(frame), *bars])


def _levels(frame: _Frame, levels: Sequence[tuple[float, str]]) -> str:
    lines = "".join(f"M{_LEFT} {y:.1f}H{frame.width - _RIGHT}" for y, _ in levels)
    words = "".join(f'<text x="{_LEFT - 6}" y="{y + 4.5:.1f}">{escape(word)}</text>' for y, word in levels)
    return f'<path d="{lines}" stroke="{LIGHT.rule}"/><g {_letters("end", 12)}>{words}</g>'


def _ground(frame: _Frame) -> str:
    return f'<path d="M{_LEFT} {frame.base:.1f}H{frame.width - _RIGHT}" stroke="{LIGHT.edge}"/>'


def _title(words: str, top: float) -> str:
    return f'<text x="{_LEFT}" y="{top + 14:.1f}" {_letters("start", 13)}>{escape(words)}</text>'


def _months(frame: _Frame, top: float, names: Sequence[str]) -> str:
    """Return a line through all rows where each month begins, its name below."""
    days = [frame.first + timedelta(days=k) for k in range((frame.last - frame.first).days + 1)]
    firsts = [day for day in days if day.day == 1]
    lines = "".join(f"M{frame.x(day) - 1:.1f} {_TITLE}V{top:.1f}" for day in firsts)
    words = "".join(
        f'<text x="{frame.x(day) + 2:.1f}" y="{top + 16:.1f}">{escape(names[day.month - 1])}</text>'
        for day in firsts
        if frame.x(day) < frame.width - 40
    )
    return f'<path d="{lines}" stroke="{LIGHT.rule}"/><g {_letters("start", 13)}>{words}</g>'


def _letters(anchor: str, size: int) -> str:
    return f'font-family="{FONT}" font-size="{size}" fill="{LIGHT.soft_ink}" text-anchor="{anchor}"'
