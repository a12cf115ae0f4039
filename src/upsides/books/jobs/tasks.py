"""The one task of the queue: do a job."""

from datetime import timedelta
from typing import Final

from django.utils import timezone
from django_tasks import TaskResultStatus, task

from upsides.books.jobs.kinds import QUICK, lane
from upsides.books.models import Job

FIRST: Final = 10


@task
def run_job(number: int) -> None:
    """Do a job, unless it is done, stopped or being done already; so a task too many does no harm."""
    from upsides.books.jobs.running import run  # a web process that asks for a job loads nothing of its work

    run(number)


def enqueue(number: int, pause: timedelta | None = None) -> None:
    """Put a job into the queue of its lane, to be taken up after a pause; a worker of both takes quick ones first."""
    when = None if pause is None else timezone.now() + pause
    kind, arguments = Job.objects.values_list("kind", "arguments").get(pk=number)
    queue = lane(kind, arguments)
    run_job.using(run_after=when, queue_name=queue, priority=FIRST if queue == QUICK else 0).enqueue(number)


def call_up() -> None:
    """End the pauses: a turn has become free."""
    from django_tasks_db.models import DBTaskResult

    waiting = DBTaskResult.objects.filter(status=TaskResultStatus.READY, task_path=run_job.module_path)
    waiting.filter(run_after__gt=timezone.now()).update(run_after=timezone.now())
