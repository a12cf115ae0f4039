"""Whether the files of recordings are there, and as they were kept. Tracks are made again, so that none is missed."""

from collections.abc import Iterator
from pathlib import Path

from upsides.books.keeping.findings import Finding, told
from upsides.books.models import Outing, Recorded
from upsides.books.queries import moments
from upsides.books.recordings.files import original
from upsides.errors import OriginalMissingError


def of_recordings(folder: Path) -> Iterator[Finding]:
    """Read every file to its end and compare it with its hash; look for recordings that are two horses' at once.

    Args:
        folder: the library's folder.
    """
    known = dict(Recorded.objects.order_by("pk").values_list("sha256", "file"))
    wrong = [words for sha256, name in known.items() if (words := _odd(folder, sha256, name))]
    seen: set[int] = set()
    for number in moments.standing(Outing, moments.now()).exclude(recorded=None).values_list("recorded", flat=True):
        if number in seen:
            wrong.append(f"recording {number} is given to a horse twice")
        seen.add(number or 0)
    count = "is one" if len(known) == 1 else f"are {len(known)}"
    well = f"Every file of a recording is there as it was kept; there {count}."
    remedy = "Take the file out of the last good backup, and put it back under its name."
    yield told("recordings", wrong, well, remedy)


def _odd(folder: Path, sha256: str, name: str) -> str:
    """Return what is wrong with a recording's file, empty where nothing is."""
    try:
        original(folder, sha256, name)
    except OriginalMissingError as error:
        return str(error)
    return ""
