"""The door that opens any recording: by what is in a file, never by what it is called."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from upsides.errors import (
    PackedError,
    RecordingEmptyError,
    RecordingRefusedError,
    RecordingTooLargeError,
    RecordingUnknownError,
    UpsidesError,
)
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined
from upsides.recordings.formats.csv.shape import Shape
from upsides.recordings.formats.decoding import decoded
from upsides.recordings.recording import FormatName, Message, Recording
from upsides.recordings.unpacking import Limits, Plain, unpack
from upsides.recordings.week_count import put_right

START = 1 << 16  # bytes that are looked at to tell what a file is
ROOT = re.compile(r"<(?:[\w.-]+:)?([A-Za-z][\w.-]*)[\s/>]")
XML: dict[str, FormatName] = {"gpx": "gpx", "trainingcenterdatabase": "tcx"}
SENTENCE = re.compile(r"^[^$\r\n]{0,60}\$[A-Z]{2}[A-Z]{3},", re.MULTILINE)
LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Opened:
    """What came of one file, or of one file of an archive: recordings, or why there are none.

    Attributes:
        file: its name; out of an archive "archive/member".
        recordings: what it holds; several where it is chained, or more devices wrote into it.
        error: why nothing could be read.
    """

    file: str
    recordings: tuple[Recording, ...] = ()
    error: UpsidesError | None = None


def open_bytes(data: bytes, file: str, *, shapes: Sequence[Shape] = (), limits: Limits = LIMITS) -> Iterator[Opened]:
    """Yield what comes of each file that is packed in these bytes, or of the bytes themselves; nothing is raised.

    Args:
        data: the bytes of the file.
        file: its name, for messages and for what a table's shape reads out of it.
        shapes: shapes of tables that are tried before the shipped ones.
        limits: how much it may hold.
    """
    for found in unpack(data, file, limits):
        if isinstance(found, Plain):
            yield _opened(found, shapes, limits)
        else:
            yield Opened(str(getattr(found, "file", file)), error=found)


def read_bytes(data: bytes, file: str, *, shapes: Sequence[Shape] = (), limits: Limits = LIMITS) -> list[Recording]:
    """Read all recordings of one file, packed or not; of an archive whose files are not all good, those that are.

    The first recording then carries a message for each file of the archive that could not be read.

    Raises:
        RecordingRefusedError: nothing could be read.
    """
    opened = list(open_bytes(data, file, shapes=shapes, limits=limits))
    failed = [one for one in opened if one.error is not None]
    recordings = [recording for one in opened for recording in one.recordings]
    if not recordings:
        if len(failed) == 1 and failed[0].error is not None:
            raise failed[0].error
        reasons = joined((str(one.error) for one in failed[:3]), by="; ")
        raise PackedError(
            file, _("none of the {count} files in it could be read ({reasons})", count=len(failed), reasons=reasons)
        )
    told = tuple(Message("member_refused", {"reason": str(one.error)}) for one in failed)
    return [replace(recordings[0], messages=(*recordings[0].messages, *told)), *recordings[1:]]


def read_path(path: Path, *, shapes: Sequence[Shape] = (), limits: Limits = LIMITS) -> list[Recording]:
    """Read all recordings of the file at a path.

    Raises:
        RecordingRefusedError: it cannot be opened, or nothing in it could be read.
    """
    return read_bytes(_content(path, limits), path.name, shapes=shapes, limits=limits)


def read_all(paths: Iterable[Path], *, shapes: Sequence[Shape] = (), limits: Limits = LIMITS) -> Iterator[Opened]:
    """Yield what comes of many files, archives file by file, one after the other; a broken one stops none."""
    for path in paths:
        try:
            data = _content(path, limits)
        except RecordingRefusedError as error:
            yield Opened(str(path), error=error)
        else:
            yield from open_bytes(data, str(path), shapes=shapes, limits=limits)


def _content(path: Path, limits: Limits) -> bytes:
    try:
        if path.stat().st_size > limits.total:
            raise RecordingTooLargeError(path, _("it is larger than {total} megabytes", total=limits.total >> 20))
        return path.read_bytes()
    except OSError as error:
        reason = (
            _("there is no such file")
            if isinstance(error, FileNotFoundError)
            else _("it cannot be opened ({error})", error=error.strerror)
        )
        raise RecordingRefusedError(path, reason, _("name a file that can be read")) from error


def _opened(plain: Plain, shapes: Sequence[Shape], limits: Limits) -> Opened:
    try:
        if len(plain.data) > limits.member:
            raise RecordingTooLargeError(
                plain.file, _("it is larger than {member} megabytes", member=limits.member >> 20)
            )
        read = [put_right(one) for one in _read(plain.data, plain.file, shapes)]
    except UpsidesError as error:
        return Opened(plain.file, error=error)
    told = tuple(plain.messages)
    return Opened(plain.file, tuple(replace(one, messages=(*told, *one.messages)) if told else one for one in read))


def _read(data: bytes, file: str, shapes: Sequence[Shape]) -> list[Recording]:
    if not data:
        raise RecordingEmptyError(file)
    match recognised(data, file):
        case "fit":
            from upsides.recordings.formats.fit import read_fit

            return read_fit(data, file)
        case "gpx":
            from upsides.recordings.formats.gpx import read_gpx

            return read_gpx(data, file)
        case "tcx":
            from upsides.recordings.formats.tcx import read_tcx

            return read_tcx(data, file)
        case "nmea":
            from upsides.recordings.formats.nmea import read_nmea

            return read_nmea(data, file)
        case "csv":
            from upsides.recordings.formats.csv import read_csv

            return read_csv(data, file, shapes)


def recognised(data: bytes, file: str) -> FormatName:
    """Tell the format of a file by its content.

    Raises:
        RecordingUnknownError: it is of no kind that is read here; the reason says what it looks like.
    """
    if data[8:12] == b".FIT" or (data[:1] in b"\x0c\x0e" and file.lower().endswith(".fit")):
        return "fit"
    text = decoded(data[:START])[0].lstrip("\ufeff \t\r\n\x00")
    roots = [root.lower() for root in ROOT.findall(text)]
    if known := next((XML[root] for root in roots if root in XML), None):
        return known
    if text.startswith("<"):
        found = (
            _("it is XML, but of another kind ({roots})", roots=roots[0])
            if roots
            else _("it begins like XML, but says nothing")
        )
        raise RecordingUnknownError(file, _("it is a web page, not a recording") if "html" in roots[:2] else found)
    if SENTENCE.search(text):
        return "nmea"
    if not text.strip("\x00\xff"):
        raise RecordingUnknownError(file, _("it holds nothing but blanks"))
    if sum(not (char.isprintable() or char in "\t\r\n") for char in text[:4000]) > 0.02 * len(text[:4000]):
        raise RecordingUnknownError(file, _("it is of a kind that is not known here"))
    if not any(map(_in_columns, text.splitlines())):
        raise RecordingUnknownError(file, _("it is text, and no table of fixes"))
    return "csv"


def _in_columns(line: str) -> bool:
    """Say whether a line may be one of a table: of three columns, or of two with a number."""
    most = max(line.count(delimiter) for delimiter in ",;\t|")
    return most > 1 or (most == 1 and any(letter.isdigit() for letter in line))
