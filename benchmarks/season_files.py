"""A season of recordings through an executor, stopped half-way: `python -m benchmarks.season_files --files N`.

With `--folder F` nobody stops it but you: kill it whenever you like, ask again with the same folder, and it goes on
where it was. The fingerprint at the end is of every track in order: it is that of a run that nobody stopped.
"""

import argparse
import time
from functools import partial
from hashlib import sha256
from pathlib import Path
from shutil import rmtree
from tempfile import TemporaryDirectory
from typing import Any

from benchmarks._simulated_files import FIXES, fit_file
from upsides.books.recordings.files import ORIGINALS, TRACKS
from upsides.books.recordings.reading import Reader
from upsides.compute import Ledger, cluster, each, processes

FEW, SEASON, MORNINGS, PROCESSES = 240, 25_000, 24, 2


def run(files: int = FEW, address: str = "", kept: Path | None = None) -> None:
    """Read files, each another one, stop half-way, go on, and print what it took and what a season would.

    Args:
        files: how many.
        address: of a Dask scheduler whose workers see the same folders; without it two processes do it.
        kept: a folder in which what is done stays known, so that a run that was killed goes on; then nothing else stops
            it half-way.
    """
    with TemporaryDirectory(prefix="upsides-season-") as name:
        folder = kept or Path(name)
        folder.mkdir(parents=True, exist_ok=True)
        ledger = folder / "ledger"
        task = partial(read_one, folder)
        began = time.perf_counter()
        if kept is None:
            _some(task, files, ledger, address, files // 2)
        done = len(Ledger(ledger).done)
        told = _some(task, files, ledger, address, files)
        _say(told, done, time.perf_counter() - began)


def _say(told: list[dict[str, Any]], done: int, took: float) -> None:
    files, fixes = len(told), sum(one["fixes"] for one in told)
    print(f"{done} of {files} files were done, then it went on: {fixes:,} fixes in all,")
    print(f"  {took:.1f} s, {1e3 * took / files:.0f} ms a file; the making of each file is in it, ", end="")
    print(f"{1e3 * sum(one['made_s'] for one in told) / files / PROCESSES:.0f} ms")
    used = sum(sorted(one["used_s"] for one in told)[: -2 * PROCESSES]) / (files - 2 * PROCESSES)
    print(f"  {1e3 * used:.0f} ms of processor time for reading a file, the loading of compiled code left out")
    print(f"  a season of {SEASON:,} files: {SEASON * used / PROCESSES / 60:.0f} minutes on two free cores, ", end="")
    sizes = {what: sum(one[what] for one in told) / files * SEASON / 1e9 for what in ("originals", "tracks")}
    print(f"{sizes['originals']:.1f} GB of originals, {sizes['tracks']:.1f} GB of tracks")
    print(
        f"  fingerprint of all tracks {sha256(''.join(one['sha'] for one in told).encode()).hexdigest()[:16]}",
        flush=True,
    )


def _some(task: Any, files: int, ledger: Path, address: str, most: int) -> list[dict[str, Any]]:
    """Read the files that the ledger does not have, and return what is known of the first so many."""
    told = []
    with cluster(address) if address else processes(PROCESSES) as executor:
        for _, result in each(executor, task, range(files), Ledger(ledger)):
            told.append(result)
            if len(told) == most:
                break
    return told


def read_one(folder: Path, number: int) -> dict[str, Any]:
    """Make a file, read it as the worker does, and say what came of it; what it left on the disk is taken away."""
    began = time.perf_counter()
    place = folder / f"{number:05d}"
    rmtree(place, ignore_errors=True)  # a run that was killed may have left it
    place.mkdir()
    (place / "a.fit").write_bytes(fit_file(number % MORNINGS, number // MORNINGS))
    made = time.perf_counter() - began
    before = time.process_time()
    (came,) = Reader(place).taken({"path": "a.fit", "name": "a.fit"})
    used = time.process_time() - before
    sizes = {what: _bytes(place / what) for what in (ORIGINALS, TRACKS)}
    tracks = sorted(path for path in (place / TRACKS).rglob("*") if path.is_file())
    sha = sha256(b"".join(path.read_bytes() for path in tracks)).hexdigest()
    rmtree(place)
    fixes = sum(session.fixes for session in came.sessions)
    if fixes != FIXES:
        raise ValueError(f"{fixes} fixes were read of {FIXES}")
    told = {"fixes": fixes, "made_s": made, "used_s": used, "sha": sha}
    return told | {"originals": sizes[ORIGINALS], "tracks": sizes[TRACKS]}


def _bytes(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("--files", type=int, default=FEW)
    asked.add_argument("--dask", default="", help="address of a Dask scheduler")
    asked.add_argument("--folder", type=Path, help="where what is done stays known when it is killed")
    given = asked.parse_args()
    run(given.files, given.dask, given.folder)
