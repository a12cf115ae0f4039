"""What is packed, gzip or zip, unpacked piece by piece and within limits, so that no small file fills the memory."""

import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field

from upsides.errors import PackedError, RecordingTooLargeError, UpsidesError
from upsides.errors.wording import gettext as _
from upsides.recordings.recording import Message

GZIP, ZIP, EMPTY_ZIP = b"\x1f\x8b", b"PK\x03\x04", b"PK\x05\x06"
PIECE = 1 << 14
FAULTS = {
    "packed_cut_off": "it breaks off",
    "packed_damaged": "it is damaged",
    "packed_changed": "its check sum is wrong",
}
"""What may be wrong with what is packed, by the code of its message."""
LOCAL = 30  # bytes of the header before each member of a zip, its name and extra field aside
DAMAGE = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError, OSError, ValueError)
FREE = 1 << 20  # bytes up to which no ratio is asked: short texts of one letter pack well


@dataclass(frozen=True, slots=True)
class Limits:
    """How much a file may hold: engineering choices, far above any morning and below any memory.

    Attributes:
        member: most bytes of one recording, unpacked.
        total: most bytes of all that one archive holds, unpacked.
        ratio: most bytes that one packed byte may stand for; GPX and TCX stay below 40.
        members: most files in one archive.
        nested: how often what was packed may be packed again.
    """

    member: int = 128 << 20
    total: int = 1 << 30
    ratio: float = 200.0
    members: int = 5_000
    nested: int = 1


@dataclass(slots=True)
class Plain:
    """One file as it was before it was packed.

    Attributes:
        file: its name; out of an archive "archive/member".
        data: its bytes.
        messages: what was lost in the unpacking.
    """

    file: str
    data: bytes
    messages: list[Message] = field(default_factory=list)


@dataclass(slots=True)
class _Budget:
    """What one file given may still unfold to, whatever it is made of."""

    limits: Limits
    left: int

    def spend(self, file: str, made: int, packed: int, more: int) -> None:
        """Count `more` bytes of a member that has made so many of so many packed ones.

        Raises:
            RecordingTooLargeError: a limit is passed.
        """
        self.left -= more
        if made > self.limits.member or self.left < 0:
            most = (self.limits.member if made > self.limits.member else self.limits.total) >> 20
            raise RecordingTooLargeError(file, _("unpacked it is larger than {most} megabytes", most=most))
        if made > FREE and made > self.limits.ratio * packed:
            reason = _(
                "{packed} packed bytes stand for more than {made}, far more than any recording's would",
                packed=packed,
                made=made,
            )
            raise RecordingTooLargeError(file, reason)


def is_packed(data: bytes) -> bool:
    """Tell whether bytes are of a gzip or a zip."""
    return data.startswith((GZIP, ZIP, EMPTY_ZIP))


def unpack(data: bytes, file: str, limits: Limits) -> Iterator[Plain | UpsidesError]:
    """Yield what is packed in a file, or the file itself where nothing is; errors are yielded, one a member at fault.

    A gzip or zip member that breaks off, or whose check sum is wrong, is yielded as far as it goes, with a message.
    """
    yield from _opened(data, file, _Budget(limits, limits.total), 0)


def _opened(data: bytes, file: str, budget: _Budget, depth: int) -> Iterator[Plain | UpsidesError]:
    if not is_packed(data):
        yield Plain(file, data)
    elif depth > budget.limits.nested:
        yield PackedError(file, _("it is packed within what is packed again"))
    elif data.startswith(GZIP):
        yield from _gunzipped(data, file, budget, depth)
    else:
        yield from _unzipped(data, file, budget, depth)


def _gunzipped(data: bytes, file: str, budget: _Budget, depth: int) -> Iterator[Plain | UpsidesError]:
    try:
        plain, told = _inflated(data, file, budget)
    except UpsidesError as error:
        yield error
        return
    for found in _opened(plain, file, budget, depth + 1):
        if isinstance(found, Plain):
            found.messages[:0] = told
        yield found


def _inflated(data: bytes, file: str, budget: _Budget) -> tuple[bytes, list[Message]]:
    """Inflate a gzip of one or several parts, as far as it goes.

    Raises:
        RecordingTooLargeError: it unfolds past a limit.
        PackedError: nothing of it can be unpacked.
    """
    made = bytearray()
    place, fault = 0, ""
    while data.startswith(GZIP, place) and not fault:
        place, fault = _inflate(data, place, made, file, budget, zlib.decompressobj(wbits=31))
    return bytes(made), _judged(file, made, fault)


