"""Reads about jobs. A worker's rows change as it goes and keep no history, so these pages show the present only."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from upsides.books.models import Job, Schedule
from upsides.errors import UpsidesError
from upsides.ratings.kept_fits import kept_fit

MOST_ENDED = 20
KNOWN_ENOUGH = 0.03
"""Share that must be done before the time left is worth saying."""


@dataclass(frozen=True, slots=True)
class Overview:
    """All there is to say about jobs.

    Args:
        running: jobs that are being done, the longest first.
        waiting: jobs that wait, in the order in which they will be done.
        ended: the last jobs that ended, latest first.
        schedules: what is asked for again and again.
        fit: day of the figures that pages show; None without any.
    """

    running: list[Job]
    waiting: list[Job]
    ended: list[Job]
    schedules: list[Schedule]
    fit: date | None

    @property
    def busy(self) -> bool:
        """Return whether the page changes by itself."""
        return bool(self.running or self.waiting)


def overview(library: Path, today: date) -> Overview:
    """Return the jobs and schedules as they stand."""
    rows = Job.objects.select_related("asked_by", "schedule")
    state = Job.State
    return Overview(
        running=list(rows.filter(state=state.RUNNING).order_by("started_at", "pk")),
        waiting=list(rows.filter(state=state.WAITING).order_by("asked_at", "pk")),
        ended=list(rows.exclude(ended_at=None).order_by("-ended_at", "-pk")[:MOST_ENDED]),
        schedules=list(Schedule.objects.all()),
        fit=_fit(library, today),
    )


def job(number: int) -> Job | None:
    """Return a job, None where there is none of that number."""
    return Job.objects.select_related("asked_by", "schedule").filter(pk=number).first()


def open_job(kind: str) -> Job | None:
    """Return the first job of a kind that waits or runs and that nobody asked to stop, None for none."""
    return Job.objects.filter(kind=kind, ended_at=None, cancel_asked_at=None).order_by("asked_at", "pk").first()


def last_job(kind: str, arguments: Mapping[str, Any]) -> Job | None:
    """Return the job of a kind that was asked for last with just these arguments, None for none."""
    asked = Job.objects.filter(kind=kind).order_by("-asked_at", "-pk")
    return next((job for job in asked if job.arguments == dict(arguments)), None)


def time_left(one: Job, now: datetime) -> timedelta | None:
    """Return how much longer a job will take at the pace so far, None where that is not known."""
    if one.state != Job.State.RUNNING or one.started_at is None or not KNOWN_ENOUGH < one.progress < 1.0:
        return None
    taken = now - one.started_at
    return taken * ((1.0 - one.progress) / one.progress) if taken > timedelta(0) else None


def _fit(library: Path, today: date) -> date | None:
    try:
        return kept_fit(library, today).as_of
    except UpsidesError:
        return None
