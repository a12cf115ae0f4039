"""Books of a test's own, which a process beside this one has open and answers questions about."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from fresh import fresh
from upsides.results.library import Library

PATIENCE_S = 600.0

_CLERK = """
import json, sys
from datetime import timedelta
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(sys.argv[1]))
from django.db.models import F
from django.db.models.functions import Now
from django_tasks_db.models import DBTaskResult
from upsides.books.jobs.kinds import KINDS, Kind
from upsides.books.models import Job, Person
from upsides.books.services.jobs import ask
names = globals()
for line in sys.stdin:
    exec(json.loads(line), names)
    print(json.dumps(names.pop("said", None), default=str), flush=True)
"""


@dataclass(frozen=True)
class Desk:
    """Books that other processes open too.

    Args:
        folder: their folder, with an empty library.
        env: the environment of processes that open them.
        clerk: the process that answers.
    """

    folder: Path
    env: dict[str, str]
    clerk: subprocess.Popen[str]

    def say(self, code: str) -> Any:
        """Run code where these books are open, and return what it assigned to `said`, as JSON has it."""
        assert self.clerk.stdin is not None
        assert self.clerk.stdout is not None
        print(json.dumps(code), file=self.clerk.stdin, flush=True)
        answer = self.clerk.stdout.readline()
        assert answer, f"failed: {code}"
        return json.loads(answer)

    def ask(self, kind: str, **arguments: object) -> int:
        """Ask for a job and return its number."""
        return int(self.say(f"said = ask({kind!r}, {arguments!r}).pk"))

    def job(self, number: int) -> dict[str, Any]:
        """Return a job's row."""
        return dict(self.say(f"said = Job.objects.values().get(pk={number})"))

    def until(self, number: int, *states: str) -> dict[str, Any]:
        """Wait until a job is in one of these states, and return its row."""
        return dict(until(lambda: found if (found := self.job(number))["state"] in states else None))

    def clear(self) -> None:
        """Drop all jobs."""
        self.say("Job.objects.all().delete(); DBTaskResult.objects.all().delete()")


@contextmanager
def desk(folder: Path, **env: str) -> Iterator[Desk]:
    """Give new books in a folder, for the length of a block."""
    Library.create(folder)
    with fresh(folder, ready=True) as given:
        whole = given | env
        command = [sys.executable, "-c", _CLERK, str(folder)]
        with subprocess.Popen(command, env=whole, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as clerk:
            try:
                found = Desk(folder, whole, clerk)
                found.say("said = None")
                yield found
            finally:
                clerk.kill()


def until(look: Callable[[], Any]) -> Any:
    """Return what `look` finds, asked again and again until it is something."""
    end = monotonic() + PATIENCE_S
    while monotonic() < end:
        if found := look():
            return found
        sleep(0.1)
    raise AssertionError("it did not happen")


def children(parent: int) -> set[int]:
    """Return the processes that descend from another, by /proc."""
    parents: dict[int, int] = {}
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            parents[int(place.parent.name)] = int(place.read_text().rpartition(")")[2].split()[1])
        except (OSError, ValueError):
            continue
    found, more = set[int](), {parent}
    while more := {pid for pid, of in parents.items() if of in more}:
        found |= more
    return found


def alive(processes: set[int]) -> set[int]:
    """Return those processes that still run."""
    return {pid for pid in processes if _runs(pid)}


def _runs(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
