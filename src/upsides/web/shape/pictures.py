"""Where people put a horse between the two ends of a trait, as a small picture."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from upsides.trip.traits import HIGHEST, LOWEST, MIDDLE

WIDTH, EDGE, STEP = 360, 20, 40
"""Width of the picture, the place of the lowest score, and the way from score to score, in its own units."""
ROOM, RADIUS = 27, 12
"""Height of one dot with the room around it, and its radius."""


@dataclass(frozen=True, slots=True)
class Dot:
    """One person's score.

    Args:
        mark: the letters that stand for the person.
        score: 1 to 9.
        own: whether it is the reader's.
    """

    mark: str
    score: int
    own: bool


def line(dots: Sequence[Dot], mean: float | None) -> SafeString:
    """Return a line from 1 to 9 with a dot for each person, the way between them, and their mean where there is one.

    What it shows stands beside it in words, so it is hidden from those who listen.
    """
    tallest = max(sum(other.score == one.score for other in dots) for one in dots)
    base = (tallest - 1) * ROOM + RADIUS + 3
    return format_html(
        '<svg class="between" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">{}{}{}{}</svg>',
        WIDTH,
        base + RADIUS + 13,
        _scale(base),
        _way([one.score for one in dots], base),
        _dots(dots, base),
        _under(mean, base) if mean is not None else "",
    )


def _scale(base: int) -> SafeString:
    ticks = [(_place(score), base) for score in range(LOWEST, HIGHEST + 1)]
    track = '<path class="track" d="M{} {}H{}M{} {}v14"/>'
    drawn = format_html(track, _place(LOWEST), base, _place(HIGHEST), _place(MIDDLE), base - 7)
    return drawn + format_html_join("", '<circle class="tick" cx="{}" cy="{}" r="2"/>', ticks)


def _way(scores: Sequence[int], base: int) -> SafeString:
    low, high = _place(min(scores)), _place(max(scores))
    return format_html('<path class="way" d="M{} {}H{}"/>', low, base, high) if high > low else SafeString("")


def _under(mean: float, base: int) -> SafeString:
    """Return a small triangle that points at the mean from below the dots."""
    return format_html('<path class="mean" d="M{} {}l-5 8h10z"/>', _place(mean), base + RADIUS + 3)


def _dots(dots: Sequence[Dot], base: int) -> SafeString:
    below = [sum(other.score == one.score for other in dots[:place]) for place, one in enumerate(dots)]
    rows = [
        ("own" if one.own else "other", _place(one.score), base - ROOM * under, RADIUS, one.mark)
        for one, under in zip(dots, below, strict=True)
    ]
    drawn = '<g class="{}" transform="translate({} {})"><circle r="{}"/><text dy="0.35em">{}</text></g>'
    return format_html_join("", drawn, rows)


def _place(score: float) -> int:
    return round(EDGE + (score - LOWEST) * STEP)
