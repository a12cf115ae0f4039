"""Whose a recording is: by its tracker, by the name of its file, by who was out then; else nobody's.

A guess is never better than a question: where two ways name two horses, or several could have been out, the recording
waits, and those that it may be of are offered in order.
"""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import PurePath

from upsides.books import clock
from upsides.books.diary.clocked import Clocked
from upsides.books.diary.work import FAST, UNRIDDEN, Exercise, Ordered
from upsides.books.models import Outing, Recorded, Tracker
from upsides.books.outings import read_messages
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.pulled_out import NEAR, PulledOut, out_on, pulled_out
from upsides.books.queries.stretches import Span, begun, stretches_of
from upsides.recordings.measured import Measured
from upsides.recordings.reach import ODD

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
        out: when most of it was, from its beginning; the same as `began` unless there is a long gap in it.
        stretches: when something was measured.
        fast_m: metres of fast work in it.
        odd: whether it goes as no horse does.
    """

    file: str
    tracker: Tracker | None
    began: datetime
    ended: datetime
    out: datetime
    stretches: tuple[Span, ...]
    fast_m: float
    odd: bool = False

    @property
    def day(self) -> date:
        """The day on the yard's calendar."""
        return self.out.astimezone(clock.place().zone).date()


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
        been: whether it was out with another recording that day, at another time.
        away: from when its lot pulled out, to when the recording began; None where it has no lot.
        in_time: whether that is near, and nearer than to any other lot that was ordered out.
        told: whether the yard itself tells when its lot pulled out, by recordings of it or by its own lots.
        pointed: whether it usually wears the tracker, or the file is named for it.
    """

    horse: int
    name: str
    lot: int | None
    order: str
    clocked: bool
    fits: bool
    been: bool = False
    away: timedelta | None = None
    in_time: bool = False
    told: bool = False
    pointed: bool = False

    @property
    def likely(self) -> bool:
        """Whether anything says that it may be this horse."""
        return self.pointed or self.clocked or bool(self.order)


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


def unclaimed_of(recorded: Recorded, measured: Measured | None) -> Unclaimed | None:
    """Return what is known of a recording whose horse is asked for; None where it has no time."""
    began, ended = recorded.began, recorded.ended
    if began is None or ended is None:
        return None
    return Unclaimed(
        recorded.file,
        recorded.tracker,
        began,
        ended,
        begun(measured, began, ended),
        tuple(stretches_of(measured, began, ended)),
        measured.fast_m if measured is not None else 0.0,
        any(said.code in ODD for said in read_messages(recorded.messages)),
    )


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
        return Whose(None, None, offered)
    plain = _by_lot([each for each in offered if each.order and not each.been])
    return Whose(plain, Outing.Matched.LOT if plain is not None else None, offered)


def _by_lot(ordered: Sequence[Candidate]) -> int | None:
    """Return the horse that alone was out then, by when the lots pulled out; None where that is not plain.

    Where the yard itself tells the times of the lots, those of other lots are ruled out by them; the times of the
    shipped lots rule nobody out.
    """
    then = [each for each in ordered if each.in_time]
    others = [each for each in ordered if not each.in_time]
    if len(then) != 1 or (others and not all(each.told for each in ordered)):
        return None
    return then[0].horse


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
    """Return the horses that were out on the day of a recording and have no other of that time, the likeliest first.

    The horse that wears its tracker, or that it is named for, comes first; a horse whose lot pulled out when the
    recording began comes before one of another lot, and one that was out with another recording that day comes last.
    """
    orders = _orders(moment, one.day)
    out = out_on(moment, one.day, one.stretches)
    lots = {number: int(said.lot) for number, said in orders.items() if said.lot is not None}
    times = pulled_out(one.day, lots, out.began)
    nearest = min((_away(times, lot, one) for lot in lots.values()), default=NEAR)
    clocked = clocked_then(moment, one)
    names = dict(moments.in_training(moment).values_list("id", "name"))
    pointed = {one.tracker.horse_id if one.tracker is not None else None, named_in(one.file, names)}
    found = []
    for number, name in names.items():
        said = orders.get(number)
        if number in out.then or (said is not None and said.exercise in UNRIDDEN):
            continue
        fits = said is not None and (said.exercise in FAST) == (one.fast_m > 0)
        lot = lots.get(number)
        away = _away(times, lot, one) if lot is not None else None
        found.append(
            Candidate(
                number, name, lot, said.exercise if said else "", number in clocked, fits, number in out.began, away,
                in_time=away is not None and away <= min(nearest, NEAR),
                told=lot is not None and times.known(lot), pointed=number in pointed,
            )
        )  # fmt: skip
    return tuple(sorted(found, key=_rank))


def clocked_then(moment: Moment, one: Unclaimed) -> set[int]:
    """Return the horses that a stopwatch was on while a recording ran."""
    found = entries_of(moment, [Clocked.name], one.day, one.day)
    return {
        number
        for number, at in found.values_list("horse", "happened_at")
        if number is not None and any(begin - APART <= at <= end + APART for begin, end in one.stretches)
    }


def _orders(moment: Moment, day: date) -> dict[int, Ordered | Exercise]:
    """Return what each horse was ordered, or did, on a day."""
    orders: dict[int, Ordered | Exercise] = {}
    for entry in entries_of(moment, ["ordered", "exercise"], day, day):
        if entry.horse_id is not None:
            read = Ordered if entry.kind == "ordered" else Exercise
            orders[entry.horse_id] = read.kept_as(entry.values)
    return orders


def _away(times: PulledOut, lot: int, one: Unclaimed) -> timedelta:
    return abs(times.at(lot) - one.out)


def _rank(one: Candidate) -> tuple[bool, bool, bool, bool, float, bool, int, str]:
    """Return what orders candidates; one without a lot stands after those in time and before those of another lot."""
    away = one.away.total_seconds() if one.away is not None else NEAR.total_seconds()
    said = not one.pointed, not one.clocked, one.been, not one.order
    return (*said, away, not one.fits, one.lot or 99, one.name.casefold())


def _once(found: dict[int, str]) -> bool:
    return len(set(found.values())) == len(found)


def _letters(text: str) -> str:
    """Return a text's letters and digits alone, without accents and in small letters."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    return re.sub(r"[^0-9a-z]", "", plain)
