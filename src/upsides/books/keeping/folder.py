"""Which files of a library's folder belong into a backup, each taken so that it is whole although others write."""

import json
import re
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import BinaryIO
from urllib.parse import unquote

from upsides.books.keeping.members import BLOCK
from upsides.errors import BackupChangedError
from upsides.results import tables

BACKUPS = "backups"
"""Folder of a library in which backups are put where nothing else was said."""

LAST_BACKUP = "last-backup.json"
LATEST = "fits/latest.json"
SECRETS = re.compile(r"secret\.key|letters/.*|(.*/)?[^/]*\.(pem|key|crt|p12|pfx)")
"""What nobody else gets: the key, letters that let people in, certificates."""

PINS = tables.PIN_FILE
OURS = re.compile(r"upsides-\d{4}-\d\d-\d\d-\d{6}\.zip")
"""Names that we give to backups."""

NOT_KEPT = frozenset(
    {BACKUPS, LAST_BACKUP, "photos-small", "tracks", "incoming", "static", "staging", "upgrading", "lock", "fits.lock"}
)
"""What is made again by the program, or is of the moment."""

TAKEN_APART = frozenset({"fits", PINS, *tables.SCHEMAS})
"""What is taken in a way of its own."""

NOT_KEPT_NAMES = re.compile(rf"\..*|.*\.sqlite3(-\w+)?|books-before-upgrade-.*|.*\.(part|new)|{OURS.pattern}")
_LOG = re.compile(r"(\d{20})\.(json|checkpoint\.parquet|checkpoint\.\d{10}\.\d{10}\.parquet)")
TRIES = 5


def blocks(file: BinaryIO) -> Iterator[bytes]:
    """Yield an open file, block by block."""
    while block := file.read(BLOCK):
        yield block


def pinned_files(folder: Path) -> tuple[bytes, dict[str, Path]]:
    """Return what `library.json` says, and the files it needs by their name in the folder; nothing without a library.

    Data files are never changed once written, and none that the pinned state needs is dropped within a week, so they
    can be copied while an import runs.

    Raises:
        LibraryNewerError: a newer program wrote them.
    """
    if not (folder / PINS).exists():
        return b"", {}
    pins = tables.read_pins(folder)
    content = {"format_version": tables.FORMAT_VERSION, "tables": pins}
    files = {name: path for table, version in pins.items() for name, path in table_files(folder, table, version)}
    return json.dumps(content, indent=1).encode(), files


def table_files(folder: Path, name: str, version: int) -> Iterator[tuple[str, Path]]:
    """Yield the files that one version of a table needs."""
    from deltalake import DeltaTable

    base = folder / name
    for path in DeltaTable(tables.table_path(folder, name), version=version).get_add_actions()["path"].to_pylist():
        plain = path if (base / path).exists() else unquote(path)
        yield f"{name}/{plain}", base / plain
    for entry in sorted((base / "_delta_log").iterdir()):
        found = _LOG.fullmatch(entry.name)
        if found and int(found[1]) <= version:
            yield f"{name}/_delta_log/{entry.name}", entry


def fits(folder: Path) -> list[Path]:
    """Return the folder of every fit."""
    return sorted(place for place in (folder / "fits").glob("[!.]*") if place.is_dir())


@contextmanager
def one_fit(place: Path) -> Iterator[dict[str, BinaryIO]]:
    """Give a fit's open files by name, all of one make: they stay as they are although it is made again meanwhile.

    Raises:
        BackupChangedError: it was made again and again while we looked.
    """
    with ExitStack() as stack:
        yield _opened(place, stack)


def _opened(place: Path, stack: ExitStack) -> dict[str, BinaryIO]:
    """Open a fit's files; one that is made again is renamed into its place, so the folder's number tells."""
    for _ in range(TRIES):
        try:
            before = place.stat().st_ino
            found: dict[str, BinaryIO] = {}
            for path in sorted(place.iterdir()):
                found[path.name] = stack.enter_context(path.open("rb"))
            if place.stat().st_ino == before:
                return found
        except FileNotFoundError:
            continue
    raise BackupChangedError(place)


def other_files(folder: Path) -> dict[str, Path]:
    """Return everything else that a yard has in its folder: its own rules, letters, the key, and what it put there."""
    found = {LATEST: folder / LATEST}
    for path in sorted(folder.rglob("*")):
        parts = path.relative_to(folder).parts
        if parts[0] not in NOT_KEPT | TAKEN_APART and not any(NOT_KEPT_NAMES.fullmatch(part) for part in parts):
            found["/".join(parts)] = path
    return {name: path for name, path in found.items() if path.is_file()}
