"""A job while it is done: what the work says, that it lives, and how it ends."""

import logging
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Thread
from time import monotonic
from typing import Any

from django.conf import settings
from django.db import DatabaseError, close_old_connections, connection
from django.db.models.functions import Now
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.jobs.claims import Claim, claim, put_back
from upsides.books.jobs.kinds import kind
from upsides.books.jobs.tasks import call_up
from upsides.books.models import Job
from upsides.errors import UpsidesError
from upsides.errors.wording import as_kept

BEAT_S = 3.0
"""Every so many seconds a worker says that it lives."""

SAY_S = 0.5
"""Progress is written at most this often."""

LONGEST_DOING = 200

Told = Callable[[float, str], None]
log = logging.getLogger("upsides.jobs")


class JobStopped(Exception):  # noqa: N818 (it is no error: somebody wanted it)
    """The work is to end now: somebody stopped it, or its worker leaves."""


def _unheard(_share: float, _doing: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Seat:
    """A worker's place.

    Args:
        worker: its name, unlike any other's.
        listen: called with the name of a job that begins; returns what is called with the share done and what is
            being done.
        leaving: set when the worker ends.
    """

    worker: str
    listen: Callable[[str], Told] = lambda _name: _unheard
    leaving: Event = field(default_factory=Event)


SEAT: ContextVar[Seat] = ContextVar("seat")


class Running:
    """A job as its work sees it.

    Attributes:
        arguments: what was asked for.
        folder: folder of the library.
        checkpoint: what `keep` was last given, by whichever worker; None when it was not.
    """

    def __init__(self, held: Claim, seat: Seat) -> None:
        job = held.row.get()
        self.held, self.seat, self.told = held, seat, seat.listen(str(job))
        self.kind: str = job.kind
        self.arguments: dict[str, Any] = job.arguments
        self.checkpoint: Any = job.checkpoint
        self.folder: Path = settings.UPSIDES_LIBRARY
        self.halted = Event()
        self.said = 0.0

    def progress(self, share: float, doing: str) -> None:
        """Say how far the work is; cheap enough to be called often.

        Args:
            share: share done, 0 to 1.
            doing: what is being done.

        Raises:
            JobStopped: the work is to end now.
        """
        self.told(share, doing)
        if self.halted.is_set() or self.seat.leaving.is_set():
            raise JobStopped
        if monotonic() - self.said < SAY_S:
            return
        self.said = monotonic()
        try:
            self._write(progress=min(max(share, 0.0), 1.0), doing=doing[:LONGEST_DOING])
        except DatabaseError:  # busy, or away for a moment: the work is worth more than a word about it
            if connection.in_atomic_block:
                raise
            connection.close()

    def keep(self, checkpoint: Any) -> None:
        """Keep what is done, as JSON: if this worker dies, the next one goes on from here.

        Raises:
            JobStopped: the work is to end now.
        """
        self._write(checkpoint=checkpoint)
        self.checkpoint = checkpoint

    def _write(self, **values: Any) -> None:
        _reach_the_books()
        if not self.held.row.filter(cancel_asked_at=None).update(heartbeat_at=Now(), **values):
            self.halted.set()
            raise JobStopped


def run(number: int) -> None:
    """Take up a job and do it; whatever happens to it stands in its row."""
    seat = SEAT.get()
    held = claim(number, seat.worker)
    if held is None:
        return
    running = Running(held, seat)
    try:
        with _beating(running):
            result = kind(running.kind).work()(running)
    except JobStopped:
        held.row.exclude(cancel_asked_at=None).update(state=Job.State.CANCELLED, doing="", ended_at=clock.now())
        put_back(held.row)
    except UpsidesError as error:
        _failed(held, f"{str(error).removesuffix('.')}.", {"refusal": as_kept(str(error))})
    except Exception as error:  # noqa: BLE001 (whatever it is, the job has ended and its row must say so)
        _failed(held, _slip(error))
    else:
        _reach_the_books()
        held.ended(Job.State.DONE, progress=1.0, result=result)
    call_up()


def _reach_the_books() -> None:
    """Connect anew where a connection may have died while the work said nothing."""
    if not connection.in_atomic_block:
        close_old_connections()


def _failed(held: Claim, words: str, result: dict[str, Any] | None = None) -> None:
    _reach_the_books()
    log.warning("job %d failed: %s", held.number, words)
    held.ended(Job.State.FAILED, failure=words, result=result)


def _slip(error: Exception) -> str:
    """Return a sentence about a mistake of the program's own, and under it the last line of its traceback."""
    words = _("The program made a mistake of its own; nothing half-done was kept. The line below helps to find it.")
    where = traceback.extract_tb(error.__traceback__)[-1]
    last = traceback.format_exception_only(error)[-1].strip()
    return f"{words}\n{Path(where.filename).name}:{where.lineno}: {last}"


@contextmanager
def _beating(running: Running) -> Iterator[None]:
    """Say every few seconds that the worker lives, even while the work itself says nothing."""
    over = Event()
    thread = Thread(target=_beat, args=(running, over), daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _beat(running: Running, over: Event) -> None:
    try:
        while not over.wait(BEAT_S):
            _beat_once(running)
    finally:
        connection.close()


def _beat_once(running: Running) -> None:
    """Renew the heartbeat, and look whether the work is to end."""
    held = running.held.row
    try:
        if not held.update(heartbeat_at=Now()) or held.exclude(cancel_asked_at=None).exists():
            running.halted.set()
    except DatabaseError:  # busy, or away for a moment: the next beat tries again
        connection.close()
