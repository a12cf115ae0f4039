"""Everything that worked on a gallop over a season, and how fast each was with the day taken out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from math import exp, isfinite, nan
from typing import Any, Final

from django.db.models import Max

from upsides.books import clock
from upsides.books.diary.clocked import Clocked
from upsides.books.diary.work import Exercise, Ordered
from upsides.books.diary.yard import GallopState
from upsides.books.models import Answer, Gallop, Horse, Outing, Person
from upsides.books.models.answer import GALLOPS
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered
from upsides.books.queries.stretches import Span, same_time, span_of
from upsides.books.queries.upsides import Asked, Partner, partners
from upsides.books.queries.works import APART_S
from upsides.errors import CannotFitError
from upsides.errors.wording import as_kept, gettext, of_kept
from upsides.recordings.bouts.gaits import CANTER_FAST
from upsides.recordings.gallops.days import Day, Faster, Gone, days_of, faster_of
from upsides.recordings.stopwatch import sections, splits_of
from upsides.recordings.work import Split, at_pace, fair

DAYS: Final = 365
"""A season goes back so many days."""
MOST: Final = 400
"""So many works are taken, the last ones; a page holds no more, and the model is worked out in a breath."""
LOOKED_AT: Final = 4000
"""So many outings are looked through for them."""
LEAST: Final = 12
LEAST_DAYS: Final = 3
"""Fewer works, or works on fewer days, say nothing of what a day did. Our own choice."""
STEADY: Final = frozenset({"easy", "steady"})
"""Ordered paces that are canters."""


@dataclass(frozen=True, slots=True)
class OnGallop:
    """A work on the gallop.

    Attributes:
        horse: its number.
        name: of the horse.
        when: when it began.
        source: tracker, or thumb.
        fast: whether it was fast work.
        metres: over how far the speed is: without a length in which it jumped off or pulled up.
        splits: the lengths between marks.
        speed_ms, speed_sd_ms: mean speed and its standard error.
        forward: whether it went up the gallop's line.
        going: of the diary's entry on the gallop that day, "" for none.
        rider: number of the person, None where not known.
        recorded: number of the recording, None for none.
        entry: number of the diary's entry, None for none.
        adjusted_ms, adjusted_sd_ms: speed with the day taken out, and its error; NaN where that cannot be said.
        beside: works on that day that say what the day did.
        company: the horses that went upsides.
    """

    horse: int
    name: str
    when: datetime
    source: str
    fast: bool
    metres: float
    splits: tuple[Split, ...]
    speed_ms: float
    speed_sd_ms: float
    forward: bool = True
    going: str = ""
    rider: int | None = None
    recorded: int | None = None
    entry: int | None = None
    adjusted_ms: float = nan
    adjusted_sd_ms: float = nan
    beside: int = 0
    company: tuple[Partner, ...] = ()

    @property
    def day(self) -> date:
        """The day in the yard."""
        return self.when.astimezone(clock.place().zone).date()


@dataclass(frozen=True, slots=True)
class Season:
    """The works on a gallop.

    Attributes:
        works: the last first.
        riders: names by number.
        names: of all horses, those in company too, by number.
        why_not: why nothing was adjusted; "" where it was.
        days, horses: how many went into the adjustment.
        cut: whether there were more works than are shown.
    """

    works: tuple[OnGallop, ...]
    riders: dict[int | None, str]
    names: dict[int | None, str]
    why_not: str
    days: int
    horses: int
    cut: bool


def on_this_gallop(moment: Moment, gallop: int) -> Season:
    """Return what worked on a gallop in the year up to a moment's day; kept as long as nothing of it changes."""
    kinds = (Clocked.name, GallopState.name, Ordered.name, Exercise.name)
    last = [rows.objects.aggregate(last=Max("pk"))["last"] for rows in (Outing, Answer)]
    return remembered(
        "on_this_gallop", moment, kinds, (Gallop, Horse, Person), lambda: _season(moment, gallop), gallop, *last
    )


def _season(moment: Moment, gallop: int) -> Season:
    works, cut = _works(moment, gallop)
    adjusted, why_not = _adjusted(moment, gallop, works)
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
    return Season(told, riders, names, why_not, days, horses, cut)


def _works(moment: Moment, gallop: int) -> tuple[list[OnGallop], bool]:
    """Return the last works of the year up to a moment's day, and whether there were more."""
    first = moment.day - timedelta(days=DAYS - 1)
    tracked = _by_trackers(moment, gallop, first)
    thumbs = [one for one in _by_thumb(moment, gallop, first) if not _known(one, tracked)]
    found = sorted([*tracked, *thumbs], key=lambda one: one.when, reverse=True)
    return _with_days(moment, gallop, first, found[:MOST]), len(found) > MOST


