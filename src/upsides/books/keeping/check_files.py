"""Whether what lies beside the books is well: the library, the fits, the key, the room on the disk, the last backup."""

import json
import shutil
import stat
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

from pyarrow import parquet

from upsides.books import clock
from upsides.books.keeping.findings import Finding, told
from upsides.books.keeping.folder import LAST_BACKUP, PINS, fits, table_files
from upsides.books.services.opening import SECRET
from upsides.errors import UpsidesError
from upsides.ratings.kept_fits import read_fit
from upsides.results.library import Library

LITTLE_ROOM = 1 << 30
"""Bytes below which a disk soon fills. Common practice, no source."""

OLD_BACKUP = timedelta(days=2)
"""A yard that backs up every night has a younger one, though a night failed."""


def of_key(folder: Path) -> Iterator[Finding]:
    """Look whether the key is there and for its owner's eyes only."""
    file = folder / SECRET
    if not file.exists():
        words = (
            f"{file} was not there. A new one is made, and everybody has to sign in again; or bring the old one back "
            "from a backup."
        )
        yield Finding("key", False, words)
    elif stat.S_IMODE(file.stat().st_mode) & 0o077:
        yield Finding("key", False, f"{file} can be read by others on this machine. Put that right: chmod 600 {file}")
    else:
        yield Finding("key", True, "The key is there, and only its owner can read it.")


def of_library(folder: Path) -> Iterator[Finding]:
    """Read every table of the results at the version that `library.json` pins, and look for its files."""
    if not (folder / PINS).exists():
        yield Finding("library", True, "There are no published results yet.")
        return
    opened, wrong, rows = Library.open(folder), [], 0
    for name, version in opened.pins.items():
        try:
            for file, path in table_files(folder, name, version):
                rows += _rows(path) if file.endswith(".parquet") and "/_delta_log/" not in file else 0
        except Exception as error:  # noqa: BLE001 (whatever the tables' readers say of damaged files)
            wrong.append(f"the table {name} cannot be read ({_first_line(error)})")
    well = f"The published results can be read: {rows:,} rows in {len(opened.pins)} tables."
    yield told("library", wrong, well, "Restore a backup into a new folder, or add the results again.")


def _rows(path: Path) -> int:
    """Read a file of Parquet to its end and count its rows; unlike Polars, Arrow survives a damaged one."""
    return sum(batch.num_rows for batch in parquet.ParquetFile(path).iter_batches())


def of_fits(folder: Path) -> Iterator[Finding]:
    """Read every fit, and the note of which is shown."""
    wrong, found = [], fits(folder)
    for place in found:
        try:
            for path in place.glob("*.parquet"):
                _rows(path)
            read_fit(folder, date.fromisoformat(place.name))
        except Exception as error:  # noqa: BLE001 (whatever Parquet's reader says of damaged files)
            wrong.append(f"the fit {place.name} cannot be read ({_first_line(error)})")
    latest = folder / "fits" / "latest.json"
    if latest.exists():
        try:
            named = str(json.loads(latest.read_text())["as_of"])
            wrong += [] if (folder / "fits" / named).is_dir() else [f"{latest} names a fit that is not there: {named}"]
        except (ValueError, KeyError, TypeError):
            wrong.append(f"{latest} cannot be read")
    yield told(
        "fits",
        wrong,
        f"Every fit can be read; there {_are(len(found))}.",
        f"Make the fit again: upsides fit --library {folder}.",
    )


def _are(count: int) -> str:
    return "is one" if count == 1 else f"are {count}"


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0] if str(error) and not isinstance(error, UpsidesError) else str(error)


def of_room(folder: Path) -> Iterator[Finding]:
    """Look how much room is left on the disk."""
    free = shutil.disk_usage(folder).free
    words = f"{free / 1e9:.1f} GB are free on the disk of {folder}."
    well = free >= LITTLE_ROOM
    yield Finding("room", well, words if well else f"Only {words} Make room before it is full.")


def of_backup(folder: Path) -> Iterator[Finding]:
    """Look when the last backup was made."""
    real = clock.place().fixed_day is None
    try:
        noted = json.loads((folder / LAST_BACKUP).read_text(encoding="utf-8"))
        at, file = datetime.fromisoformat(noted["made_at"]), noted["file"]
    except (OSError, ValueError, KeyError, TypeError):
        yield Finding("backup", not real, "No backup was made yet. Make one every night: upsides backup --to FOLDER.")
        return
    words = f"The last backup was made on {at:%Y-%m-%d} at {at:%H:%M} UTC: {file}."
    old = real and clock.now() - at > OLD_BACKUP
    yield Finding("backup", not old, f"{words} Make one every night: upsides backup --to FOLDER." if old else words)
