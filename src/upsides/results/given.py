"""The files of an import: opened, recognised, and called by names that tell them apart."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.description import Shape, Table
from upsides.results.readers import Source, open_source
from upsides.results.recognising import recognise
from upsides.results.staging import PACKED


@dataclass(frozen=True, slots=True)
class GivenFile:
    """A file to be imported: how it is read, which table of the shape it is, and what it is called."""

    source: Source
    table: Table
    name: str
    sha256: str


def open_files(paths: list[Path], shape: Shape, max_line: int | None) -> list[GivenFile]:
    """Open the files of an import and tell which table of the shape each is.

    Raises:
        FileUnreadableError: none was given, or one cannot be used.
    """
    if not paths:
        raise FileUnreadableError("results", _("no file was given"), _("name at least one"))
    names = [path.name for path in paths]
    opened = []
    for path in paths:
        limit = {} if max_line is None else {"max_line": max_line}
        source = open_source(path, shape.delimiter, shape.encoding, shape.header_line, shape.sheet, **limit)
        name = path.name if names.count(path.name) == 1 else f"{path.parent.name}/{path.name}"
        opened.append(GivenFile(source, recognise(source, shape), name, _sha256(path)))
    return opened


def _sha256(path: Path) -> str:
    with path.open("rb") as raw:
        return hashlib.file_digest(raw, "sha256").hexdigest()


def text_bytes(source: Source) -> float:
    """Return roughly how many bytes of delimited text a file holds."""
    with source.path.open("rb") as raw:
        packed = raw.read(2) == b"\x1f\x8b"
    return source.path.stat().st_size * PACKED[source.kind] * (PACKED["gzip"] if packed else 1.0)


def unused_columns(item: GivenFile) -> dict[str, str]:
    """Return the columns that nothing is taken from, with the reason where the shape gives one."""
    used = item.table.columns()
    return {name: item.table.unused.get(name, "") for name in item.source.columns if name not in used}
