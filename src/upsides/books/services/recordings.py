"""Taking recordings in: files are kept beside the books as they were sent, and read by the worker."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from time import time
from typing import Any, Final
from uuid import uuid4

from django.conf import settings

from upsides.books import clock
from upsides.books.keeping.disk import names_on_disk, new_file
from upsides.books.models import Device, Gallop, Job, Person
from upsides.books.recordings.files import INCOMING, READ, REFUSED, WAITING, waiting_file
from upsides.books.sent import Sent
from upsides.books.services import jobs
from upsides.errors import NoRecordingsError, RecordingTooLargeError, TooManyRecordingsError
from upsides.errors.wording import gettext as _

JOB: Final = "recordings"
"""The kind of job that reads recordings."""
MOST: Final = 500
"""Most files at once. An archive counts as one, and may hold more."""
MOST_BYTES: Final = 1 << 30
"""Most bytes at once."""
MOST_A_FILE: Final = 256 << 20
"""Most bytes of one file as it is sent."""
BLOCK: Final = 1 << 20
STALE_S: Final = 24 * 3600.0
"""What nobody needs for so long is dropped."""
OPEN: Final = (Job.State.WAITING, Job.State.RUNNING)


def receive(sent: Sequence[Sent], by: Person | None = None, key: Device | None = None) -> Job:
    """Keep files beside the books, and ask the worker to read them; all of them or none.

    The same file sent twice is one recording. What becomes of each file stands in the job's result.

    Args:
        sent: the files.
        by: who sends them; None for a device.
        key: the key that the device sends with.

    Raises:
        NoRecordingsError: there is none.
        TooManyRecordingsError: there are too many files, or too many bytes.
        RecordingTooLargeError: one of them is too large.
    """
    if not sent:
        raise NoRecordingsError
    if len(sent) > MOST:
        raise TooManyRecordingsError(_("{count} files", count=len(sent)), str(MOST))
    folder, kept, left = Path(settings.UPSIDES_LIBRARY), [], MOST_BYTES
    try:
        for one in sent:
            place, size = _kept(folder, one)
            kept.append(place)
            left -= size
            if left < 0:
                raise TooManyRecordingsError(
                    _("more bytes than that"), _("{most_bytes} million at most", most_bytes=MOST_BYTES >> 20)
                )
        files = [{"path": f"{WAITING}/{place.name}", "name": one.name} for place, one in zip(kept, sent, strict=True)]
        asked = {"do": "read", "files": _once(files), "by": by.pk if by else None, "key": key.pk if key else None}
        return jobs.ask(JOB, asked, by)
    except BaseException:
        _drop(kept)
        raise


def read_again(gallop: Gallop, by: Person | None = None) -> Job:
    """Ask the worker to look which of the works that are known were on a gallop, because its line is another."""
    return jobs.ask(JOB, {"do": "gallops", "gallop": gallop.pk, "at": clock.now().isoformat()}, by)


def look_in(before: Mapping[str, tuple[int, int]]) -> dict[str, tuple[int, int]]:
    """Look into the folder of incoming files, and ask the worker to read those that stood still since the last look.

    Args:
        before: what was returned then: size and time of the last change of each file.

    Returns:
        The same of now.
    """
    folder = Path(settings.UPSIDES_LIBRARY) / INCOMING
    now = {path.name: _state(path) for path in _files(folder)}
    still = sorted(name for name, state in now.items() if before.get(name) == state)
    in_hand = _in_hand()
    ready = [name for name in still if name not in in_hand][:MOST]
    if ready:
        files = [{"path": f"{INCOMING}/{name}", "name": name} for name in ready]
        jobs.ask(JOB, {"do": "read", "files": files, "by": None, "key": None})
    return now


def put_away(path: Path, refused: Sequence[str], job: int) -> None:
    """Put a file away that was dealt with: what was sent is dropped, what lay in the folder of incoming files is moved.

    Args:
        path: where it lies.
        refused: why nothing of it could be read, a sentence each; none where something was.
        job: number of the job that dealt with it.
    """
    if path.parent.name != INCOMING:
        _drop([path], job)
        return
    place = path.parent / (REFUSED if refused else READ)
    place.mkdir(mode=0o700, exist_ok=True)
    target = place / path.name
    while target.exists():
        target = place / f"{uuid4().hex[:6]}-{path.name}"
    with suppress(FileNotFoundError):
        path.rename(target)
    if refused:
        target.with_name(f"{target.name}.txt").write_text("".join(f"{one}\n" for one in refused), encoding="utf-8")


def _kept(folder: Path, one: Sent) -> tuple[Path, int]:
    """Write what was sent under its hash, and return where and how much it was.

    Raises:
        RecordingTooLargeError: it is too large.
    """
    place = folder / WAITING
    place.mkdir(parents=True, mode=0o700, exist_ok=True)
    fresh, digest, size = place / f".{uuid4().hex}.part", sha256(), 0
    try:
        with new_file(fresh, 0o600) as out:
            while block := one.file.read(BLOCK):
                size += len(block)
                if size > MOST_A_FILE:
                    raise RecordingTooLargeError(
                        one.name, _("it is larger than {most_a_file} million bytes", most_a_file=MOST_A_FILE >> 20)
                    )
                digest.update(block)
                out.write(block)
        kept = waiting_file(folder, digest.hexdigest())
        fresh.replace(kept)
        names_on_disk(place)
    finally:
        fresh.unlink(missing_ok=True)
    return kept, size


def _once(files: Iterable[dict[str, str]]) -> list[dict[str, str]]:
    """Return the files, each content once, under the first of its names."""
    return list({one["path"]: one for one in reversed(list(files))}.values())[::-1]


def tidy(job: int) -> None:
    """Drop what was sent for jobs that somebody stopped; what a failed one should have read is left.

    Args:
        job: number of the job that tidies.
    """
    place = Path(settings.UPSIDES_LIBRARY) / WAITING
    needed = _in_hand(job, (*OPEN, Job.State.FAILED)) | _names(Job.objects.get(pk=job).arguments)
    for path in place.iterdir() if place.is_dir() else ():
        if path.name not in needed and path.stat().st_mtime < time() - STALE_S:
            path.unlink(missing_ok=True)


def _drop(paths: Iterable[Path], job: int | None = None) -> None:
    """Remove files that were sent, unless another job that has not ended needs them."""
    needed = _in_hand(job)
    for path in paths:
        if path.name not in needed:
            path.unlink(missing_ok=True)


def _in_hand(but: int | None = None, states: Sequence[Job.State] = OPEN) -> set[str]:
    """Return the names of the files that jobs in some states are to read, one job left out."""
    rows = Job.objects.filter(kind=JOB, state__in=states)
    return {name for row in rows if row.pk != but for name in _names(row.arguments)}


def _names(arguments: Mapping[str, Any]) -> set[str]:
    return {Path(one["path"]).name for one in arguments.get("files", ())}


def _files(folder: Path) -> list[Path]:
    """Return the plain files that lie in a folder itself, neither hidden nor links."""
    if not folder.is_dir():
        return []
    found = (path for path in folder.iterdir() if not path.name.startswith("."))
    return sorted(path for path in found if path.is_file() and not path.is_symlink())


def _state(path: Path) -> tuple[int, int]:
    try:
        stat = path.stat()
    except FileNotFoundError:
        return -1, -1
    return stat.st_size, stat.st_mtime_ns
