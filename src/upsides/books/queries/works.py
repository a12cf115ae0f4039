"""What a horse worked: by its tracker, by a thumb on a stopwatch, and, where nobody measured, by what was ordered."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from math import nan

from upsides.books import clock
from upsides.books.diary.clocked import INSTRUCTION_OF, Clocked
from upsides.books.diary.work import FAST, Exercise, Ordered
from upsides.books.models import Entry
from upsides.books.queries.days import day_span, entries_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.outings import Done, of_horse
from upsides.books.queries.pieces import as_ordered
from upsides.books.queries.stretches import Span, same_time, span_of
from upsides.recordings.measured import Piece
from upsides.recordings.stopwatch import sections, splits_of
from upsides.recordings.work import Work
from upsides.trade.units import FURLONG_M

APART_S = 300.0
"""A stopwatch that was started within so much of a tracker's work was on the same work: clocks of phones differ."""


def worked(moment: Moment, horse: int, first: date, last: date) -> list[Work]:
    """Return the pieces of work of a horse from one day to another, both included, the last first.

    A work that a tracker and a stopwatch measured is one work: the tracker's, with what was said of it at the stopwatch
    and the stopwatch's own times in `thumb`. On a day on which nothing was measured the order stands, or what the diary
    says was done; an order of a day that is not over says nothing yet.

    Args:
        moment: when to look from.
        horse: its number.
        first: the first day, on the yard's calendar.
        last: the last.
    """
    orders = _orders(moment, horse, first, last)
    by_tracker = _by_trackers(of_horse(moment, horse, first, last), orders)
    by_thumb = [_by_thumb(entry, orders) for entry in _of_kinds(moment, [Clocked.name], horse, first, last)]
    measured = _joined(by_tracker, by_thumb)
    days = {_day(work.when) for work in measured}
    said = [_as_said(horse, day, one) for day, one in orders.items() if day not in days and one.counts(day, moment)]
    found = [*measured, *(work for work in said if work is not None)]
    return sorted(found, key=lambda work: work.when, reverse=True)


@dataclass(frozen=True, slots=True)
class _Said:
    """The last that was ordered for a horse and a day, and what the diary says that it did."""

    order: Ordered | None = None
    done: Exercise | None = None
    entry: int | None = None

    @property
    def last(self) -> Ordered | Exercise | None:
        """Return what counts: what was done, else what was ordered."""
        return self.done or self.order

    def counts(self, day: date, moment: Moment) -> bool:
        """Return whether it says something of a day already."""
        return self.done is not None or day < moment.day


def _of_kinds(moment: Moment, kinds: Sequence[str], horse: int, first: date, last: date) -> list[Entry]:
    return list(entries_of(moment, kinds, first, last, [horse]))


def _orders(moment: Moment, horse: int, first: date, last: date) -> dict[date, _Said]:
    found: dict[date, _Said] = {}
    for entry in _of_kinds(moment, [Ordered.name, Exercise.name], horse, first, last):
        day = _day(entry.happened_at)
        before = found.get(day, _Said())
        if entry.kind == Exercise.name:
            found[day] = replace(before, done=Exercise.kept_as(entry.values), entry=entry.pk)
        else:
            number = before.entry if before.done is not None else entry.pk
            found[day] = replace(before, order=Ordered.kept_as(entry.values), entry=number)
    return found


def _by_trackers(outings: Sequence[Done], orders: dict[date, _Said]) -> list[Work]:
    """Return the works of outings; of two recordings of the same time the one that shows more counts."""
    found: list[tuple[Done, Piece, Span]] = []
    for done in sorted(outings, key=lambda one: one.outing.metres, reverse=True):
        for piece in done.measured.works:
            span = span_of(piece.start_s, piece.seconds)
            if not any(same_time([span], [other]) for _done, _piece, other in found):
                found.append((done, piece, span))
    days: dict[date, list[Piece]] = {}
    for done, piece, _span in found:
        days.setdefault(done.outing.day, []).append(piece)
    return [_by_tracker(done, piece, days[done.outing.day], orders) for done, piece, _span in found]


