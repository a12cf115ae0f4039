"""Recordings as pages list them: with the horse that each is of, and the reading jobs that brought them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import Q

from upsides.books.models import Horse, Job, Outing, Person, Recorded, Tracker
from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.moments import Moment
from upsides.books.queries.recordings import as_worn, recordings, set_aside, unclaimed
from upsides.books.services.recordings import JOB

LATEST: Final = 40
"""So many recordings are listed that did not begin on the day."""
READINGS: Final = 3
"""So many readings are told of that have ended."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A recording with its horse.

    Args:
        recorded: its row.
        outing: what its horse did by it; None where it is no horse's.
        horse: the horse's name, "" for none.
        aside: whether it is set aside, because it is of no horse.
    """

    recorded: Recorded
    outing: Outing | None
    horse: str
    aside: bool

    @property
    def waits(self) -> bool:
        """Return whether it waits for a horse."""
        return self.outing is None and self.recorded.began is not None and not self.aside


@dataclass(frozen=True, slots=True)
class Worn:
    """A tracker and who wears it.

    Args:
        tracker: its row as it stood.
        horse: name of the horse, "" for none.
        last: its last recording, None for none.
    """

    tracker: Tracker
    horse: str
    last: Recorded | None


@dataclass(frozen=True, slots=True)
class Past:
    """What was said of whose a recording is.

    Args:
        outing: the row.
        horse: name of the horse.
        author: who said so, as that person was; None where nobody did.
    """

    outing: Outing
    horse: str
    author: Person | None


def begun_on(moment: Moment, day: date) -> list[Listed]:
    """Return the recordings that began on a day of the yard and show something, in the order of their beginning."""
    return _listed(moment, recordings(moment).filter(began__range=day_span(day)).order_by("began", "pk"))


def lately(moment: Moment, day: date, most: int = LATEST) -> list[Listed]:
    """Return the last recordings that did not begin on a day, those first that began last."""
    other = recordings(moment).filter(~Q(began__range=day_span(day)) | Q(began=None))
    return _listed(moment, other.order_by("-began", "-pk")[:most])


def waiting_count(moment: Moment) -> int:
    """Return how many recordings wait for a horse."""
    return unclaimed(moment).count()


def one_recorded(moment: Moment, number: int) -> Listed | None:
    """Return one recording, None where there was none of that number."""
    found = _listed(moment, recordings(moment).filter(pk=number))
    return found[0] if found else None


def past_of(moment: Moment, recorded: Recorded) -> list[Past]:
    """Return all that was said of whose a recording is, the last first."""
    rows = Outing.objects.filter(recorded=recorded).select_related("author").order_by("-pk")
    found = list(rows if moment.at is None else rows.filter(recorded_at__lte=moment.at))
    names = moments.names(Horse, moment, (row.horse_id for row in found))
    people = moments.people(moment, (row.author for row in found if row.author is not None))
    return [Past(row, names.get(row.horse_id, ""), people.get(row.author_id or 0)) for row in found]


def trackers(moment: Moment) -> list[Worn]:
    """Return the trackers that were known, by name, each with who wears it."""
    rows = list(moments.rows(Tracker, moment).order_by("name", "id"))
    names = moments.names(Horse, moment, (row.horse_id for row in rows))
    last: dict[int | None, Recorded] = {}
    for one in recordings(moment).exclude(tracker=None).exclude(began=None).order_by("began", "pk"):
        last[one.tracker_id] = one
    return [Worn(row, names.get(row.horse_id, ""), last.get(row.id)) for row in rows]


def readings(by_key: int | None = None) -> list[Job]:
    """Return the readings that wait or run, and the last that ended, the last first; those of one key only.

    A worker's rows change as it goes and keep no history, so this is of the present only.
    """
    found = Job.objects.filter(kind=JOB).order_by("-asked_at", "-pk")
    jobs = [job for job in found[:50] if job.arguments.get("do") == "read"]
    mine = jobs if by_key is None else [job for job in jobs if job.arguments.get("key") == by_key]
    busy = [job for job in mine if job.ended_at is None]
    return [*busy, *[job for job in mine if job.ended_at is not None][:READINGS]]


def rows_of(numbers: Iterable[int]) -> dict[int, Listed]:
    """Return recordings with their horses as they stand now, by their numbers."""
    now = moments.now()
    return {one.recorded.pk: one for one in _listed(now, recordings(now).filter(pk__in=list(numbers)))}


def _listed(moment: Moment, rows: Any) -> list[Listed]:
    found = as_worn(moment, rows)
    outings = {
        outing.recorded_id: outing
        for outing in moments.standing(Outing, moment).filter(recorded__in=[row.pk for row in found]).order_by("pk")
    }
    names = moments.names(Horse, moment, (outing.horse_id for outing in outings.values()))
    aside, told = set_aside(moment), []
    for row in found:
        outing = outings.get(row.pk)
        name = names.get(outing.horse_id, "") if outing else ""
        told.append(Listed(row, outing, name, outing is None and row.pk in aside))
    return told
