"""The file of a backup: a ZIP whose parts are listed with their sizes and hashes in `manifest.json`, written last.

A ZIP has its table at its end, so that a file that was cut off is known for one at once, and any one part can be
read, and looked at with every computer's own tools, without unpacking the rest.
"""

import errno
import hashlib
import json
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path, PurePosixPath
from types import TracebackType
from typing import Any, BinaryIO, Self
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, LargeZipFile, ZipFile, ZipInfo

from upsides.errors import BackupDamagedError, BackupNewerError
from upsides.errors.wording import gettext as _

FORMAT = 1
"""Format of the backups that this program writes."""

MANIFEST = "manifest.json"
BOOKS, LIBRARY = "books/", "library/"
PACKED = (".parquet", ".gz", ".zip", ".jpg", ".jpeg", ".png")
"""Files that would not become smaller."""

BLOCK = 1 << 20
MOST_MANIFEST = 256 << 20
_OLDEST = (1980, 1, 1, 0, 0, 0)
_LINK, _KIND = 0o120000, 0o170000


@dataclass(frozen=True, slots=True)
class Member:
    """One part of a backup: its bytes and their SHA-256."""

    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the books.

    Args:
        rows: how many.
        last_number: the last number that was given to a row, None where rows have other keys.
    """

    rows: int
    last_number: int | None


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds.

    Args:
        made_at: when, by the yard's clock; an instant in UTC as text.
        program: version of the program that wrote it.
        yard: the yard's name, empty for none.
        database: "sqlite" or "postgresql".
        migrations: the changes to the tables that were made, by application.
        tables: by name.
        members: by name.
        library: whether the library's files are in it.
        format: of the file.
    """

    made_at: str
    program: str
    yard: str
    database: str
    migrations: dict[str, list[str]]
    tables: dict[str, Table]
    library: bool
    members: dict[str, Member] = field(default_factory=dict)
    format: int = FORMAT


class Writer:
    """Writes the parts of a backup into an open file, and the manifest when it is closed."""

    def __init__(self, out: BinaryIO) -> None:
        self._zip = ZipFile(out, "w", allowZip64=True)
        self.members: dict[str, Member] = {}

    def add(self, name: str, blocks: Iterable[bytes], *, mode: int = 0o600) -> None:
        """Write one part, block by block."""
        info = ZipInfo(name, _OLDEST)
        info.compress_type = ZIP_STORED if name.endswith(PACKED) else ZIP_DEFLATED
        info.external_attr = (0o100000 | mode) << 16
        digest, size = hashlib.sha256(), 0
        with self._zip.open(info, "w", force_zip64=True) as part:
            for block in blocks:
                digest.update(block)
                size += len(block)
                part.write(block)
        self.members[name] = Member(size, digest.hexdigest())

    def finish(self, manifest: Manifest) -> Manifest:
        """Write the manifest with all parts that were added, and the table of the ZIP; return it."""
        whole = replace(manifest, members=self.members)
        info = ZipInfo(MANIFEST, _OLDEST)
        info.compress_type = ZIP_DEFLATED
        info.external_attr = 0o100600 << 16
        self._zip.writestr(info, json.dumps(asdict(whole), indent=1))
        self._zip.close()
        return whole


