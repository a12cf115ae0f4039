"""Where the files within a file begin and end, and whether they are whole."""

from collections.abc import Iterator
from dataclasses import dataclass

from upsides.recordings.formats.fit.crc import crc

SIGNATURE = b".FIT"
SHORTEST = 12
CRC_SIZE = 2


@dataclass(frozen=True, slots=True)
class Part:
    """One FIT file within bytes.

    Attributes:
        body: where its first message begins.
        end: where its messages end.
        fault: "" where header, length and check sum agree; else "crc_wrong", "crc_missing", "cut_off" (the header
            promises more) or "unclosed" (it promises less, as when a device stopped before it wrote the length).
        missing: how many bytes the header promises that are not there.
    """

    body: int
    end: int
    fault: str = ""
    missing: int = 0


def find_header(data: bytes, start: int) -> int | None:
    """Return where the next header at or after `start` begins."""
    place = start + 8
    while (place := data.find(SIGNATURE, place)) >= 0:
        if is_header(data, place - 8):
            return place - 8
        place += 1
    return None


def is_header(data: bytes, place: int) -> bool:
    """Whether a header begins at a place: its length, the signature, a protocol that is known to exist."""
    return data[place + 8 : place + 12] == SIGNATURE and data[place] in (12, 14) and data[place + 1] >> 4 < 4


def parts(data: bytes) -> Iterator[Part]:
    """Yield the files in bytes, in order; none where no header is found."""
    place = find_header(data, 0)
    while place is not None:
        part = _part(data, place)
        yield part
        place = find_header(data, max(part.end, place + SHORTEST))


def _part(data: bytes, place: int) -> Part:
    body = min(place + data[place], len(data))
    promised = int.from_bytes(data[place + 4 : place + 8], "little")
    end = body + promised
    closes = end + CRC_SIZE
    if _checks(data, place, closes):
        return Part(body, end)
    if closes == len(data) or (closes < len(data) and is_header(data, closes)):
        return Part(body, end, "crc_wrong")
    if end == len(data) or end + 1 == len(data) or (end < len(data) and is_header(data, end)):
        return Part(body, end, "crc_missing")
    following = find_header(data, body)
    if following is None:
        following = len(data)
    if following < closes:
        return Part(body, following, "cut_off", closes - following)
    return Part(body, following - CRC_SIZE if _checks(data, place, following) else following, "unclosed")


def _checks(data: bytes, place: int, closes: int) -> bool:
    """Whether the last two bytes of data[place:closes] are the check sum of the others."""
    end = closes - CRC_SIZE
    if not place + SHORTEST <= end <= len(data) - CRC_SIZE:
        return False
    return int.from_bytes(data[end:closes], "little") == crc(memoryview(data)[place:end])