def _by_trackers(moment: Moment, gallop: int, first: date) -> list[OnGallop]:
    """Return the works by trackers; of an outing only its works are read out of the database."""
    rows = moments.standing(Outing, moment).filter(day__range=(first, moment.day)).order_by("-began", "-pk")
    found: list[tuple[float, Span, OnGallop]] = []
    told = rows.values_list("horse_id", "recorded_id", "metres", "measured__works")
    for horse, recorded, metres, works in told[:LOOKED_AT]:
        found += [(metres, span, one) for span, one in _of_outing(gallop, horse, recorded, works or [])]
        if len(found) > 2 * MOST:
            break
    return _once_each(found)


def _once_each(found: Sequence[tuple[float, Span, OnGallop]]) -> list[OnGallop]:
    """Return works; of two of one horse by recordings of the same time that of the recording which shows more."""
    taken: dict[tuple[int, date], list[Span]] = {}
    kept = []
    for _metres, span, one in sorted(found, key=lambda each: each[0], reverse=True):
        others = taken.setdefault((one.horse, one.day), [])
        if not any(same_time([span], [other]) for other in others):
            others.append(span)
            kept.append(one)
    return kept


def _of_outing(
    gallop: int, horse: int, recorded: int | None, works: Sequence[dict[str, Any]]
) -> list[tuple[Span, OnGallop]]:
    mine = [one for one in works if (one.get("gallop") or {}).get("number") == gallop]
    found = []
    for piece in read({"works": mine}).works:
        on = piece.gallop
        if on is None:
            continue
        splits = fair(on.splits)
        even = at_pace(splits)
        metres = sum(split.metres for split in even) or piece.told_m
        seconds = sum(split.seconds for split in even)
        speed = metres / seconds if seconds else piece.speed_ms
        when = datetime.fromtimestamp(piece.start_s, UTC)
        one = OnGallop(
            horse, "", when, "tracker", piece.kind == "fast", metres, splits, speed, piece.speed_sd_ms,
            forward=on.forward, recorded=recorded,
        )  # fmt: skip
        found.append((span_of(piece.start_s, piece.seconds), one))
    return found


def _by_thumb(moment: Moment, gallop: int, first: date) -> list[OnGallop]:
    rows = entries_of(moment, [Clocked.name], first, moment.day).order_by("-happened_at", "-pk")[:LOOKED_AT]
    found = []
    for entry in rows:
        said = Clocked.kept_as(entry.values)
        if said.gallop != gallop or entry.horse_id is None:
            continue
        clocked = sections(said.splits)
        splits = splits_of(clocked)
        seconds, metres = float(clocked.seconds.sum()), float(clocked.end_m[-1])
        speed, sd = metres / seconds, float(clocked.covariance.sum()) ** 0.5
        found.append(
            OnGallop(entry.horse_id, "", entry.happened_at, "thumb", _was_fast(said.instruction, speed), metres,
                     splits, speed, speed * sd / seconds, rider=said.rider, entry=entry.pk)
        )  # fmt: skip
    return found


def _was_fast(instruction: str | None, speed_ms: float) -> bool:
    """Say whether a work by thumb was fast: as it was ordered, by its speed where nobody said."""
    return instruction not in STEADY if instruction else speed_ms >= CANTER_FAST.down_ms


def _known(one: OnGallop, tracked: Sequence[OnGallop]) -> bool:
    return any(other.horse == one.horse and abs((other.when - one.when).total_seconds()) < APART_S for other in tracked)


def _with_days(moment: Moment, gallop: int, first: date, works: Sequence[OnGallop]) -> list[OnGallop]:
    """Return the works with the going of their day, and who was to ride."""
    goings: dict[date, str] = {}
    for entry in entries_of(moment, [GallopState.name], first, moment.day).filter(gallop=gallop):
        going = GallopState.kept_as(entry.values).going
        if going:
            goings[_day(entry.happened_at)] = going
    riders: dict[tuple[int | None, date], int | None] = {}
    horses = {one.horse for one in works}
    for entry in entries_of(moment, [Ordered.name, Exercise.name], first, moment.day, horses):
        read_as = Ordered if entry.kind == Ordered.name else Exercise
        riders[entry.horse_id, _day(entry.happened_at)] = read_as.kept_as(entry.values).rider
    return [
        replace(one, going=goings.get(one.day, ""), rider=one.rider or riders.get((one.horse, one.day)))
        for one in works
    ]


def _day(at: datetime) -> date:
    return at.astimezone(clock.place().zone).date()


def days_there(moment: Moment, gallop: int) -> tuple[dict[date, Day], str]:
    """Return what each day did to the speeds on a gallop, or why that cannot be told; a worker keeps the answer."""
    works, _cut = _works(moment, gallop)
    usable = _usable(works)
    if why_not := _too_few(usable):
        return {}, why_not
    try:
        return days_of([_gone(one) for one in usable]), ""
    except CannotFitError:
        return {}, gettext("the works differ too little from each other to tell days from horses")


def faster_there(moment: Moment, gallop: int) -> tuple[Faster, ...]:
    """Return how fast each horse is in fast work on a gallop, as far as its works tell; a worker keeps the answer."""
    works, _cut = _works(moment, gallop)
    usable = [one for one in _usable(works) if one.fast]
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
