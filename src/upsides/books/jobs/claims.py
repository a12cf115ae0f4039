"""Who does a job: taking it up, and how that ends. Only the worker that holds a job may write to it."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db import transaction
from django.db.models import F, QuerySet
from django.db.models.functions import Now

from upsides.books import clock
from upsides.books.jobs.kinds import KINDS
from upsides.books.jobs.tasks import enqueue
from upsides.books.models import Job, Yard

TURN_PAUSE = timedelta(seconds=5)
"""How long a job waits before it is tried again while another has its turn, unless that one ends sooner."""


@dataclass(frozen=True, slots=True)
class Claim:
    """A job in the hands of one worker.

    Args:
        number: the job.
        worker: the worker.
        attempt: how often it has been taken up, this time included; a worker that was thought dead, and whose job
            has been taken up again, no longer holds it.
    """

    number: int
    worker: str
    attempt: int

    @property
    def row(self) -> QuerySet[Job]:
        """Return the job's row as long as this worker holds it."""
        return Job.objects.filter(pk=self.number, worker=self.worker, attempts=self.attempt, state=Job.State.RUNNING)

    def ended(self, state: Job.State, **values: Any) -> None:
        """Write how the job ended."""
        self.row.update(state=state, doing="", ended_at=clock.now(), **values)


def one_at_a_time() -> None:
    """Wait until nobody else asks for jobs or takes one up, to the end of the transaction.

    SQLite's transactions do so by themselves.
    """
    Yard.objects.select_for_update().first()


@transaction.atomic
def claim(number: int, worker: str) -> Claim | None:
    """Take up a job that waits; None when it does not, or when another has its turn and it has to wait on."""
    one_at_a_time()
    job = Job.objects.filter(pk=number, state=Job.State.WAITING).first()
    if job is None:
        return None
    if _turn_taken(job):
        enqueue(number, TURN_PAUSE)
        return None
    taken = Claim(number, worker, job.attempts + 1)
    Job.objects.filter(pk=number).update(
        state=Job.State.RUNNING,
        worker=worker,
        attempts=taken.attempt,
        started_at=clock.now(),
        heartbeat_at=Now(),
        failure="",
    )
    return taken


def _turn_taken(job: Job) -> bool:
    mine = KINDS[job.kind].turn if job.kind in KINDS else ""
    same = [name for name, kind in KINDS.items() if kind.turn == mine]
    return Job.objects.filter(state=Job.State.RUNNING, kind__in=same).exists()


@transaction.atomic
def put_back(held: QuerySet[Job]) -> None:
    """Let jobs wait again that their worker leaves calmly: it does not count as a try."""
    one_at_a_time()  # or one who looks for jobs without a place in the queue would give them a second
    numbers = list(held.values_list("pk", flat=True))
    held.filter(pk__in=numbers).update(state=Job.State.WAITING, worker="", attempts=F("attempts") - 1)
    for number in numbers:
        enqueue(number)
