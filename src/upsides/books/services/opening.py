"""Opening the books of a library: settings, key, tables, and the files that their pages need."""

import os
import secrets
from pathlib import Path

import django
from django.conf import settings
from django.core.management import call_command

from upsides.errors import BooksOpenError, LibraryMissingError

SECRET = "secret.key"  # noqa: S105 (the name of its file)
UNUSED_STATIC = ["htmx-2.js", "htmx-4*", "htmax-4*"]
"""Files that a library brings and no page asks for."""


def open_books(library: Path) -> Path | None:
    """Make the books in a library's folder ready to use, creating or upgrading what is missing.

    Sets `UPSIDES_LIBRARY` for this process and those that it starts; safe to call again.

    Args:
        library: folder of an existing library.

    Returns:
        The copy of the books that was taken before an upgrade, None where nothing was upgraded.

    Raises:
        LibraryMissingError: there is no such folder.
        BooksOpenError: this process has the books of another library open.
        BooksNewerError: a newer program wrote these books.
        UpgradeCopyError: they need an upgrade, and no copy could be taken first; nothing was changed.
    """
    if library.is_dir():
        keep_secret(library / SECRET)
    connect_books(library)
    Path(settings.EMAIL_FILE_PATH).mkdir(mode=0o700, exist_ok=True)  # the letters in it let people in
    from upsides.books.services.upgrading import upgrade

    return upgrade()


def has_books(library: Path) -> bool:
    """Return whether books were ever opened with this library."""
    return (library / SECRET).exists() and bool(
        os.environ.get("UPSIDES_DATABASE") or (library / "books.sqlite3").exists()
    )


def connect_books(library: Path) -> None:
    """Make the books reachable from this process, changing nothing in them and leaving no file in the folder.

    Raises:
        LibraryMissingError: there is no such folder.
        BooksOpenError: this process has the books of another library open.
    """
    if not library.is_dir():
        raise LibraryMissingError(library)
    os.environ["UPSIDES_LIBRARY"] = str(library.resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "upsides.books.settings")
    django.setup()
    if library.resolve() != settings.UPSIDES_LIBRARY:
        raise BooksOpenError(settings.UPSIDES_LIBRARY, library)


def gather_static() -> None:
    """Put the style sheets, scripts and pictures of the pages where the web processes read them."""
    from upsides.books.services.upgrading import alone

    with alone(settings.UPSIDES_LIBRARY):
        call_command("collectstatic", verbosity=0, interactive=False, ignore_patterns=UNUSED_STATIC)


def keep_secret(file: Path) -> None:
    """Write a fresh secret key, readable by its owner only, unless there is one."""
    try:
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(handle, "w", encoding="ascii") as out:
        out.write(secrets.token_urlsafe(50))