class Reader:
    """Reads a backup, trusting nothing in it.

    Raises:
        BackupDamagedError: it is no backup, or not as it was written.
        BackupNewerError: a newer program wrote it.
        OSError: it cannot be read.
    """

    def __init__(self, file: Path) -> None:
        self.file = file
        with _refused(file, "", _("it is no backup, or was cut off")):
            self._zip = ZipFile(file)
        try:
            self.manifest = self._manifest()
            self._parts = self._listed()
        except BaseException:
            self._zip.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _at: TracebackType | None
    ) -> None:
        self._zip.close()

    def _manifest(self) -> Manifest:
        if MANIFEST not in self._zip.NameToInfo:
            raise BackupDamagedError(
                self.file, "", _("it has no {manifest}, so it is no backup of ours", manifest=MANIFEST)
            )
        with _refused(self.file, MANIFEST, _("it cannot be read")):
            info = self._zip.getinfo(MANIFEST)
            content = json.loads(self._zip.read(info)) if info.file_size <= MOST_MANIFEST else None
        return self._understood(content)

    def _understood(self, content: Any) -> Manifest:
        written = content.get("format") if isinstance(content, dict) else None
        if type(written) is not int:
            raise BackupDamagedError(self.file, MANIFEST, _("it does not say which format it has"))
        if written > FORMAT:
            raise BackupNewerError(
                self.file,
                _("its format is {written}, and this program reads {format} at most", written=written, format=FORMAT),
            )
        try:
            tables = {str(name): Table(int(one["rows"]), one["last_number"]) for name, one in content["tables"].items()}
            members = {str(k): Member(int(one["bytes"]), str(one["sha256"])) for k, one in content["members"].items()}
            migrations = {str(app): [str(one) for one in names] for app, names in content["migrations"].items()}
            known = {name: content[name] for name in ("made_at", "program", "yard", "database", "library")}
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise BackupDamagedError(
                self.file, MANIFEST, _("something in it is missing or wrong ({error!r})", error=error)
            ) from None
        return Manifest(**known, tables=tables, members=members, migrations=migrations)

    def _listed(self) -> dict[str, ZipInfo]:
        """Return the parts, once it is certain that they are those of the manifest and lie where they may."""
        found = [info for info in self._zip.infolist() if info.filename != MANIFEST]
        parts = {info.filename: info for info in found}
        if len(parts) < len(found):
            raise BackupDamagedError(self.file, "", _("it holds a part twice"))
        for name in sorted(parts.keys() ^ self.manifest.members.keys()):
            reason = _("it is not in the manifest") if name in parts else _("it is missing")
            raise BackupDamagedError(self.file, name, reason)
        for name, info in parts.items():
            self._refuse_odd(name, info)
        missing = {f"{BOOKS}{table}.jsonl" for table in self.manifest.tables} ^ {
            n for n in parts if n.startswith(BOOKS)
        }
        if missing:
            raise BackupDamagedError(self.file, min(missing), _("tables and parts do not belong together"))
        return parts

    def _refuse_odd(self, name: str, info: ZipInfo) -> None:
        pieces = PurePosixPath(name).parts
        outside = ".." in pieces or name.startswith("/") or "\\" in name or ":" in name or "\0" in info.orig_filename
        if outside or not name.startswith((BOOKS, LIBRARY)) or "/".join(pieces) != name or len(pieces) < 2:
            raise BackupDamagedError(self.file, name, _("its name leads out of the folder, or is none of ours"))
        if (info.external_attr >> 16) & _KIND == _LINK:
            raise BackupDamagedError(self.file, name, _("it is a link and not a file"))
        if info.file_size != self.manifest.members[name].bytes:
            raise BackupDamagedError(self.file, name, _("its size is not that of the manifest"))

    def blocks(self, name: str) -> Iterator[bytes]:
        """Yield one part, block by block; the hash is compared at its end.

        Raises:
            BackupDamagedError: it is not as it was written.
        """
        wanted, digest, size = self.manifest.members[name], hashlib.sha256(), 0
        with _refused(self.file, name, _("it cannot be unpacked")), self._zip.open(self._parts[name]) as part:
            while block := part.read(BLOCK):
                digest.update(block)
                size += len(block)
                yield block
        if size != wanted.bytes or digest.hexdigest() != wanted.sha256:
            raise BackupDamagedError(self.file, name, _("it is not as it was written"))

    def lines(self, name: str) -> Iterator[bytes]:
        """Yield the lines of one part, each with its end."""
        rest = b""
        for block in self.blocks(name):
            *whole, rest = (rest + block).split(b"\n")
            yield from (line + b"\n" for line in whole)
        if rest:
            yield rest


BAD = (BadZipFile, LargeZipFile, NotImplementedError, zlib.error, EOFError, RuntimeError, ValueError, IndexError)
"""What Python's own reader of ZIP files says of those that are none."""


@contextmanager
def _refused(file: Path, member: str, reason: str) -> Iterator[None]:
    """Say in our words what Python's reader of ZIP files cannot read; a fault of the disk stays what it is."""
    try:
        yield
    except BAD as error:
        raise BackupDamagedError(file, member, f"{reason} ({error})") from None
    except OSError as error:
        if error.errno != errno.EINVAL:  # a place before the file's beginning
            raise
        raise BackupDamagedError(file, member, f"{reason} ({error})") from None
