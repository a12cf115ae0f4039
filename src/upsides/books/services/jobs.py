"""Writes about jobs: asking for one, stopping one, taking up what a dead worker left, asking on time."""

from datetime import datetime, time, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.db.models.functions import Now
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from upsides.books import clock
from upsides.books.jobs.claims import one_at_a_time
from upsides.books.jobs.kinds import kind as kind_of
from upsides.books.jobs.tasks import enqueue, run_job
from upsides.books.jobs.times import next_time
from upsides.books.models import Job, Person, Schedule
from upsides.errors import JobEndedError, ScheduleError
from upsides.errors.wording import gettext

SILENT = timedelta(seconds=30)
"""A worker that has not said for so long that it lives is dead."""

MOST_DEATHS = 3
KEPT = timedelta(days=60)
"""How long ended jobs stay listed."""

USUAL = (
    ("backup", time(2, 30)),
    ("fit", time(3, 30)),
    ("condition", time(4, 0)),
    ("chances", time(4, 15)),
    ("check", time(4, 30)),
    ("plans", time(4, 45)),
    ("reminders", time(6, 0)),
    ("let_go", time(20, 0)),
)
"""What a yard has done every night, until somebody says otherwise."""

_OPEN = (Job.State.WAITING, Job.State.RUNNING)


@transaction.atomic
def ask(
    kind: str,
    arguments: dict[str, Any] | None = None,
    by: Person | None = None,
    schedule: Schedule | None = None,
    *,
    afresh: bool = False,
) -> Job:
    """Ask for a job; one of the same kind and arguments that waits or runs already is returned instead.

    Args:
        kind: which.
        arguments: what it is told.
        by: who asks.
        schedule: which schedule asks.
        afresh: whether one that runs already will not do: what it works with may have changed since it began.

    Raises:
        JobKindUnknownError: there is no such kind.
    """
    kind_of(kind)
    one_at_a_time()
    wanted = arguments or {}
    open_ = (Job.State.WAITING,) if afresh else _OPEN
    for job in Job.objects.filter(kind=kind, state__in=open_, cancel_asked_at=None):
        if job.arguments == wanted:
            return job
    asked = Job.objects.create(kind=kind, arguments=wanted, asked_by=by, schedule=schedule, asked_at=clock.now())
    enqueue(asked.pk)
    return asked


@transaction.atomic
def cancel(job: Job, by: Person | None = None) -> None:
    """Stop a job: one that waits at once, one that runs as soon as its work listens. What it had begun is dropped.

    Raises:
        JobEndedError: it has ended already.
    """
    now, note = clock.now(), {"stopped_by": by.pk if by else None}
    row = Job.objects.filter(pk=job.pk)
    if row.filter(state=Job.State.WAITING).update(
        state=Job.State.CANCELLED, cancel_asked_at=now, ended_at=now, result=note
    ):
        return
    running = row.filter(state=Job.State.RUNNING)
    running.filter(cancel_asked_at=None).update(cancel_asked_at=now, result=note)
    if not running.exists():
        raise JobEndedError(job.pk)


def revive(here: str = "") -> int:
    """Let the jobs of dead workers wait again, or fail those that have killed their workers too often.

    The database's own clock decides, so that workers on several machines agree.

    Args:
        here: the worker that looks: it lives, however long its machine slept.

    Returns:
        How many jobs wait again.
    """
    silent = (
        Job.objects.filter(state=Job.State.RUNNING)
        .exclude(worker=here)
        .filter(Q(heartbeat_at=None) | Q(heartbeat_at__lt=Now() - SILENT))
    )
    over = {"ended_at": clock.now(), "doing": ""}
    words = _(
        "Its worker died each of the %(times)d times that it was tried, so it is not tried again. Most often the "
        "computer was switched off or ran out of memory."
    ) % {"times": MOST_DEATHS}
    silent.exclude(cancel_asked_at=None).update(state=Job.State.CANCELLED, **over)
    silent.filter(attempts__gte=MOST_DEATHS).update(state=Job.State.FAILED, failure=words, **over)
    silent.update(state=Job.State.WAITING, worker="")
    _tidy_queue()
    return _enqueue_lost()


