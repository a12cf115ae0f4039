"""Kill writers again and again, and count what was acknowledged and what is there.

    python -m tools.kills --times 1000 --files 40

The books are SQLite's in a folder of their own, or those that UPSIDES_DATABASE names, which must be empty.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from random import Random
from time import monotonic

from tools.kills.killing import Heard, asked, kill_many

SETTING_UP = """
import sys
from datetime import date
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(sys.argv[1]))
from upsides.books.models import Horse, Role, Yard
from upsides.books.services.people import add_person
Yard.objects.create(pk=1, name="Kills", zone="Europe/London")
add_person("Trainer", [Role.TRAINER], login="trainer")
for number in range(20):
    told = {"name": f"Horse {number}", "foaled": 2022, "sex": "filly", "joined": date(2026, 1, 1)}
    Horse.objects.create(horse_key=f"kills:{number}", **told)
"""
BOOKS_LINES, BOOKS_S = 12, 0.05
"""A writer of the books is killed after so many lines at most, and so many seconds at most after that."""


def main() -> int:
    """Run, print the counts, and return 1 where anything was lost, doubled or half-written."""
    asks = argparse.ArgumentParser(prog="python -m tools.kills", description=__doc__.splitlines()[0])
    asks.add_argument("--times", type=int, default=1000, help="writers of the books to kill")
    asks.add_argument("--files", type=int, default=40, help="writers of each kind of file to kill")
    asks.add_argument("--every", type=int, default=50, help="look at the books after so many kills")
    asks.add_argument("--seed", type=int, default=17)
    said = asks.parse_args()
    with tempfile.TemporaryDirectory(prefix="upsides-kills-") as place:
        library, dice = Path(place) / "library", Random(said.seed)  # noqa: S311 (no secret)
        library.mkdir()
        subprocess.run([sys.executable, "-c", SETTING_UP, str(library)], check=True)  # noqa: S603 (our own)
        from upsides.books.services.opening import connect_books

        connect_books(library)
        bad = _kill_writers_of_books(said.times, said.every, dice) if said.times else 0
        return int(_kill_writers_of_files(library, Path(place), said.files, dice) + bad > 0)


def _kill_writers_of_books(times: int, every: int, dice: Random) -> int:
    from django.db import connection
    from tools.kills import acts

    acts.warm_up()
    began, heard, again = monotonic(), Heard(), 0
    lost: set[str] = set()
    half: set[str] = set()
    left = times
    while left > 0:
        some = min(every, left)
        again += kill_many(acts.write_books, some, BOOKS_LINES, BOOKS_S, heard, dice)
        left -= some
        missing, broken = asked(partial(_look, heard))
        lost |= set(missing)
        half |= set(broken)
        _say(f"{heard.kills} kills, {heard.acknowledged():,} writes, {len(lost)} lost, {len(half)} half-written")
    found = heard.acknowledged() - len(lost)
    print(
        f"the books, {connection.vendor}: {heard.kills} kills, {len(heard.open)} of them in the middle of a write; "
        f"{heard.acknowledged():,} writes acknowledged, {found:,} found once and whole, {len(lost)} lost or twice, "
        f"{len(half)} half-written; {again} entries sent again; {monotonic() - began:.0f} s"
    )
    _tell([*sorted(lost), *sorted(half), *heard.failed])
    return len(lost) + len(half) + len(heard.failed)


def _look(heard: Heard) -> tuple[list[str], list[str]]:
    """Return the acts that were acknowledged and are not there exactly once and whole, and what is half-written."""
    from tools.kills import acts

    lost = []
    for kind, tokens in heard.done.items():
        times = acts.counted(kind, tokens)
        lost += [f"{kind} {token}: {times.get(token, 0)} times" for token in tokens if times.get(token, 0) != 1]
    return lost, acts.half_written()


def _kill_writers_of_files(library: Path, folder: Path, times: int, dice: Random) -> int:
    from tools.kills.files import file_writers

    bad = 0
    for writer in file_writers(library, folder) if times else []:
        began, heard = monotonic(), Heard()
        lost: set[str] = set()
        half: set[str] = set()
        for _ in range(times):
            work = partial(_alone, writer.work)
            kill_many(work, 1, writer.lines, writer.longest, heard, dice, 1)
            done = {token for tokens in heard.done.values() for token in tokens}
            missing, broken = asked(partial(writer.look, done))
            lost |= set(missing)
            half |= set(broken)
        print(
            f"{writer.name}: {heard.kills} kills, {len(heard.open)} of them in the middle of a write; "
            f"{heard.acknowledged():,} writes acknowledged, {len(lost)} lost, {len(half)} half-written; "
            f"{monotonic() - began:.0f} s"
        )
        _tell([*sorted(lost), *sorted(half), *heard.failed])
        bad += len(lost) + len(half) + len(heard.failed)
    return bad


def _alone(work: Callable[[int], None], pipe: int, _seed: int, _again: list[str]) -> None:
    work(pipe)


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def _tell(wrong: list[str]) -> None:
    for line in wrong[:20]:
        print(f"  {line}")


if __name__ == "__main__":
    for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "POLARS_MAX_THREADS"):
        os.environ.setdefault(threads, "1")
    sys.exit(main())
