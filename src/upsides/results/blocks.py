"""Files of lines read in blocks: bounded memory whatever they hold, true line numbers, damage told plainly.

A line longer than the limit is never held in memory: it is counted, noted and passed over.
"""

import gzip
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _

BLOCK_BYTES = 8 * 1024 * 1024
MAX_LINE_BYTES = 1024 * 1024
"""No line of results comes near a megabyte; a longer one means that the file is not what it says."""
GZIP_MAGIC = b"\x1f\x8b"
UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
UTF8_MARK = b"\xef\xbb\xbf"


@dataclass(slots=True)
class Block:
    """Whole lines of a file.

    Args:
        data: bytes that end at the end of a line (or of the file); line ends are a line feed.
        first_line: number of its first line, counted from 1.
        too_long: numbers of lines that were passed over before `data` because they exceed the limit.
        position: bytes of the stored file used so far, for progress.
    """

    data: bytes
    first_line: int
    too_long: list[int] = field(default_factory=list)
    position: int = 0


def open_bytes(path: Path) -> tuple[IO[bytes] | gzip.GzipFile, Callable[[], int]]:
    """Open a file, unpacked if it is gzipped; return it and a function that tells its stored position."""
    raw = path.open("rb")
    magic = raw.read(2)
    raw.seek(0)
    if magic == GZIP_MAGIC:
        return gzip.GzipFile(fileobj=raw, mode="rb"), raw.tell
    return raw, raw.tell


def read_blocks(path: Path, block_bytes: int = BLOCK_BYTES, max_line: int = MAX_LINE_BYTES) -> Iterator[Block]:
    """Yield the whole lines of a file in blocks.

    Raises:
        FileUnreadableError: the file cannot be opened, is cut off, is damaged, or is not text.
    """
    try:
        stream, tell = open_bytes(path)
    except OSError as error:
        reason = error.strerror or str(error)
        raise FileUnreadableError(
            path.name, _("it cannot be opened ({reason})", reason=reason), _("check its path and rights")
        ) from error
    with stream:
        yield from _lines(_pieces(path, stream, block_bytes), tell, max_line)


def _pieces(path: Path, stream: IO[bytes] | gzip.GzipFile, size: int) -> Iterator[bytes]:
    """Yield pieces of the unpacked file with line ends made alike, telling damage in plain words."""
    count, held = 0, b""
    while True:
        try:
            piece = stream.read(size)
        except EOFError as error:
            reason = _(
                "the gzip file is cut off{value}",
                value=_(" (its text breaks off after line {count})", count=count) if count else "",
            )
            raise FileUnreadableError(path.name, reason, _("nothing of it was taken; fetch the file again")) from error
        except (gzip.BadGzipFile, zlib.error) as error:
            reason = _(
                "the gzip file is damaged{value} ({error})",
                value=_(" after line {count}", count=count) if count else "",
                error=error,
            )
            raise FileUnreadableError(path.name, reason, _("nothing of it was taken; fetch the file again")) from error
        if count == 0:
            _refuse_utf16(path, piece)
            piece = piece.removeprefix(UTF8_MARK)
        if not piece:
            if held:
                yield held.replace(b"\r", b"\n")
            return
        piece, held = held + piece, b""
        if piece.endswith(b"\r"):
            piece, held = piece[:-1], b"\r"
        piece = piece.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        _refuse_binary(path, piece, count)
        count += piece.count(b"\n")
        yield piece


def _refuse_utf16(path: Path, piece: bytes) -> None:
    if piece.startswith(UTF16_MARKS):
        raise FileUnreadableError(path.name, _("it is written in UTF-16"), _("save it as UTF-8 text"))


def _refuse_binary(path: Path, piece: bytes, before: int) -> None:
    """Refuse a file that holds a NUL byte, naming its line; `before` lines stand before the piece."""
    place = piece.find(b"\0")
    if place >= 0:
        line = before + piece.count(b"\n", 0, place) + 1
        reason = _("it is not a text file: line {line} holds a NUL byte", line=line)
        raise FileUnreadableError(path.name, reason, _("mend that line, or give CSV, JSON lines, Parquet or XLSX"))


def _lines(pieces: Iterator[bytes], tell: Callable[[], int], max_line: int) -> Iterator[Block]:
    rest, line, dropping = b"", 1, False
    long: list[int] = []
    for piece in pieces:
        start = 0
        if dropping:
            start = piece.find(b"\n") + 1
            if not start:
                continue
            dropping, line = False, line + 1
        data = rest + piece[start:]
        end = data.rfind(b"\n") + 1
        rest = data[end:]
        if end:
            kept, over = _without_long(data[:end], line, max_line)
            yield Block(kept, line, long + over, tell())
            line, long = line + data.count(b"\n", 0, end), []
        if len(rest) > max_line:
            long.append(line)
            rest, dropping = b"", True
    if rest:
        yield Block(rest, line, long, tell())
    elif long:
        yield Block(b"", line, long, tell())


def _without_long(data: bytes, first: int, max_line: int) -> tuple[bytes, list[int]]:
    """Empty the lines above the limit, so that the numbers of the others stay true."""
    if len(data) <= max_line:
        return data, []
    lines = data.split(b"\n")
    over = [i for i, text in enumerate(lines) if len(text) > max_line]
    for i in over:
        lines[i] = b""
    return (b"\n".join(lines), [first + i for i in over]) if over else (data, [])
