"""Working hours as people type them: 6-9:30, 10-12.30; 6am to 2pm; 0600-1400. And as they are written back."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import time
from itertools import pairwise

from upsides.errors import HoursUnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import LONGEST, tidy

_CLOCK = r"(\d{1,2})(?:[:.h]?(\d{2}))? ?(am|pm|a\.m\.|p\.m\.)?"
_SPAN = re.compile(rf"{_CLOCK} ?(?:-|to|until|till) ?{_CLOCK}")
_BETWEEN = re.compile(r"[,;+&/]|\band\b")
_EXAMPLE = _("write them as 6-9:30, 10-12:30")


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """Hours in a row on one day.

    Args:
        starts: when they begin.
        ends: when they end, later on the same day.
        rides: whether work is ridden in them.
    """

    starts: time
    ends: time
    rides: bool = False


def read_hours(text: str, *, rides: bool = False) -> tuple[Span, ...]:
    """Read the hours of one day, in order; nothing typed is no hours.

    Raises:
        HoursUnreadableError: they are no hours, end before they start, or overlap.
    """
    if not text.strip():
        return ()
    if len(text) > LONGEST:
        raise HoursUnreadableError(text, _("that is too long for the hours of a day; {example}", example=_EXAMPLE))
    parts = [part.strip() for part in _BETWEEN.split(tidy(text))]
    spans = tuple(sorted(_span(part, text, rides=rides) for part in parts if part))
    if not spans:
        raise HoursUnreadableError(text, _("these are no hours; {example}", example=_EXAMPLE))
    for one, other in pairwise(spans):
        if other.starts < one.ends:
            raise HoursUnreadableError(text, _("two of them overlap; write each hour once"))
    return spans


def written(spans: Iterable[Span]) -> str:
    """Return hours as 6:00–9:30, 10:00–12:30."""
    return ", ".join(f"{clock(span.starts)}–{clock(span.ends)}" for span in spans)


def clock(at: time) -> str:
    """Return a time of day as 6:00."""
    return f"{at.hour}:{at.minute:02}"


def _span(part: str, text: str, *, rides: bool) -> Span:
    found = _SPAN.fullmatch(part)
    if found is None:
        raise HoursUnreadableError(
            text, _("{part!r} is not from one time to another; {example}", part=part, example=_EXAMPLE)
        )
    if _in_doubt(*found.group(1, 3, 4, 6)):
        raise HoursUnreadableError(
            text, _("{part!r} could begin in the morning or the afternoon; write 14-16 or 2pm-4pm", part=part)
        )
    starts, ends = _time(text, *found.group(1, 2, 3)), _time(text, *found.group(4, 5, 6))
    if ends <= starts:
        reason = _(
            "{ends} is not after {starts}; afternoons are 14:00 or 2pm, write a night as two days",
            ends=clock(ends),
            starts=clock(starts),
        )
        raise HoursUnreadableError(text, reason)
    return Span(starts, ends, rides)


def _in_doubt(hour: str, half: str | None, end_hour: str, end_half: str | None) -> bool:
    """Return whether "2-4pm" was meant from the afternoon on: a start without am or pm that fits both ways."""
    if half or not end_half or not end_half.startswith("p"):
        return False
    return 1 <= int(hour) < 12 and int(hour) < int(end_hour) % 12


def _time(text: str, hour: str, minute: str | None, half: str | None) -> time:
    hours, minutes = int(hour), int(minute or 0)
    if half and 1 <= hours <= 12:
        hours = hours % 12 + (12 if half.startswith("p") else 0)
    elif half:
        raise HoursUnreadableError(text, _("there is no {hour} {half}; write 14:00 or 2pm", hour=hour, half=half))
    if hours > 23 or minutes > 59:
        raise HoursUnreadableError(
            text,
            _("there is no {hour}:{minute}; times of day run from 0:00 to 23:59", hour=hour, minute=minute or "00"),
        )
    return time(hours, minutes)
