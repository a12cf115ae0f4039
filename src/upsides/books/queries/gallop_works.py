"""Everything that worked on a gallop, page by page, and how fast each was with the day taken out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import exp, isfinite
from typing import Any, Final

from django.db.models import Max

from upsides.books import clock
from upsides.books.diary.clocked import Clocked
from upsides.books.diary.work import Exercise, Ordered
from upsides.books.diary.yard import GallopState
from upsides.books.models import Answer, Gallop, Horse, Outing, Person
from upsides.books.models.answer import GALLOPS
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.gallop_sources import OnGallop, by_thumb, by_trackers, known, last_before
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered
from upsides.books.queries.upsides import Asked, partners
from upsides.errors import CannotFitError
from upsides.errors.wording import as_kept, gettext, of_kept
from upsides.recordings.gallops.days import Day, Faster, Gone, days_of, faster_of

DAYS: Final = 365
"""A page goes back so many days."""
MOST: Final = 400
"""So many works are taken, the last ones; a page holds no more, and the model is worked out in a breath."""
PAGES: Final = 25
"""Of so many pages the nightly job tells what their days did: some ten thousand works."""
LEAST: Final = 12
LEAST_DAYS: Final = 3
"""Fewer works, or works on fewer days, say nothing of what a day did. Our own choice."""


@dataclass(frozen=True, slots=True)
class Season:
    """The works on a gallop.

    Attributes:
        works: the last first.
        riders: names by number.
        names: of all horses, those in company too, by number.
        why_not: why nothing was adjusted; "" where it was.
        days, horses: how many went into the adjustment.
        cut: whether there were more works in the year than are shown.
        page: the first is that of the last works.
        last: the last day that the page may hold.
        earlier: whether there are earlier works.
    """

    works: tuple[OnGallop, ...]
    riders: dict[int | None, str]
    names: dict[int | None, str]
    why_not: str
    days: int
    horses: int
    cut: bool
    page: int
    last: date
    earlier: bool


@dataclass(frozen=True, slots=True)
class _Window:
    """The works of a page.

    Attributes:
        works: the last first, whole days.
        last: the last day of the page.
        cut: whether its year holds more.
        earlier: the last day of the next page, None where there is none.
    """

    works: list[OnGallop]
    last: date
    cut: bool
    earlier: date | None


def on_this_gallop(moment: Moment, gallop: int, page: int = 1) -> Season:
    """Return what worked on a gallop in the year up to a moment's day, or before the page that comes before it.

    It is kept as long as nothing of it changes.
    """
    kinds = (Clocked.name, GallopState.name, Ordered.name, Exercise.name)
    last = [rows.objects.aggregate(last=Max("pk"))["last"] for rows in (Outing, Answer)]
    of = gallop, page, *last
    return remembered(
        "on_this_gallop", moment, kinds, (Gallop, Horse, Person), lambda: _season(moment, gallop, page), *of
    )


def _season(moment: Moment, gallop: int, page: int) -> Season:
    window = _page(moment, gallop, page)
    adjusted, why_not = _adjusted(moment, gallop, window.works)
    riders = moments.names(Person, moment, (one.rider for one in adjusted))
    of = [Asked(one.horse, one.when, one.recorded, one.entry) for one in adjusted]
    company = partners(moment, of)
    beside = {partner.horse for mine in company.values() for partner in mine}
    names = moments.names(Horse, moment, {*beside, *(one.horse for one in adjusted)})
    told = tuple(
        replace(one, name=names.get(one.horse, ""), company=company.get(mine, ()))
        for one, mine in zip(adjusted, of, strict=True)
    )
    days, horses = len({one.day for one in told}), len({one.horse for one in told})
    earlier = window.earlier is not None
    return Season(told, riders, names, why_not, days, horses, window.cut, page, window.last, earlier)


def _page(moment: Moment, gallop: int, page: int) -> _Window:
    window = _window(moment, gallop, moment.day)
    for _before in range(page - 1):
        if window.earlier is None:
            return _Window([], window.last, cut=False, earlier=None)
        window = _window(moment, gallop, window.earlier)
    return window


def _window(moment: Moment, gallop: int, last: date) -> _Window:
    """Return the works of a year up to a day, and no more than a page holds unless they are of one day."""
    first = last - timedelta(days=DAYS - 1)
    tracked, whole = by_trackers(moment, gallop, first, last, MOST)
    thumbs = [one for one in by_thumb(moment, gallop, first, last) if not known(one, tracked)]
    found = sorted([*tracked, *thumbs], key=lambda one: one.when, reverse=True)
    if len(found) > MOST:
        oldest = found[MOST - 1].day
        split = found[MOST].day == oldest != found[0].day
        whole = max(whole, oldest + timedelta(days=1) if split else oldest)
    works = [one for one in found if one.day >= whole]
    cut = whole > first
    earlier = whole - timedelta(days=1) if cut else last_before(moment, gallop, first)
    return _Window(_with_days(moment, gallop, first, last, works), last, cut, earlier)


def _with_days(moment: Moment, gallop: int, first: date, last: date, works: Sequence[OnGallop]) -> list[OnGallop]:
    """Return the works with the going of their day, and who was to ride."""
    goings: dict[date, str] = {}
    for entry in entries_of(moment, [GallopState.name], first, last).filter(gallop=gallop):
        going = GallopState.kept_as(entry.values).going
        if going:
            goings[_day(entry.happened_at)] = going
    ridden = entries_of(moment, [Ordered.name, Exercise.name], first, last, {one.horse for one in works})
    told = ridden.values_list("horse_id", "happened_at", "values__rider")
    riders: dict[tuple[int | None, date], int | None] = {(horse, _day(when)): rider for horse, when, rider in told}
    return [
        replace(one, going=goings.get(one.day, ""), rider=one.rider or riders.get((one.horse, one.day)))
        for one in works
    ]


def _day(at: datetime) -> date:
    return at.astimezone(clock.place().zone).date()


def days_there(moment: Moment, gallop: int) -> tuple[dict[date, Day], str]:
    """Return what each day did to the speeds on a gallop, or why that cannot be told; a worker keeps the answer.

    Each page of works is told by itself; of why not that of the last works counts.
    """
    found: dict[date, Day] = {}
    why = ""
    window = _window(moment, gallop, moment.day)
    for page in range(PAGES):
        days, why_not = _days_of(window.works)
        found |= days
        why = why_not if page == 0 else why
        if window.earlier is None:
            break
        window = _window(moment, gallop, window.earlier)
    return found, "" if found else why


def _days_of(works: Sequence[OnGallop]) -> tuple[dict[date, Day], str]:
    usable = _usable(works)
    if why_not := _too_few(usable):
        return {}, why_not
    try:
        return days_of([_gone(one) for one in usable]), ""
    except CannotFitError:
        return {}, gettext("the works differ too little from each other to tell days from horses")


def faster_there(moment: Moment, gallop: int) -> tuple[Faster, ...]:
    """Return how fast each horse is in fast work on a gallop, as far as its works tell; a worker keeps the answer."""
    usable = [one for one in _usable(_window(moment, gallop, moment.day).works) if one.fast]
    if _too_few(usable):
        return ()
    try:
        return faster_of([_gone(one) for one in usable])
    except CannotFitError:
        return ()


def kept_days(days: Mapping[date, Day], why_not: str) -> dict[str, Any]:
    """Return what days did on a gallop, or why that cannot be told."""
    if why_not:
        return {"why": as_kept(why_not)}
    return {str(day): [round(one.effect, 6), round(one.sd, 6), one.works] for day, one in days.items()}


def read_days(kept: Mapping[str, Any]) -> tuple[dict[date, Day], str]:
    """Return what days did on a gallop, and why that cannot be told; "" where it can."""
    if "why" in kept:
        return {}, of_kept(kept["why"])
    return {date.fromisoformat(day): Day(*one) for day, one in kept.items()}, ""


def _usable(works: Sequence[OnGallop]) -> list[OnGallop]:
    return [one for one in works if one.speed_ms > 0 and one.metres > 0 and isfinite(one.speed_ms)]


def _too_few(usable: Sequence[OnGallop]) -> str:
    days = len({one.day for one in usable})
    if len(usable) >= LEAST and days >= LEAST_DAYS:
        return ""
    return gettext(
        "it takes {least} works on {least_days} days, and there are {works} on {days}",
        works=len(usable),
        days=days,
        least=LEAST,
        least_days=LEAST_DAYS,
    )


def _adjusted(moment: Moment, gallop: int, works: list[OnGallop]) -> tuple[list[OnGallop], str]:
    """Return the works with the day taken out, or as they are with why not."""
    if why_not := _too_few(_usable(works)):
        return works, why_not
    known = moments.answer(GALLOPS, moment)
    if known is None or str(gallop) not in known.values:
        return works, gettext("its days are told from its horses every night, and were not yet")
    days, why_not = read_days(known.values[str(gallop)])
    if not why_not and not any(one.day in days for one in works):
        return works, gettext("its days are told from its horses every night, and were not yet")
    return [_freed(one, days.get(one.day)) for one in works], why_not


def _gone(one: OnGallop) -> Gone:
    own = one.speed_sd_ms if isfinite(one.speed_sd_ms) else 0.0
    return Gone(one.horse, one.day, one.speed_ms, own, one.fast, one.metres, one.going or None, one.rider, one.forward)


def _freed(one: OnGallop, day: Day | None) -> OnGallop:
    if day is None or not one.speed_ms > 0:
        return one
    speed = one.speed_ms / exp(day.effect)
    own = one.speed_sd_ms / one.speed_ms if isfinite(one.speed_sd_ms) else 0.0
    return replace(one, adjusted_ms=speed, adjusted_sd_ms=speed * (own**2 + day.sd**2) ** 0.5, beside=day.works)
