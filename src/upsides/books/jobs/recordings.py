"""Work on recordings: reading the files that came in, and laying what is known on a gallop that was drawn."""

import os
from collections.abc import Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager
from datetime import date
from pathlib import Path
from typing import Any, Final

from upsides.books import clock
from upsides.books.jobs.running import Running
from upsides.books.jobs.together import days_of, find_company
from upsides.books.models import Person, Recorded
from upsides.books.queries import moments
from upsides.books.queries.gallops import lines
from upsides.books.recordings.reading import Reader, on_gallops
from upsides.books.recordings.session import Came
from upsides.books.services.jobs import ask
from upsides.books.services.outings import Entered, enter, renew, standing_of
from upsides.books.services.recordings import put_away, tidy
from upsides.compute import each, processes, serial
from upsides.errors import NoRecordingsError
from upsides.errors.wording import as_kept

MANY: Final = 12
"""From so many files on it pays to start processes for them."""
PROCESSES: Final = 2
SHOWN: Final = 1000
"""So many files are told of one by one."""


def recordings(running: Running) -> dict[str, Any]:
    """Do what the argument `do` says: read files, or look which works were on a gallop.

    Every file is entered whole or not at all; what was read when the job is stopped stays, and is known when the same
    file comes again.

    Raises:
        NoRecordingsError: it says nothing that can be done.
    """
    match running.arguments.get("do"):
        case "read":
            return _read(running)
        case "gallops":
            return _gallops(running)
    raise NoRecordingsError


def _read(running: Running) -> dict[str, Any]:
    asked = running.arguments
    files: Sequence[dict[str, str]] = asked["files"]
    told: dict[str, Any] = running.checkpoint or _nothing()
    left = files[told["done"] :]
    by = Person.objects.filter(pk=asked["by"]).first() if asked.get("by") else None
    reader = Reader(running.folder, lines(moments.now()), clock.now())
    tidy(running.held.number)
    with _executor(len(left)) as executor:
        for file, came in each(executor, reader.taken, left):
            running.progress(told["done"] / len(files), file["name"])
            for one in came:
                _count(told, one, [enter(session, by) for session in one.sessions])
            told["done"] += 1
            running.keep(told)
            refused = [one.refused for one in came if one.refused]
            put_away(running.folder / file["path"], refused if len(refused) == len(came) else (), running.held.number)
    _company(running, told)
    if told["read"] > told["unclaimed"]:
        ask("condition")
    return {name: value for name, value in told.items() if name not in {"done", "days"}}


def _nothing() -> dict[str, Any]:
    return {"done": 0, "read": 0, "already": 0, "refused": 0, "unclaimed": 0, "files": [], "days": []}


def _count(told: dict[str, Any], came: Came, entered: Sequence[Entered]) -> None:
    """Add what came of one file to what is told."""
    told["read"] += sum(one.fresh for one in entered)
    told["already"] += sum(not one.fresh for one in entered)
    told["refused"] += bool(came.refused)
    told["unclaimed"] += sum(one.outing is None for one in entered)
    days = days_of(one.recorded for one in entered if one.fresh)
    told["days"] = sorted({*told["days"], *map(str, days)})
    if len(told["files"]) < SHOWN:
        rows = [one.recorded.pk for one in entered]
        fresh = any(one.fresh for one in entered)
        told["files"].append({"file": came.file, "recordings": rows, "fresh": fresh, "refused": as_kept(came.refused)})


def _company(running: Running, told: dict[str, Any]) -> None:
    """Find out who went upsides on each day of which recordings came in or were laid on a gallop anew."""
    while told["days"]:
        running.progress(1.0, told["days"][0])
        find_company(Path(running.folder), date.fromisoformat(told["days"][0]))
        told["days"] = told["days"][1:]
        running.keep(told)


def _executor(files: int) -> AbstractContextManager[Executor]:
    return processes(min(PROCESSES, os.cpu_count() or 1)) if files >= MANY else serial()


def _gallops(running: Running) -> dict[str, Any]:
    """Lay every work that is known on the gallops as they are drawn now, the latest recordings first."""
    told: dict[str, Any] = running.checkpoint or {"before": None, "changed": 0, "looked_at": 0, "days": []}
    drawn, folder = lines(moments.now()), Path(running.folder)
    rows = Recorded.objects.exclude(began=None).order_by("-pk")
    whole = max(rows.count(), 1)
    for one in rows.filter(pk__lt=told["before"]) if told["before"] else rows:
        running.progress(told["looked_at"] / whole, one.file)
        works = on_gallops(folder, one.sha256, one.part, drawn)
        outing = standing_of(one)
        if works is not None and outing is not None and outing.measured.get("works") != works:
            renew(outing, outing.measured | {"works": works})
            told["changed"] += 1
            told["days"] = sorted({*told["days"], *map(str, days_of([one]))})
        told |= {"before": one.pk, "looked_at": told["looked_at"] + 1}
        if told["looked_at"] % 20 == 0:
            running.keep(told)
    _company(running, told)
    return {"changed": told["changed"], "looked_at": told["looked_at"]}