def _inflate(
    data: bytes, place: int, made: bytearray, file: str, budget: _Budget, stream: "zlib._Decompress"
) -> tuple[int, str]:
    """Inflate one stream piece by piece; return where it ends, and what is wrong with it."""
    while not stream.eof:
        taken = stream.unconsumed_tail or data[place : place + PIECE]
        place += 0 if stream.unconsumed_tail else len(taken)
        if not taken:
            made += stream.flush()
            return place, "packed_cut_off"
        before = stream.copy()
        try:
            piece = stream.decompress(taken, PIECE)
        except zlib.error:
            made += _up_to_the_fault(taken, before)
            return len(data), "packed_damaged"
        made += piece
        budget.spend(file, len(made), len(data), len(piece))
    return place - len(stream.unused_data), ""


def _up_to_the_fault(taken: bytes, stream: "zlib._Decompress") -> bytes:
    """Return what can be inflated of a piece that is damaged somewhere."""
    made = bytearray()
    for place in range(len(taken)):
        try:
            made += stream.decompress(taken[place : place + 1], PIECE)
        except zlib.error:
            break
    return bytes(made)


def _judged(file: str, made: bytearray, fault: str) -> list[Message]:
    if fault and not made:
        raise PackedError(
            file,
            _("{faults}, and nothing in it can be unpacked", faults=FAULTS[fault]),
            _("copy it from the device again"),
        )
    return [Message(fault, {"count": len(made)})] if fault else []


def _unzipped(data: bytes, file: str, budget: _Budget, depth: int) -> Iterator[Plain | UpsidesError]:
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except DAMAGE as error:
        yield PackedError(file, _("the archive cannot be opened ({error})", error=error), _("pack or copy it again"))
        return
    members = [member for member in archive.infolist() if not _is_clutter(member.filename)]
    if len(members) > budget.limits.members:
        yield RecordingTooLargeError(
            file, _("it packs {count} files, more than {members}", count=len(members), members=budget.limits.members)
        )
        return
    if not members:
        yield PackedError(file, _("there is no file in the archive"), _("put the recordings into it"))
    for member in members:
        name = f"{file}/{member.filename}"
        try:
            plain, told = _member(data, member, name, budget)
        except UpsidesError as error:
            yield error
            if budget.left < 0:
                return
            continue
        for found in _opened(plain, name, budget, depth + 1):
            if isinstance(found, Plain):
                found.messages[:0] = told
            yield found


def _is_clutter(name: str) -> bool:
    """Tell a folder, and what an operating system puts beside the files, from a file."""
    last = name.rsplit("/", 1)[-1]
    return not last or last.startswith(".") or name.startswith("__MACOSX/") or last in {"Thumbs.db", "desktop.ini"}


def _member(data: bytes, member: zipfile.ZipInfo, name: str, budget: _Budget) -> tuple[bytes, list[Message]]:
    """Unpack one member as far as it goes.

    Raises:
        RecordingTooLargeError: it unfolds past a limit.
        PackedError: it is locked, packed in an unknown way, or nothing of it can be unpacked.
    """
    if member.flag_bits & 1:
        raise PackedError(name, _("it is locked with a password"), _("pack it again without one"))
    if member.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        raise PackedError(name, _("it is packed in a way that is not known here"), _("pack it as a plain zip"))
    packed = _packed(data, member)
    made = bytearray()
    if member.compress_type == zipfile.ZIP_STORED:
        made += packed
        budget.spend(name, len(made), max(len(packed), 1), len(made))
        fault = "" if len(packed) == member.compress_size else "packed_cut_off"
    else:
        _place, fault = _inflate(packed, 0, made, name, budget, zlib.decompressobj(wbits=-15))
    if not fault and zlib.crc32(made) != member.CRC:
        fault = "packed_changed"
    return bytes(made), _judged(name, made, fault)


def _packed(data: bytes, member: zipfile.ZipInfo) -> bytes:
    """Return the packed bytes of a member, which stand behind a header of 30 bytes, its name and an extra field."""
    head = data[member.header_offset : member.header_offset + LOCAL]
    if not head.startswith(ZIP) or len(head) < LOCAL:
        return b""
    begins = member.header_offset + LOCAL + sum(struct.unpack("<HH", head[26:30]))
    return data[begins : begins + member.compress_size]