def _tidy_queue() -> None:
    """Drop the queue's rows of workers that died: nobody would ever take them up."""
    held = DBTaskResult.objects.filter(
        task_path=run_job.module_path, status=TaskResultStatus.RUNNING, started_at__lt=timezone.now() - SILENT
    )
    running = set(Job.objects.filter(state=Job.State.RUNNING).values_list("pk", flat=True))
    held.filter(pk__in=[row.pk for row in held if row.args_kwargs["args"][0] not in running]).delete()


@transaction.atomic
def _enqueue_lost() -> int:
    """Enqueue every job that waits and that the queue does not hold; return how many."""
    one_at_a_time()
    held = (TaskResultStatus.READY, TaskResultStatus.RUNNING)  # a worker may be about to take one up
    rows = DBTaskResult.objects.filter(task_path=run_job.module_path, status__in=held)
    queued = {row["args"][0] for row in rows.values_list("args_kwargs", flat=True)}
    lost = [pk for pk in Job.objects.filter(state=Job.State.WAITING).values_list("pk", flat=True) if pk not in queued]
    for number in lost:
        enqueue(number)
    return len(lost)


def due(now: datetime) -> list[Job]:
    """Ask for what schedules want, each once however many of its times have passed; return what was asked for."""
    passed = Schedule.objects.filter(Q(next_at__lte=now) | Q(next_at=None), active=True)
    asked = [_ask_on_time(schedule, now) for schedule in passed]
    return [job for job in asked if job is not None]


@transaction.atomic
def _ask_on_time(schedule: Schedule, now: datetime) -> Job | None:
    """Move a schedule on, and ask if its time had come and no other worker was first."""
    later = next_time(schedule.at, schedule.weekdays, now, clock.place().zone)
    if later is None and schedule.next_at is None:
        return None
    row = Schedule.objects.filter(pk=schedule.pk, active=True, next_at=schedule.next_at)
    if not row.update(next_at=later) or schedule.next_at is None:
        return None
    return ask(schedule.kind, schedule.arguments, schedule=schedule)


@transaction.atomic
def change_schedule(schedule: Schedule, at: time, weekdays: str, *, active: bool) -> None:
    """Say when a schedule asks from now on.

    Args:
        schedule: which.
        at: time of day on the yard's clock.
        weekdays: digits of the days, Monday 0.
        active: whether it asks at all.

    Raises:
        ScheduleError: no day is chosen, or another schedule of that kind has that time.
    """
    if active and not weekdays:
        raise ScheduleError(gettext("no day of the week is chosen"), gettext("choose one, or switch the schedule off"))
    if Schedule.objects.filter(kind=schedule.kind, at=at).exclude(pk=schedule.pk).exists():
        raise ScheduleError(
            gettext("the same is already asked for at {at:%H:%M}", at=at), gettext("choose another time")
        )
    schedule.at, schedule.weekdays, schedule.active = at, weekdays, active
    schedule.next_at = next_time(at, weekdays, clock.now(), clock.place().zone) if active else None
    schedule.save()


def usual_schedules() -> None:
    """Enter what a yard has done every night, where there is no schedule of that kind yet."""
    for name, at in USUAL:
        if not Schedule.objects.filter(kind=name).exists():
            Schedule.objects.get_or_create(kind=name, at=at)


def prune(now: datetime) -> None:
    """Drop jobs that ended long ago, and the queue's rows of what ended yesterday or before."""
    Job.objects.filter(ended_at__lt=now - KEPT).delete()
    ended = DBTaskResult.objects.finished().filter(task_path=run_job.module_path)
    ended.filter(finished_at__lt=timezone.now() - timedelta(days=1)).delete()
