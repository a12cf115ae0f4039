"""Condition of the invented yard's whole string out of its books, for any day; and a night's work on it.

Wanted: the whole string for any day under 1 s: whom to look at first, what stands out in all readings worked out anew,
what each has done, and how calls have stood up, each on eight earlier days. Every horse's own page is timed beside
them, and the night's answers one by one. Times are of the processor, once what is compiled has been loaded.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

DAYS = 8
DAY_S = 1.0


def run() -> None:
    """Build the invented yard, and time what is asked of its whole string."""
    with tempfile.TemporaryDirectory() as name:
        command = [sys.executable, "-c", "from upsides.cli.main import main; main()"]
        subprocess.run([*command, "demo", "--library", name], check=True, stdout=subprocess.DEVNULL)
        code = f"from benchmarks.condition_of_string import measured; measured({name!r})"
        subprocess.run([sys.executable, "-c", code], check=True, env=os.environ | {"UPSIDES_LIBRARY": name})


def measured(name: str) -> None:
    """Time what is asked, in a process that has opened the books in a folder."""
    library = Path(name)
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import clock
    from upsides.books.jobs.condition import answer_all
    from upsides.books.queries import moments
    from upsides.books.queries.calls import standings_of
    from upsides.books.queries.condition import condition_of
    from upsides.books.queries.condition_done import done_by
    from upsides.books.queries.condition_first import look_at
    from upsides.books.queries.condition_watch import yard_readings
    from upsides.books.queries.days import moment_on
    from upsides.books.queries.office import office_person
    from upsides.books.queries.visitors import visitor
    from upsides.books.watched import watched_on

    today, who = clock.today(), visitor(office_person(), barn=False)
    earlier = [moments.as_of(moment_on(today - timedelta(days=back), clock.now().time())) for back in range(DAYS)]
    look_at(moments.now())
    _told("whom to look at first", [_seconds(lambda at=at: look_at(at)) for at in earlier])  # type: ignore[misc]  # a default
    watched_on(yard_readings(moments.now()), today)
    _told(
        "what stands out, worked out anew",
        [_seconds(lambda at=at: watched_on(yard_readings(at), at.day)) for at in earlier],  # type: ignore[misc]  # likewise
    )
    _told(
        "what the whole string has done",
        [_seconds(lambda at=at: done_by(library, at, list(moments.in_training(at)))) for at in earlier],  # type: ignore[misc]  # likewise
    )
    _told("how calls have stood up", [_seconds(lambda at=at: standings_of(who, at)) for at in earlier])  # type: ignore[misc]  # likewise
    string = list(moments.in_training(moments.now()))
    pages = [_seconds(lambda one=one: condition_of(library, who, moments.now(), one)) for one in string]  # type: ignore[misc]  # likewise
    print(f"one horse of {len(string)}: median {1e3 * statistics.median(pages):.0f} ms, most {1e3 * max(pages):.0f} ms")
    _night(answer_all, library, today)


def _night(answer_all: Callable[..., object], library: Path, today: date) -> None:
    """Time the night's answers: what is told as one begins ends the one before."""
    told: list[tuple[str, float]] = []
    began = time.process_time()
    answer_all(library, today + timedelta(days=1), {}, lambda _share, doing: told.append((doing, time.process_time())))
    ended = time.process_time()
    for (doing, start), stop in zip(told, [*(at for _doing, at in told[1:]), ended], strict=True):
        print(f"  {doing}: {stop - start:.1f} s")
    print(f"a night: {ended - began:.1f} s", flush=True)


def _seconds(work: Callable[[], object]) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def _told(what: str, seconds: list[float]) -> None:
    middle, most = statistics.median(seconds), max(seconds)
    print(f"{what}, {len(seconds)} days: median {1e3 * middle:.0f} ms, most {1e3 * most:.0f} ms "
          f"({DAY_S:.0f} s wanted)", flush=True)  # fmt: skip
