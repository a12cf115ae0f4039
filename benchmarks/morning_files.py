"""One morning of a large yard: 120 FIT files of 45 minutes at 5 Hz, read, measured and stored by two processes."""

import os
import resource
import shutil
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from benchmarks._simulated_files import FIXES, fit_file
from upsides.books.outings import kept
from upsides.books.recordings.files import INCOMING, ORIGINALS, TRACKS, keep_original
from upsides.books.recordings.reading import Reader
from upsides.books.recordings.session import Session
from upsides.compute import each, processes
from upsides.demo.morning_sim.ground import yard_gallops
from upsides.recordings.formats.fit import read_fit
from upsides.recordings.measured import Measured
from upsides.recordings.measuring import measured
from upsides.recordings.packed import packed
from upsides.recordings.track import Track
from upsides.recordings.tracking import track_of

FILES, SAMPLE, PROCESSES = 120, 24, 2


def run() -> None:
    """Make the files, time each stage on some of them here, and then all of it in two processes."""
    folder = Path(mkdtemp(prefix="upsides-morning-"))
    try:
        names = _made(folder)
        print(f"{FILES} files, {FILES * FIXES:,} fixes, {_bytes(folder / INCOMING) / FILES / FIXES:.1f} bytes a fix")
        _stages(folder, names[:SAMPLE])
        sessions = _whole(folder, names)
        _entered(folder, sessions)
    finally:
        shutil.rmtree(folder)


def _made(folder: Path) -> list[str]:
    (folder / INCOMING).mkdir()
    names = [f"{number:03d}.fit" for number in range(FILES)]
    for number, name in enumerate(names):
        (folder / INCOMING / name).write_bytes(fit_file(number))
    return names


def _stages(folder: Path, names: list[str]) -> None:
    """Print what each stage takes for a file, in this process alone, the compiled code being loaded."""
    gallops = dict(enumerate(yard_gallops()))
    content = [(folder / INCOMING / name).read_bytes() for name in names]
    for quiet in (True, False):  # the first round loads the compiled code
        recordings = _timed("read", partial(_read, content), quiet)
        tracks = _timed("cleaned and smoothed", partial(_map, track_of, recordings), quiet)
        told = _timed(
            "segmented and measured", partial(_map, partial(measured, gallops=gallops), tracks, recordings), quiet
        )
        files = _timed("packed", partial(_map, _pack, tracks, told), quiet)
        _timed("originals kept", partial(_map, partial(keep_original, folder), content), quiet)
        shutil.rmtree(folder / ORIGINALS)
    print(f"  a track takes {sum(map(len, files)) / len(files) / FIXES:.2f} bytes a fix on the disk, ", end="")
    print(f"{_in_memory(tracks[0]):.0f} in memory")


def _read(content: list[bytes]) -> list[Any]:
    return [read_fit(data, "a.fit")[0] for data in content]


def _pack(track: Track, told: Measured) -> bytes:
    return packed(track, {"measured": kept(told)})


def _map(act: Callable[..., Any], *columns: list[Any]) -> list[Any]:
    return [act(*row) for row in zip(*columns, strict=True)]


def _timed(what: str, act: Callable[[], list[Any]], quiet: bool) -> list[Any]:  # noqa: FBT001 (one of two rounds)
    began = time.perf_counter()
    found = act()
    if not quiet:
        took = time.perf_counter() - began
        print(f"  {what:<24} {1e3 * took / len(found):6.1f} ms a file, {1e6 * took / len(found) / FIXES:5.2f} us a fix")
    return found


def _in_memory(track: Any) -> float:
    columns = (getattr(track, name) for name in track.__slots__)
    return sum(column.nbytes for column in columns if hasattr(column, "nbytes")) / len(track)


def _whole(folder: Path, names: list[str]) -> list[Session]:
    """Read everything in two processes, as the worker does, and print what it took with and without starting them."""
    reader = Reader(folder, dict(enumerate(yard_gallops())))
    files = [{"path": f"{INCOMING}/{name}", "name": name} for name in names]
    began = time.perf_counter()
    with processes(PROCESSES) as executor:
        list(each(executor, reader.taken, files[:PROCESSES]))
        ready = time.perf_counter()
        came = [one for _, found in each(executor, reader.taken, files) for one in found]
        end = time.perf_counter()
    fixes = sum(session.fixes for one in came for session in one.sessions)
    print(f"{PROCESSES} processes: {fixes:,} fixes read, cleaned, measured and stored in {end - ready:.1f} s,")
    print(f"  {1e6 * (end - ready) / fixes:.2f} us a fix; starting the processes took {ready - began:.1f} s more")
    originals, tracks = _bytes(folder / ORIGINALS), _bytes(folder / TRACKS)
    print(f"  on the disk {originals / fixes:.1f} bytes a fix of originals, {tracks / fixes:.2f} of tracks", end="")
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(f"; the larger process took {used.ru_maxrss / 1024:.0f} MB")
    print(f"  the processes used {used.ru_utime + used.ru_stime:.1f} s of processor time, their start included")
    return [session for one in came for session in one.sessions]


def _entered(folder: Path, sessions: list[Session]) -> None:
    """Enter the sessions into new books, and print what that took."""
    from upsides.books.services.opening import open_books

    os.environ.pop("DJANGO_SETTINGS_MODULE", None)
    open_books(folder)
    from upsides.books.models import Yard
    from upsides.books.services.outings import enter

    Yard.objects.create(pk=1, name="A yard", zone="Europe/London", jurisdiction="GB")
    began = time.perf_counter()
    for session in sessions:
        enter(session)
    took = time.perf_counter() - began
    print(f"entered into the books in {took:.1f} s more, {1e3 * took / len(sessions):.0f} ms a recording", flush=True)


def _bytes(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
