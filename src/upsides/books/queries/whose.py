"""Whose a recording is: by its tracker, by the name of its file, by who was out then; else nobody's.

A guess is never better than a question: where two ways name two horses, or several could have been out, the recording
waits, and those that it may be of are offered in order.
"""

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import PurePath

from upsides.books import clock
from upsides.books.diary.clocked import Clocked
from upsides.books.diary.work import FAST, UNRIDDEN, Exercise, Ordered
from upsides.books.models import Outing, Tracker
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment

SHORTEST_NAME = 4
"""A shorter name stands in too many file names by chance."""
APART = timedelta(minutes=10)
"""A stopwatch and a tracker may differ by so much in when a work was."""
EARLIEST, AHEAD = datetime(2000, 1, 1, tzinfo=UTC), timedelta(days=1)
"""A recording from before the first, or of later than the second from now, is dated wrongly: somebody has to say whose
it is."""


@dataclass(frozen=True, slots=True)
class Unclaimed:
    """What is known of a recording whose horse is asked for.

    Args:
        file: its name.
        tracker: the device, None where the file does not say.
        began, ended: of the recording.
        fast_m: metres of fast work in it.
        odd: whether it goes as no horse does.
    """

    file: str
    tracker: Tracker | None
    began: datetime
    ended: datetime
    fast_m: float
    odd: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """A horse that a recording may be of.

    Args:
        horse: its number.
        name: its name.
        lot: the lot that it was ordered for, None for none.
        order: what it was ordered, or did, a word of the diary; "" where nobody said.
        clocked: whether a stopwatch was on it then.
        fits: whether what was ordered and what the recording shows are both fast work, or both none.
    """

    horse: int
    name: str
    lot: int | None
    order: str
    clocked: bool
    fits: bool


@dataclass(frozen=True, slots=True)
class Whose:
    """What was found.

    Args:
        horse: number of the horse, None where it is not plain.
        how: how it was found.
        offered: those that it may be of, the likeliest first; not looked for where it is plain.
    """

    horse: int | None
    how: Outing.Matched | None
    offered: tuple[Candidate, ...] = ()


def whose(moment: Moment, one: Unclaimed) -> Whose:
    """Say whose a recording is, or may be; of one that goes as no horse does somebody has to say it."""
    if not EARLIEST <= one.began <= clock.now() + AHEAD:
        return Whose(None, None, candidates(moment, one))
    wears = one.tracker.horse_id if one.tracker is not None else None
    named = named_in(one.file, dict(moments.in_training(moment).values_list("id", "name")))
    if wears is not None and named in {None, wears} and not one.odd:
        return Whose(wears, Outing.Matched.TRACKER)
    if wears is None and named is not None and not one.odd:
        return Whose(named, Outing.Matched.NAME)
    offered = candidates(moment, one)
    if wears is not None or one.odd:
        return Whose(None, None, _first({wears, named}, offered))
    ordered = [each for each in offered if each.order]
    if len(ordered) == 1:
        return Whose(ordered[0].horse, Outing.Matched.LOT, offered)
    return Whose(None, None, offered)


def named_in(file: str, horses: dict[int, str]) -> int | None:
    """Return the horse whose name stands in a file's name; None for none, and where it may be of two.

    Args:
        file: the name of the file; of an archive's the name in it counts.
        horses: names by number.
    """
    where = _letters(PurePath(file).stem)
    found = {number: _letters(name) for number, name in horses.items()}
    found = {number: name for number, name in found.items() if len(name) >= SHORTEST_NAME and name in where}
    if not found:
        return None
    longest = max(found, key=lambda number: len(found[number]))
    return longest if all(name in found[longest] for name in found.values()) and _once(found) else None


def candidates(moment: Moment, one: Unclaimed) -> tuple[Candidate, ...]:
    """Return the horses that were out on the day of a recording and have no other of that time, the likeliest first."""
    day = one.began.astimezone(clock.place().zone).date()
    orders: dict[int, Ordered | Exercise] = {}
    for entry in entries_of(moment, ["ordered", "exercise"], day, day):
        if entry.horse_id is not None:
            read = Ordered if entry.kind == "ordered" else Exercise
            orders[entry.horse_id] = read.kept_as(entry.values)
    clocked = clocked_then(moment, one)
    taken = taken_then(moment, one)
    names = dict(moments.in_training(moment).values_list("id", "name"))
    found = []
    for number, name in names.items():
        said = orders.get(number)
        out = said is not None and said.exercise not in UNRIDDEN
        if number in taken or (said is not None and not out):
            continue
        fits = said is not None and (said.exercise in FAST) == (one.fast_m > 0)
        lot = int(said.lot) if said is not None and said.lot is not None else None
        found.append(Candidate(number, name, lot, said.exercise if said else "", number in clocked, fits))
    return tuple(sorted(found, key=_rank))


def clocked_then(moment: Moment, one: Unclaimed) -> set[int]:
    """Return the horses that a stopwatch was on while a recording ran."""
    day = one.began.astimezone(clock.place().zone).date()
    found = entries_of(moment, [Clocked.name], day, day)
    within = found.filter(happened_at__range=(one.began - APART, one.ended + APART))
    return {number for number in within.values_list("horse", flat=True) if number is not None}


def taken_then(moment: Moment, one: Unclaimed) -> set[int]:
    """Return the horses that have an outing by another recording of the same time."""
    standing = moments.standing(Outing, moment).filter(began__lt=one.ended, recorded__ended__gt=one.began)
    return set(standing.values_list("horse", flat=True))


def _rank(one: Candidate) -> tuple[bool, bool, bool, int, str]:
    return (not one.clocked, not one.order, not one.fits, one.lot or 99, one.name.casefold())


def _first(numbers: Collection[int | None], offered: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """Return the candidates, those of some numbers first."""
    return tuple(sorted(offered, key=lambda each: each.horse not in numbers))


def _once(found: dict[int, str]) -> bool:
    return len(set(found.values())) == len(found)


def _letters(text: str) -> str:
    """Return a text's letters and digits alone, without accents and in small letters."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    return re.sub(r"[^0-9a-z]", "", plain)
