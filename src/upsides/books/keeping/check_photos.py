"""Whether the photographs of the diary are there, and as they were kept."""

from collections.abc import Iterator
from hashlib import file_digest
from pathlib import Path

from upsides.books.keeping.findings import Finding, told
from upsides.books.models import Entry, Photo
from upsides.books.queries.photos import KIND, file_of


def of_photos(folder: Path) -> Iterator[Finding]:
    """Read every picture to its end and compare it with its hash; look for entries whose picture was never kept.

    Args:
        folder: the library's folder.
    """
    known = list(Photo.objects.values_list("sha256", flat=True))
    wrong = [words for sha256 in known if (words := _odd(file_of(sha256, folder), sha256))]
    kept = set(known)
    named = Entry.objects.filter(kind=KIND, withdrawn=False).values_list("pk", "values__picture")
    wrong += [f"entry {number} shows a picture that the books do not know" for number, sha256 in named
              if sha256 not in kept]  # fmt: skip
    well = f"Every photograph is there as it was kept; there {'is one' if len(known) == 1 else f'are {len(known)}'}."
    remedy = "Take the file out of the last good backup, and put it back under its name."
    yield told("photos", wrong, well, remedy)


def _odd(path: Path, sha256: str) -> str:
    """Return what is wrong with a picture's file, empty where nothing is."""
    try:
        with path.open("rb") as file:
            whole = file_digest(file, "sha256").hexdigest() == sha256
    except OSError:
        return f"the photograph {path} is not there, or cannot be read"
    return "" if whole else f"the photograph {path} was changed since it was kept"
