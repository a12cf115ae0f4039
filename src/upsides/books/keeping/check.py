"""Whether the books and the library are well, said in plain sentences; nothing is changed."""

from collections.abc import Callable, Iterator
from pathlib import Path

from django.db import DatabaseError

from upsides.books.keeping.backup import Progress, refuse_missing, silent
from upsides.books.keeping.check_database import of_changes, of_database, of_numbers
from upsides.books.keeping.check_files import of_backup, of_fits, of_key, of_library, of_room
from upsides.books.keeping.findings import BRING_BACK, Finding
from upsides.books.services.opening import connect_books
from upsides.books.troubles import in_words
from upsides.errors import NothingToAcceptError, UpsidesError

Look = Callable[[], Iterator[Finding]]


def check_books(folder: Path, progress: Progress = silent) -> list[Finding]:
    """Look at the database, its rows, the library, the key, the disk and the last backup.

    Args:
        folder: the library's folder.
        progress: called with the share done and what is being looked at.

    Raises:
        LibraryMissingError: there is no such folder.
        BooksMissingError: there are no books in it.
    """
    connect_books(folder)
    refuse_missing(folder)
    found = list(of_key(folder))
    found += _looked([("the database", of_database), ("its changes", of_changes)], progress, 0.0, 0.2)
    sound = all(one.well for one in found if one.subject in {"database", "changes"})
    if sound:
        found += _looked(_of_rows(), progress, 0.2, 0.7)
    else:
        found.append(Finding("rows", False, "The rows were not looked at, because of what was said before."))
    files: list[tuple[str, Look]] = [
        ("the library", lambda: of_library(folder)),
        ("the fits", lambda: of_fits(folder)),
        ("the disk", lambda: of_room(folder)),
    ]
    if sound:
        files += [
            ("the photos", lambda: _of_photos(folder)),
            ("the recordings", lambda: _of_recordings(folder)),
            ("the last backup", lambda: of_backup(folder)),
        ]
    return found + _looked(files, progress, 0.7, 1.0)


def _of_rows() -> list[tuple[str, Look]]:
    from upsides.books.keeping import check_rows

    return [
        ("the rows", check_rows.of_constraints),
        ("the numbers", of_numbers),
        ("the diary", check_rows.of_diary),
        ("the clock", check_rows.of_clock),
        ("the history", check_rows.of_history),
    ]


def _of_photos(folder: Path) -> Iterator[Finding]:
    from upsides.books.keeping import check_photos

    yield from check_photos.of_photos(folder)


def _of_recordings(folder: Path) -> Iterator[Finding]:
    from upsides.books.keeping import check_recordings

    yield from check_recordings.of_recordings(folder)


def _looked(looks: list[tuple[str, Look]], progress: Progress, begin: float, end: float) -> list[Finding]:
    found: list[Finding] = []
    for number, (what, look) in enumerate(looks):
        progress(begin + (end - begin) * number / len(looks), what)
        try:
            found += look()
        except (DatabaseError, UpsidesError, OSError) as error:
            words = in_words(error) or error
            found.append(Finding(what.split()[-1], False, f"{_sentence(str(words))} {BRING_BACK}"))
    progress(end, looks[-1][0])
    return found


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."


def accept_clock(folder: Path) -> int:
    """Let the diary go on although its last entry was recorded while the clock was wrong; return that entry's number.

    Raises:
        LibraryMissingError, BooksMissingError: there are no books.
        NothingToAcceptError: the books have no yard.
    """
    connect_books(folder)
    refuse_missing(folder)
    from django.db import transaction

    from upsides.books.models import Entry, Yard

    with transaction.atomic():
        yard = Yard.objects.select_for_update().first()
        if yard is None:
            raise NothingToAcceptError(folder)
        last = Entry.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        if yard.clock_from_entry != last:
            yard.clock_from_entry = last
            yard.save()
    return last
