"""Which pieces of a day's work limits of hours and rest leave to somebody, beside what was worked before."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Final

from upsides.rules.book_words import Limit
from upsides.rules.lookup import NONE, Overrides
from upsides.rules.shifts import OverLimit, Shift
from upsides.rules.working_time import SCHOOL, age_on, check_shifts

BINDS: Final = frozenset({Limit.DAY, Limit.WEEK, Limit.DAILY_REST, Limit.WEEKLY_REST, Limit.NIGHT, Limit.SCHOOL_AGE})
"""Limits that bind a piece of work. Breaks can be had between two, and are written nowhere."""


def against_pieces(
    before: Sequence[Shift],
    today: Sequence[Shift],
    pieces: Sequence[Shift],
    born: date,
    jurisdiction: str,
    *,
    overrides: Overrides = NONE,
) -> tuple[tuple[OverLimit, ...], ...]:
    """Return of each piece of a day's work which limits somebody would go over who does it; none where it is open.

    Who is at work from hours on that are not allowed is taken to begin with the first piece that is; from then on all
    hours of the day up to the end of a piece count. Days to come are not looked at: they give way in their turn.

    Args:
        before: shifts of the days before, of the same week and the last of the week before.
        today: shifts of the day, none where they are not known.
        pieces: pieces of work of that day, by their beginning.
        born: day of birth.
        jurisdiction: a name or country code.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force there.
        UnreadableError: two shifts overlap.
    """

    def over(plan: Sequence[Shift]) -> set[OverLimit]:
        found = check_shifts(plan, born, jurisdiction, opted_out=True, overrides=overrides)
        return {one for one in found if one.limit in BINDS}

    had = over(before)

    def new(begin: datetime, piece: Shift) -> tuple[OverLimit, ...]:
        own = _up_to(today, begin, piece)
        young = over([*before, *own])
        if age_on(born, begin.date()) < SCHOOL:
            return tuple(one for one in young if one.limit is Limit.SCHOOL_AGE)[:1]
        return tuple(sorted(young - had, key=lambda one: (one.first, one.limit)))

    starts = sorted({*(one.start for one in today[:1]), *(one.start for one in pieces)})
    firsts = ((start, next((one for one in pieces if one.start >= start), None)) for start in starts)
    begin = next((start for start, first in firsts if first is not None and not new(start, first)), None)
    return tuple(new(one.start if begin is None or one.start < begin else begin, one) for one in pieces)


def _up_to(today: Sequence[Shift], begin: datetime, piece: Shift) -> list[Shift]:
    """Return the work of a day from a moment to the end of a piece: its shifts, and the piece where it is in none."""
    spans = [(max(one.start, begin), min(one.end, piece.end)) for one in today]
    own = [Shift(start, end) for start, end in spans if start < end]
    since = max(own[-1].end, piece.start) if own else begin
    return [*own, Shift(since, piece.end)] if since < piece.end else own
