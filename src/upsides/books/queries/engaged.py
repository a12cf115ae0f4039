"""What horses are engaged for: how far each has come, what it has cost, what has to be said next."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Final

from upsides.books import clock
from upsides.books.models import Decision, Declarable, Engagement, Horse
from upsides.books.queries import moments
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import dues_of, next_of
from upsides.books.queries.programme import Programme, programme
from upsides.placing import Deadline, Due, Money, Next, Race, Stage, Terms

REACHED: Final[Mapping[str, Stage | None]] = {
    Engagement.State.MEANT: None,
    Engagement.State.ENTERED: Stage.ENTER,
    Engagement.State.CONFIRMED: Stage.CONFIRM,
    Engagement.State.DECLARED: Stage.DECLARE,
    Engagement.State.WITHDRAWN: Stage.WITHDRAW,
}
_STEP: Final = {Decision.Step.SUPPLEMENT.value: Stage.SUPPLEMENT}


@dataclass(frozen=True, slots=True)
class Engaged:
    """One horse and one race that it is meant for or in.

    Args:
        engagement: the row.
        horse: its horse's row.
        race: the race; made of the row where no programme names it.
        known: whether a programme names it.
        reached: the last stage that was said; None where it is only meant.
        next: the next decision; None where there is none.
        decisions: what was decided, in order.
        spent: what it has cost so far, a sum for each currency.
        to_declare: what must be declared of the horse for this race and was not yet.
    """

    engagement: Engagement
    horse: Horse
    race: Race
    known: bool
    reached: Stage | None
    next: Next | None
    decisions: tuple[Decision, ...]
    spent: tuple[Money, ...]
    to_declare: tuple[Declarable, ...]

    @property
    def due(self) -> Deadline | None:
        """Return by when what must be said next."""
        return self.next.deadline if self.next else None

    @property
    def must(self) -> bool:
        """Return whether silence takes the horse out; a declared one only may be taken out."""
        return self.next is not None and self.next.if_silent

    @property
    def ride(self) -> Decision | None:
        """Return the jockey as booked last, None where none is."""
        booked = [one for one in self.decisions if one.step == Decision.Step.JOCKEY]
        return booked[-1] if booked and (booked[-1].rider_id or booked[-1].jockey) else None


def engaged(
    folder: Path,
    moment: Moment,
    first: date | None = None,
    last: date | None = None,
    horses: Collection[int] | None = None,
) -> list[Engaged]:
    """Return what horses are engaged for on some days, the soonest race first.

    Args:
        folder: of the library.
        moment: when to look from.
        first: day of the first race, the moment's where none is given.
        last: day of the last race, None for no end.
        horses: numbers of the horses, None for all.
    """
    rows = moments.rows(Engagement, moment).filter(day__gte=first or moment.day)
    rows = rows if last is None else rows.filter(day__lte=last)
    rows = rows if horses is None else rows.filter(horse__in=list(horses))
    listed = list(rows.order_by("day", "off_at", "id"))
    known = moments.rows(Horse, moment).filter(id__in={one.horse_id for one in listed})
    named = {horse.pk: horse for horse in known}
    said, told = _decisions(moment, listed), _declarables(moment, set(named))
    plan, terms, at = programme(folder, moment), terms_of(folder), moment.at or clock.now()
    return [
        _engaged(one, named[one.horse_id], plan, said.get(one.pk, ()), told.get(one.horse_id, ()), terms, at)
        for one in listed
        if one.horse_id in named
    ]


def _engaged(
    row: Engagement,
    horse: Horse,
    plan: Programme,
    said: tuple[Decision, ...],
    told: Iterable[Declarable],
    terms: Terms,
    at: datetime,
) -> Engaged:
    race = plan.races.get(row.race_code) if row.race_code else None
    known = race is not None
    race = race or race_of_row(row)
    reached = reached_by(row, said)
    found = next_of(race, reached, at, terms)
    spent = added([Money(float(one.cost), one.currency) for one in said if one.cost is not None])
    gone = row.state in {Engagement.State.WITHDRAWN, Engagement.State.DECLARED}
    return Engaged(row, horse, race, known, reached, found, said, spent, () if gone else tuple(told))


def is_out(one: Engaged | None) -> bool:
    """Return whether a horse was taken out of a race."""
    return one is not None and one.engagement.state == Engagement.State.WITHDRAWN


def reached_by(row: Engagement, said: Iterable[Decision]) -> Stage | None:
    """Return the last stage that was said: a late entry is told apart from an entry by what was decided."""
    stage = REACHED[row.state]
    steps = [one.step for one in said if one.step not in {Decision.Step.JOCKEY, Decision.Step.MEAN}]
    return _STEP.get(steps[-1], stage) if steps and stage is Stage.ENTER else stage


def race_of_row(row: Engagement) -> Race:
    """Return an engagement that stands in no programme as a race, as far as it tells."""
    stages = ((Stage.ENTER, row.enter_by), (Stage.CONFIRM, row.confirm_by), (Stage.DECLARE, row.declare_by))
    dues = tuple(Due(stage, at) for stage, at in stages if at is not None)
    far = float(row.distance_m) if row.distance_m else None
    return Race(
        "the yard's own",
        row.day,
        row.course,
        row.race,
        zone=row.zone,
        jurisdiction=row.country,
        off=row.off_at,
        distance_m=far,
        dues=dues,
    )


def added(sums: Iterable[Money]) -> tuple[Money, ...]:
    """Return sums added up by currency; different currencies are never added."""
    totals: dict[str, float] = defaultdict(float)
    for one in sums:
        totals[one.currency] += one.amount
    return tuple(Money(round(total, 2), currency) for currency, total in totals.items())


def pressing(found: Iterable[Engaged], at: datetime, hours: float | None = None) -> list[Engaged]:
    """Return what has to be said, soonest first; within some hours where they are given."""
    last = None if hours is None else at + timedelta(hours=hours)
    due = [one for one in found if one.must and one.due and one.due.at >= at and (last is None or one.due.at <= last)]
    return sorted(due, key=lambda one: (one.due.at if one.due else at, one.horse.name.casefold()))


def dues_by_stage(race: Race, terms: Terms) -> dict[Stage, Deadline]:
    """Return the deadline of each stage of a race, as far as known."""
    return {one.stage: one for one in dues_of(race, terms)[0]}


def _decisions(moment: Moment, rows: Iterable[Engagement]) -> dict[int, tuple[Decision, ...]]:
    found = Decision.objects.filter(engagement__in=[one.pk for one in rows]).select_related("by", "rider")
    found = found if moment.at is None else found.filter(recorded_at__lte=moment.at)
    parts: dict[int, list[Decision]] = defaultdict(list)
    for one in found.order_by("recorded_at", "pk"):
        parts[one.engagement_id].append(one)
    return {number: tuple(said) for number, said in parts.items()}


def _declarables(moment: Moment, horses: Collection[int]) -> dict[int, tuple[Declarable, ...]]:
    parts: dict[int, list[Declarable]] = defaultdict(list)
    rows = moments.rows(Declarable, moment).filter(horse__in=horses, declared_on=None)
    for one in rows.order_by("happened_on", "id"):
        parts[one.horse_id].append(one)
    return {number: tuple(told) for number, told in parts.items()}
