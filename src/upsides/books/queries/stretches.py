"""When recordings tell something, and whether two of them are of the same time."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from upsides.books import clock
from upsides.recordings.measured import Measured, Piece

LONGEST: Final = timedelta(hours=12)
"""No horse is out for longer: of a longer recording only the stretches count on which something was measured."""
JOINED: Final = timedelta(minutes=10)
"""Bouts with no longer pause between them are one stretch. Our own choice."""
SAME: Final = 0.5
"""Two recordings that share more than this part of the shorter one's time are of the same time. Our own choice."""

Span = tuple[datetime, datetime]


def same_time(some: Sequence[Span], others: Sequence[Span]) -> bool:
    """Return whether two recordings, or works, share more than half of the shorter one's time."""
    shared = sum(max(0.0, _seconds((max(one[0], two[0]), min(one[1], two[1])))) for one in some for two in others)
    return shared > SAME * min(sum(map(_seconds, some)), sum(map(_seconds, others)))


def stretches_of(measured: Measured | None, began: datetime, ended: datetime) -> list[Span]:
    """Return when a recording tells something.

    That is from its beginning to its end; of one longer than any horse is out its bouts, and without those the first
    hours.
    """
    if ended - began <= LONGEST:
        return [(began, ended)]
    bouts = measured.bouts if measured is not None else ()
    return joined([span_of(one.start_s, one.seconds) for one in bouts]) or [(began, began + LONGEST)]


def begun(measured: Measured | None, began: datetime, ended: datetime) -> datetime:
    """Return when a recording began; of one longer than any horse is out, the stretch in which it went farthest."""
    if ended - began <= LONGEST or measured is None or not measured.bouts:
        return began
    spans = stretches_of(measured, began, ended)
    return max(spans, key=lambda span: sum(one.metres for one in measured.bouts if _within(one, span)))[0]


def _within(one: Piece, span: Span) -> bool:
    return span[0].timestamp() <= one.start_s <= span[1].timestamp()


def span_of(start_s: Any, seconds: Any) -> Span:
    """Return the time of a bout from its beginning, seconds since 1970, and how long it lasted."""
    start = datetime.fromtimestamp(float(start_s), clock.place().zone)
    return start, start + timedelta(seconds=float(seconds or 0.0))


def joined(spans: Sequence[Span]) -> list[Span]:
    """Return spans in the order of time, those with hardly a pause between them as one; a longer one is cut."""
    found: list[Span] = []
    for start, end in sorted((start, min(end, start + LONGEST)) for start, end in spans):
        if found and start - found[-1][1] <= JOINED:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def meet(some: Sequence[Span], others: Sequence[Span]) -> bool:
    """Return whether one of some spans has a moment in common with one of others."""
    return any(one[0] < other[1] and other[0] < one[1] for one in some for other in others)


def _seconds(span: Span) -> float:
    return (span[1] - span[0]).total_seconds()
