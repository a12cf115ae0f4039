"""Runners, and until when the yard must say something about a race."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from upsides.books import clock
from upsides.books.models import Engagement, Horse
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment


class Step(StrEnum):
    """What has to be said."""

    ENTER = "enter"
    CONFIRM = "confirm"
    DECLARE = "declare"


@dataclass(frozen=True, slots=True)
class Runner:
    """A horse that is declared for a race.

    Args:
        horse: its row of the books.
        engagement: the race.
        off: when the race is off, in the course's time; None where that is not known.
    """

    horse: Horse
    engagement: Engagement
    off: datetime | None


@dataclass(frozen=True, slots=True)
class Deadline:
    """Something to be said about a race.

    Args:
        horse: its row of the books.
        engagement: the race.
        step: what has to be said.
        by: until when, in the course's time.
    """

    horse: Horse
    engagement: Engagement
    step: Step
    by: datetime


def runners(moment: Moment, first: date, last: date) -> list[Runner]:
    """Return the declared runners of some days, both included, in the order in which their races are off."""
    state = Engagement.State.DECLARED
    rows = list(moments.rows(Engagement, moment).filter(day__range=(first, last), state=state))
    horses = _horses(moment, rows)
    found = [Runner(horses[row.horse_id], row, _local(row.off_at, row)) for row in rows if row.horse_id in horses]
    return sorted(found, key=lambda one: (one.engagement.day, one.off is None, one.engagement.off_at, one.horse.name))


def deadlines(moment: Moment, hours: float) -> list[Deadline]:
    """Return what has to be said within some hours, soonest first: the next step of each race only."""
    at = moment.at or clock.now()
    rows = list(moments.rows(Engagement, moment).filter(day__gte=moment.day - timedelta(days=1)))
    horses = _horses(moment, rows)
    found = []
    for row in rows:
        step, by = _next(row)
        if step is not None and by is not None and at <= by <= at + timedelta(hours=hours) and row.horse_id in horses:
            found.append(Deadline(horses[row.horse_id], row, step, by.astimezone(ZoneInfo(row.zone))))
    return sorted(found, key=lambda one: (one.by, one.horse.name.casefold()))


def _next(row: Engagement) -> tuple[Step | None, datetime | None]:
    """Return what has to be said next of a race, and until when."""
    match row.state:
        case Engagement.State.MEANT:
            return Step.ENTER, row.enter_by
        case Engagement.State.ENTERED if row.confirm_by is not None:
            return Step.CONFIRM, row.confirm_by
        case Engagement.State.ENTERED | Engagement.State.CONFIRMED:
            return Step.DECLARE, row.declare_by
        case _:
            return None, None


def _horses(moment: Moment, rows: list[Engagement]) -> dict[int, Horse]:
    return {horse.pk: horse for horse in moments.rows(Horse, moment).filter(id__in={row.horse_id for row in rows})}


def _local(at: datetime | None, row: Engagement) -> datetime | None:
    return at.astimezone(ZoneInfo(row.zone)) if at else None