def _by_tracker(done: Done, piece: Piece, of_day: Sequence[Piece], orders: dict[date, _Said]) -> Work:
    """Return what a tracker says; the day's order is that of the pieces which it fits, and no other's."""
    on, order = piece.gallop, orders.get(done.outing.day, _Said()).last
    meant = order if order is not None and piece in as_ordered(of_day, order) else None
    exercise = meant.exercise if meant is not None else ""
    return Work(
        horse=done.outing.horse_id,
        when=datetime.fromtimestamp(piece.start_s, UTC),
        source="tracker",
        exercise=exercise,
        gallop=on.number if on is not None else None,
        forward=on.forward if on is not None else None,
        metres=piece.metres,
        told_m=piece.told_m,
        seconds=piece.seconds,
        splits=piece.splits,
        speed_ms=piece.speed_ms,
        speed_sd_ms=piece.speed_sd_ms,
        instruction=INSTRUCTION_OF.get(exercise, ""),
        rider=order.rider if order is not None else None,
        beside=tuple(meant.upsides) if meant is not None else (),
        outing=done.outing.pk,
        aside=order is not None and meant is None and order.exercise in FAST and piece.kind != "fast",
    )


def _by_thumb(entry: Entry, orders: dict[date, _Said]) -> Work:
    """Return what a stopwatch says; its mean speed has the error of two presses."""
    said, order = Clocked.kept_as(entry.values), orders.get(_day(entry.happened_at), _Said()).last
    clocked = sections(said.splits)
    splits = splits_of(clocked)
    metres, seconds = float(clocked.end_m[-1]), float(clocked.seconds.sum())
    sd = float(clocked.covariance.sum()) ** 0.5
    return Work(
        horse=entry.horse_id or 0,
        when=entry.happened_at,
        source="thumb",
        exercise=order.exercise if order is not None else "",
        gallop=said.gallop,
        metres=metres,
        seconds=seconds,
        splits=splits,
        speed_ms=metres / seconds,
        speed_sd_ms=metres / seconds * sd / seconds,
        instruction=said.instruction or "",
        left=said.left or "",
        rider=said.rider,
        rider_kg=nan if said.rider_kg is None else said.rider_kg,
        beside=tuple(said.upsides),
        entry=entry.pk,
    )


def _joined(by_tracker: list[Work], by_thumb: list[Work]) -> list[Work]:
    """Lay what a stopwatch says beside what a tracker says of the same work, each once, the nearest in time first."""
    pairs = sorted((_apart(one, thumb), i, j) for i, one in enumerate(by_tracker) for j, thumb in enumerate(by_thumb))
    mine: dict[int, int] = {}
    for apart, i, j in pairs:
        if apart <= APART_S and i not in mine and j not in mine.values():
            mine[i] = j
    both = [_with_thumb(one, by_thumb[mine[i]]) if i in mine else one for i, one in enumerate(by_tracker)]
    return [*both, *(thumb for j, thumb in enumerate(by_thumb) if j not in mine.values())]


def _apart(one: Work, thumb: Work) -> float:
    """Return by how many seconds a stopwatch was started outside of a tracker's work."""
    late = (thumb.when - one.when).total_seconds()
    return max(-late, late - one.seconds, 0.0)


def _with_thumb(one: Work, thumb: Work) -> Work:
    return replace(
        one,
        gallop=one.gallop if one.gallop is not None else thumb.gallop,
        instruction=thumb.instruction or one.instruction,
        left=thumb.left,
        rider=thumb.rider if thumb.rider is not None else one.rider,
        rider_kg=thumb.rider_kg,
        beside=thumb.beside or one.beside,
        entry=thumb.entry,
        thumb=thumb,
        aside=False,
    )


def _as_said(horse: int, day: date, said: _Said) -> Work | None:
    """Return what was ordered or done by the diary, None where it is no canter and no work."""
    one = said.last
    if one is None or one.exercise not in INSTRUCTION_OF:
        return None
    return Work(
        horse=horse,
        when=day_span(day)[0],
        source="ordered",
        exercise=one.exercise,
        gallop=one.gallop,
        metres=nan if one.furlongs is None else one.furlongs * FURLONG_M,
        instruction=INSTRUCTION_OF[one.exercise],
        rider=one.rider,
        beside=tuple(one.upsides),
        entry=said.entry,
    )


def _day(at: datetime) -> date:
    return at.astimezone(clock.place().zone).date()
