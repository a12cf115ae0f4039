"""Whom a horse worked with, who led, who finished in front and by how much: by trackers, else by a thumb."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from upsides.books import clock
from upsides.books.diary.clocked import Clocked
from upsides.books.models import Answer, Entry, Outing
from upsides.books.models.answer import TOGETHER
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment
from upsides.books.upsides_answer import read_upsides
from upsides.recordings.company import ONE_START_S, Led, Outcome, Upsides, by_thumb, led
from upsides.recordings.work import Work

ONE_WORK_S: Final = 1.0
"""A work that is known by its tracker began at that second."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A work of which it is asked with whom it was done.

    Args:
        horse: number of its horse.
        when: when it began.
        recorded: number of its recording, None for none.
        entry: number of the diary's entry of its stopwatch, None for none.
    """

    horse: int
    when: datetime
    recorded: int | None = None
    entry: int | None = None


@dataclass(frozen=True, slots=True)
class Partner:
    """A horse that went upsides, seen from another.

    Args:
        horse: its number.
        start_s: when its own piece of work began, by its own clock, seconds since 1970.
        finish: how the other finished against it: in front where that is above nought.
        marks: the same at each mark, in the order of time: metres along the gallop, or from the beginning; and how.
        breaks_off: whether the recording of one of them breaks off before the work ended, so that nobody knows who
            finished in front.
    """

    horse: int
    start_s: float
    finish: Outcome
    marks: tuple[tuple[float, Outcome], ...]
    breaks_off: bool = False

    @property
    def led(self) -> Led:
        """Who led at the marks before the last: "first" is the other, "second" this one."""
        return led(outcome for _place, outcome in self.marks[:-1])


def asked(works: Sequence[Work]) -> list[Asked]:
    """Return works as it is asked with whom they were done."""
    outings = [work.outing for work in works if work.outing is not None]
    recorded = dict(Outing.objects.filter(pk__in=outings).values_list("pk", "recorded"))
    return [Asked(one.horse, one.when, recorded.get(one.outing or 0), one.entry) for one in works]


def partners(moment: Moment, works: Sequence[Asked]) -> dict[Asked, tuple[Partner, ...]]:
    """Return whom each work was done with, those without company left out.

    Of a pair that trackers and a stopwatch measured the one with the smaller error counts.

    Args:
        moment: when to look from.
        works: of any horses.
    """
    tracked, thumbs = _by_trackers(moment, works), _by_thumbs(moment, works)
    return {one: mine for one in works if (mine := _best([*tracked.get(one, ()), *thumbs.get(one, ())]))}


def beside_recording(moment: Moment, recorded: int, day: date) -> list[tuple[float, Partner]]:
    """Return with whom the horse of a recording went upsides: when its piece of work began, and with whom.

    Args:
        moment: when to look from.
        recorded: number of the recording.
        day: of the yard on which it began.
    """
    found = [one for one in _of_days(moment, {day}) if recorded in {one.first, one.second}]
    horses = _horses(moment, {number for one in found for number in (one.first, one.second)})
    seen = [_seen(one, number, horses) for one in found for number in (one.first, one.second) if number == recorded]
    mine = horses.get(recorded)
    return [(start, partner) for start, partner in seen if partner is not None and partner.horse != mine]


def _best(found: Iterable[Partner]) -> tuple[Partner, ...]:
    """Return each horse once, by the outcome that is known best."""
    best: dict[int, Partner] = {}
    for one in found:
        if one.horse not in best or one.finish.sd_m < best[one.horse].finish.sd_m:
            best[one.horse] = one
    return tuple(best.values())


# By trackers ------------------------------------------------------------------------------------------------------


def _by_trackers(moment: Moment, works: Sequence[Asked]) -> dict[Asked, list[Partner]]:
    pairs = _of_days(moment, {_day(one.when) for one in works if one.recorded is not None})
    horses = _horses(moment, {number for one in pairs for number in (one.first, one.second)})
    by_recording: dict[int | None, list[tuple[float, Partner]]] = {}
    for pair in pairs:
        for number in (pair.first, pair.second):
            start, partner = _seen(pair, number, horses)
            if partner is not None:
                by_recording.setdefault(number, []).append((start, partner))
    return {
        one: [
            partner
            for start, partner in by_recording.get(one.recorded, ())
            if abs(start - one.when.timestamp()) < ONE_WORK_S and partner.horse != one.horse
        ]
        for one in works
    }


def _of_days(moment: Moment, days: Iterable[date]) -> list[Upsides]:
    """Return who went upsides on some days, by the last answer of each that was known."""
    rows = Answer.objects.filter(name=TOGETHER, day__in=days).order_by("recorded_at", "pk")
    known = rows if moment.at is None else rows.filter(recorded_at__lte=moment.at)
    last = dict(known.values_list("day", "values"))
    return [one for values in last.values() for one in read_upsides(values)]


def _horses(moment: Moment, recorded: Iterable[int]) -> dict[int | None, int]:
    """Return whose recordings are, by their numbers; those that are no horse's are not in it."""
    standing = moments.standing(Outing, moment).filter(recorded__in=list(recorded)).order_by("pk")
    return dict(standing.values_list("recorded", "horse"))


def _seen(one: Upsides, number: int, horses: Mapping[int | None, int]) -> tuple[float, Partner | None]:
    """Return when a work began, and who was beside it; None where the other is no horse's."""
    first = number == one.first
    other, start = (one.second, one.second_start_s) if first else (one.first, one.start_s)
    horse = horses.get(other)
    began = one.start_s if first else one.second_start_s
    if horse is None:
        return began, None
    marks = one.marks if first else tuple((place, outcome.other_way) for place, outcome in one.marks)
    return began, Partner(horse, start, one.finish if first else one.finish.other_way, marks, one.breaks_off)


# By one thumb -----------------------------------------------------------------------------------------------------


def _by_thumbs(moment: Moment, works: Sequence[Asked]) -> dict[Asked, list[Partner]]:
    numbers = [one.entry for one in works if one.entry is not None]
    own = {entry.pk: entry for entry in Entry.objects.filter(pk__in=numbers, kind=Clocked.name)}
    if not own:
        return {}
    beside = {horse for entry in own.values() for horse in Clocked.kept_as(entry.values).upsides}
    days = [_day(entry.happened_at) for entry in own.values()]
    others: dict[int | None, list[Entry]] = {}
    for entry in entries_of(moment, [Clocked.name], min(days), max(days), beside):
        others.setdefault(entry.horse_id, []).append(entry)
    return {one: _beside(own[one.entry], others) for one in works if one.entry in own}


def _beside(entry: Entry, others: Mapping[int | None, Sequence[Entry]]) -> list[Partner]:
    """Return the horses that one clock began with, and that were said to be upsides."""
    said, start = Clocked.kept_as(entry.values), timedelta(seconds=ONE_START_S)
    found = []
    for horse in said.upsides:
        for other in others.get(horse, ()):
            marks = by_thumb(said.splits, Clocked.kept_as(other.values).splits)
            if marks and abs(other.happened_at - entry.happened_at) <= start:
                found.append(Partner(horse, other.happened_at.timestamp(), marks[-1][1], marks))
    return found


def _day(at: datetime) -> date:
    return at.astimezone(clock.place().zone).date()
