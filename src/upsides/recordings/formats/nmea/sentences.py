"""The sentences of NMEA 0183: found, their checksums held, their fields by name."""

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.recording import Message

SENTENCE = re.compile(rb"\$([^$*\r\n]{6,200})(?:\*([0-9A-Fa-f]{2}))?")
POSITION = ("north", "north_side", "east", "east_side")
# Which field stands where, counted from the first after the sentence's own name.
LAYOUTS: dict[bytes, tuple[str, ...]] = {
    b"GGA": ("time", *POSITION, "quality", "", "hdop", "height", "", "geoid"),
    b"GNS": ("time", *POSITION, "", "", "hdop", "height", "geoid"),
    b"RMC": ("time", "status", *POSITION, "knots", "", "date"),
    b"GLL": (*POSITION, "time", "status"),
    b"VTG": ("", "", "", "", "knots", "", "kmh"),
    b"GSA": ("",) * 15 + ("hdop",),
    b"GST": ("time", "", "", "", "", "north_sd", "east_sd"),
    b"ZDA": ("time", "day", "month", "year"),
}


@dataclass(frozen=True)
class Sentences:
    """The k sentences of one kind in a file.

    Attributes:
        place: (k,) where each stands among all that were kept.
        fields: k texts of each field.
    """

    place: NDArray[np.int64]
    fields: dict[str, list[bytes]]


def checksum(body: bytes) -> int:
    """Return the checksum of what stands between $ and *: all its bytes, joined by exclusive or."""
    return int(np.bitwise_xor.reduce(np.frombuffer(body, dtype=np.uint8)))


def sentences(data: bytes) -> tuple[dict[bytes, Sentences], list[Message]]:
    """Return the sentences of each kind that is read, and how many were dropped.

    A wrong checksum drops its sentence. A missing one does so too where others have theirs (a line that was cut);
    where none has one, as the standard allowed, all are taken.
    """
    found = SENTENCE.findall(data)
    if not found:
        return {}, [Message("no_sentences")]
    wrong = _wrong([body for body, _ in found], [given for _, given in found])
    bare = np.array([not given for _, given in found])
    told = []
    if wrong.any():
        told.append(Message("wrong_checksum", {"count": int(wrong.sum())}))
    if bare.all():
        told.append(Message("no_checksums"))
    elif bare.any():
        told.append(Message("cut_sentences", {"count": int(bare.sum())}))
        wrong |= bare
    bodies = [body for (body, _), drop in zip(found, wrong, strict=True) if not drop]
    return _by_kind(bodies), told


def _wrong(bodies: list[bytes], given: list[bytes]) -> NDArray[np.bool_]:
    """Tell which of the bodies do not add up to what was given for them, all at once; not those without any."""
    starts = np.cumsum([0, *(len(body) for body in bodies[:-1])])
    sums = np.bitwise_xor.reduceat(np.frombuffer(b"".join(bodies), dtype=np.uint8), starts)
    said = np.array([int(text, 16) if text else -1 for text in given])
    return np.asarray((said >= 0) & (said != sums))


def _by_kind(bodies: list[bytes]) -> dict[bytes, Sentences]:
    kinds: dict[bytes, tuple[list[int], list[list[bytes]]]] = {}
    place = 0
    for body in bodies:
        if (kind := body[2:5]) in LAYOUTS and body[5:6] == b",":
            places, rows = kinds.setdefault(kind, ([], []))
            places.append(place)
            rows.append(body.split(b","))
            place += 1
    return {kind: _fields(LAYOUTS[kind], *found) for kind, found in kinds.items()}


def _fields(layout: tuple[str, ...], places: list[int], rows: list[list[bytes]]) -> Sentences:
    width = len(layout) + 1
    padded = [row if len(row) >= width else row + [b""] * (width - len(row)) for row in rows]
    fields = {name: [row[i].strip() for row in padded] for i, name in enumerate(layout, start=1) if name}
    return Sentences(np.array(places, dtype=np.int64), fields)
