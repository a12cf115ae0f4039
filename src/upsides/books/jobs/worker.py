"""A worker: does jobs one after the other until it is told to end, and minds the jobs of all workers."""

import logging
import os
import socket
from collections.abc import Callable, Sequence
from threading import Thread
from time import sleep
from types import FrameType
from typing import Any

from django.db import DatabaseError, InterfaceError, close_old_connections, connection
from django.utils.crypto import get_random_string
from django_tasks import DEFAULT_TASK_BACKEND_ALIAS
from django_tasks_db.management.commands.db_worker import Worker

from upsides.books import clock
from upsides.books.jobs.claims import put_back
from upsides.books.jobs.kinds import KINDS, LONG, QUICK
from upsides.books.jobs.running import SEAT, Seat, Told
from upsides.books.models import Job
from upsides.books.services.jobs import due, prune, revive, usual_schedules
from upsides.books.services.recordings import look_in

LOOK_S = 1.0
"""How often a worker that has nothing to do looks for jobs."""
QUICK_LOOK_S = 0.2
"""How often one does that takes quick jobs only, for which somebody waits with a phone in the hand."""

MIND_S = 5.0
INCOMING_EVERY = 6
"""Every so many looks after all workers' jobs the folder of incoming files is looked into: about twice a minute, so
that a file which stands still is read within a minute."""

PRUNE_EVERY = 720
"""Every so many looks after all workers' jobs the old ones are dropped: about once an hour."""

GRACE_S = 5.0
"""How long work may go on when its worker is to end; then the job is put back over its head."""

AWAY_S = 5.0
LONGEST_HOST = 40
GENTLE = 10
"""How far a worker stands back behind the pages; one for quick jobs does not, as somebody waits for it."""

log = logging.getLogger("upsides.jobs")


class JobWorker(Worker):
    """The queue's worker, in one of our seats, with the lanes from which it takes jobs."""

    def __init__(self, seat: Seat, lanes: Sequence[str]) -> None:
        self.seat = seat
        super().__init__(
            queue_names=list(lanes),
            interval=LOOK_S if LONG in lanes else QUICK_LOOK_S,
            batch=False,
            backend_name=DEFAULT_TASK_BACKEND_ALIAS,
            startup_delay=False,
            max_tasks=None,
            worker_id=seat.worker,
            excluded_queue_names=[],
        )

    def shutdown(self, _signum: int, _frame: FrameType | None) -> None:
        """End calmly: the work hears of it when it next says how far it is."""
        self.running = False
        self.seat.leaving.set()


def new_seat(listen: Callable[[str], Told] | None = None) -> Seat:
    """Return a place for a worker of this process, under a name of its own."""
    name = f"{socket.gethostname()[:LONGEST_HOST]}-{os.getpid()}-{get_random_string(8)}"
    return Seat(name) if listen is None else Seat(name, listen)


def work(seat: Seat, *, quick: bool = False) -> None:
    """Do jobs until SIGTERM or SIGINT; the books must be open. To be called in the main thread.

    Args:
        seat: the worker's place.
        quick: whether it takes quick jobs only, and leaves schedules and incoming files to another.
    """
    worker = JobWorker(seat, [QUICK] if quick else [LONG, QUICK])
    worker.configure_signals()
    if hasattr(os, "nice") and not quick:
        os.nice(GENTLE)  # pages and people come first
    Thread(target=_mind, args=(seat,), kwargs={"quick": quick}, daemon=True).start()
    token = SEAT.set(seat)
    if quick:
        make_ready()
    try:
        while worker.running:
            _trying(worker.run, seat)
    finally:
        SEAT.reset(token)


def make_ready() -> None:
    """Load what jobs need that are always quick, so that the first of them does not wait for it."""
    for one in KINDS.values():
        if one.always_quick:
            one.work()


def _mind(seat: Seat, *, quick: bool) -> None:
    """Look after all workers' jobs now and then; when this worker is to end and does not, end it."""
    if not quick:
        _trying(usual_schedules, seat)
    looked, incoming = 0, Incoming()
    while not seat.leaving.wait(MIND_S if looked else 0.0):
        _trying(lambda: revive(seat.worker), seat)
        if not quick:
            _see_to(looked, incoming, seat)
        looked += 1
        close_old_connections()
    sleep(GRACE_S)
    _trying(lambda: put_back(Job.objects.filter(worker=seat.worker, state=Job.State.RUNNING)), seat)
    os._exit(0)


def _see_to(looked: int, incoming: "Incoming", seat: Seat) -> None:
    """Ask for what schedules want, for files that came in, and drop what is old."""
    _trying(lambda: due(clock.now()), seat)
    if looked % INCOMING_EVERY == 0:
        _trying(incoming.look, seat)
    if looked % PRUNE_EVERY == 0:
        _trying(lambda: prune(clock.now()), seat)


class Incoming:
    """The folder of incoming files, as it was at the last look."""

    def __init__(self) -> None:
        self.seen: dict[str, tuple[int, int]] = {}

    def look(self) -> None:
        """Have those files read that stood still since then."""
        try:
            self.seen = look_in(self.seen)
        except OSError as error:  # the folder is on a disk that is away for a moment
            log.warning("the folder of incoming files could not be looked into: %s", error)


def _trying(act: Callable[[], Any], seat: Seat) -> None:
    """Do something in the books; where they are busy or away for a moment, say so and wait a little."""
    try:
        act()
    except (DatabaseError, InterfaceError) as error:
        log.warning("the books could not be reached: %s", error)
        connection.close()
        seat.leaving.wait(AWAY_S)
