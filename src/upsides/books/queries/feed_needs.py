"""What a horse needs, by its mass and its work, and how its ration stands to that."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from upsides import feeding
from upsides.books import clock
from upsides.books.diary.measured import Condition, Mass, Tape
from upsides.books.diary.work import FAST, UNRIDDEN, Exercise
from upsides.books.models import Entry, Feed, Horse
from upsides.books.queries import diary
from upsides.books.queries.days import entries_of
from upsides.books.queries.diary import Written
from upsides.books.queries.feeding import label
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.errors import FeedingRefusedError, UpsidesError
from upsides.errors.wording import gettext as _
from upsides.rules import own_rules

WEEKS: Final = 4
"""Weeks before the day whose work is looked at."""
WRITTEN: Final = 4
"""Days of a week on which something must be written for the week to count."""
HOURS_A_RIDE: Final = 1.0
"""Hours under the rider on a day with a rider, which the diary does not hold: common practice, no source."""
COUNTS: Final = timedelta(days=400)
"""How long a weighing counts."""
OFF: Final = frozenset({"off", "box"})
CANTER: Final = frozenset({"hack_canter", "steady_canter"})


@dataclass(frozen=True, slots=True)
class Asked:
    """What somebody names instead of what the diary says.

    Args:
        work: class of work, one of `feeding.WORKS`; empty to go by the diary.
        kg: body mass, None to go by the diary.
        hours: hours under the rider on a day with a rider.
    """

    work: str = ""
    kg: float | None = None
    hours: float = HOURS_A_RIDE


@dataclass(frozen=True, slots=True)
class Needs:
    """What a horse needs.

    Args:
        weighing: the last on a scale, else what the tape says; None where neither is known.
        kg: the mass that counts, None likewise.
        worked: class of work by the diary; None where another is named or too little is written.
        work: the class that counts; empty where none does.
        days: on how many of the last days something of its work is written.
        figures: the rules' figures.
        ration: its ration held against what it needs; None where mass or class is not known.
        proposal: the nearest ration that meets it; None where there is none, or it is met.
        unmet: why there is no proposal, in English; empty where nothing stands in the way.
    """

    weighing: feeding.Weighing | None
    kg: float | None
    worked: feeding.Worked | None
    work: str
    days: int
    figures: feeding.Defaults
    ration: feeding.Ration | None = None
    proposal: feeding.Proposal | None = None
    unmet: str = ""


def needs(
    library: Path,
    moment: Moment,
    horse: Horse,
    servings: Sequence[feeding.Serving],
    feeds: Iterable[Feed],
    times: Sequence[str],
    asked: Asked,
) -> Needs:
    """Return what a horse needs today, its ration held against it, and the nearest ration that meets it.

    Raises:
        FeedingRefusedError: a figure that somebody named cannot be right.
    """
    figures = feeding.defaults(moment.day, own_rules(library))
    weighing = weighings(moment, [horse.pk]).get(horse.pk)
    weeks, days = weeks_of(moment, horse.pk, asked.hours)
    worked = feeding.work_of(weeks, figures) if weeks and not asked.work else None
    work = asked.work or (worked.work if worked else "")
    kg = asked.kg if asked.kg is not None else weighing.kg if weighing else None
    found = Needs(weighing, kg, worked, work, days, figures)
    if kg is None or not work:
        return found
    fed = {serving.feed for serving in servings}
    labels = [label(feed) for feed in feeds if feed.used or feed.name in fed]
    held = feeding.ration(servings, labels, kg, work, figures)
    try:
        proposal, unmet = feeding.propose(servings, labels, kg, work, figures, times=times), ""
    except UpsidesError as error:
        proposal, unmet = None, str(error)
    return Needs(weighing, kg, worked, work, days, figures, held, proposal, unmet)


def weighings(moment: Moment, horses: Collection[int]) -> dict[int, feeding.Weighing]:
    """Return the last mass of each horse on a scale, else by its tape; one of neither is not there."""
    found: dict[int, feeding.Weighing] = {}
    for entry in entries_of(moment, (Mass.name, Tape.name), moment.day - COUNTS, moment.day, horses):
        one, horse = weighing_of(entry), entry.horse_id
        if one and horse is not None and (one.how == "scale" or getattr(found.get(horse), "how", "tape") == "tape"):
            found[horse] = one
    return found


def weighing_of(entry: Entry) -> feeding.Weighing | None:
    """Return what an entry says of a horse's mass; a tape of the girth alone says nothing."""
    values, day = entry.values, entry.happened_at.astimezone(clock.place().zone).date()
    if entry.kind == Mass.name:
        return feeding.Weighing(day, values["kg"])
    if values.get("length_cm") is None:
        return None
    return feeding.Weighing(day, feeding.taped_kilograms(values["girth_cm"], values["length_cm"]), "tape")


def weeks_of(moment: Moment, horse: int, hours: float) -> tuple[list[feeding.Week], int]:
    """Return the weeks before the moment's day of which enough is written, and the days on which anything is.

    Args:
        moment: when to look from.
        horse: its number.
        hours: under the rider, on a day with a rider.

    Raises:
        FeedingRefusedError: so many hours that no week holds them.
    """
    did = _did(moment, horse)
    weeks = []
    for week in range(WEEKS):
        days = [day for day in did if week * 7 < (moment.day - day).days <= week * 7 + 7]
        if len(days) >= WRITTEN:
            weeks.append(_week([did[day] for day in days], hours))
    return weeks, len(did)


def _did(moment: Moment, horse: int) -> dict[date, set[str]]:
    """Return what the horse did on each day before the moment's on which anything is written."""
    zone, found = clock.place().zone, dict[date, set[str]]()
    edges = moment.day - timedelta(weeks=WEEKS), moment.day - timedelta(days=1)
    for entry in entries_of(moment, [Exercise.name], *edges, [horse]):
        found.setdefault(entry.happened_at.astimezone(zone).date(), set()).add(entry.values["exercise"])
    return found


def _week(days: Sequence[set[str]], hours: float) -> feeding.Week:
    """Return a week, each day by the hardest thing done."""
    fast = sum(bool(day & FAST) for day in days)
    canter = sum(bool(day & CANTER and not day & FAST) for day in days)
    ridden = sum(bool(day - UNRIDDEN) for day in days)
    return feeding.Week(canter, fast, sum(day <= OFF for day in days), ridden * hours)


def measured(moment: Moment, horse: int, reader: Visitor) -> list[Written]:
    """Return a horse's masses, tapes and condition scores of the last twelve weeks, latest first."""
    kinds, first = (Mass.name, Tape.name, Condition.name), moment.day - timedelta(weeks=12)
    found = entries_of(moment, kinds, first, moment.day, [horse]).select_related("author")
    return diary.written(found.order_by("-happened_at", "-pk"), moment, reader)


def change(written: Iterable[Written]) -> tuple[feeding.Weighing, feeding.Weighing] | None:
    """Return the first and the last weighing on a scale, where a week or more lies between them."""
    scale = [one.entry for one in written if one.entry.kind == Mass.name]
    found = sorted((one for entry in scale if (one := weighing_of(entry))), key=lambda one: one.day)
    if not found or (found[-1].day - found[0].day).days < 7:
        return None
    return found[0], found[-1]


def named_work(work: str) -> str:
    """Return a class of work that somebody named, empty for none.

    Raises:
        FeedingRefusedError: there is no such class.
    """
    if work and work not in feeding.WORKS:
        raise FeedingRefusedError(
            _("work"), work, _("there is no such class"), _("choose one of {works}", works=", ".join(feeding.WORKS))
        )
    return work
