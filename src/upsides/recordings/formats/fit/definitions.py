"""Definition messages: which fields the data messages of a kind hold, where, and of what type."""

from dataclasses import dataclass

HEADER, DEVELOPER, COMPRESSED, LOCAL = 0x40, 0x20, 0x80, 0x0F
"""Bits of the byte that begins a message: a definition; one with developer fields; a compressed time; its kind."""
BASE_TYPES: dict[int, tuple[str, int | None]] = {
    0: ("u1", 0xFF),
    1: ("i1", 0x7F),
    2: ("u1", 0xFF),
    3: ("i2", 0x7FFF),
    4: ("u2", 0xFFFF),
    5: ("i4", 0x7FFF_FFFF),
    6: ("u4", 0xFFFF_FFFF),
    7: ("S", None),
    8: ("f4", None),
    9: ("f8", None),
    10: ("u1", 0),
    11: ("u2", 0),
    12: ("u4", 0),
    13: ("u1", 0xFF),
    14: ("i8", 0x7FFF_FFFF_FFFF_FFFF),
    15: ("u8", 0xFFFF_FFFF_FFFF_FFFF),
    16: ("u8", 0),
}
"""Type by the low five bits of its number: how it lies in memory, and the number that stands for nothing."""


BASE_BYTES = frozenset(
    number | (0x80 if number in {3, 4, 5, 6, 8, 9, 11, 12, 14, 15, 16} else 0) for number in BASE_TYPES
)
"""The bytes that name a type: of several bytes, where the order of these matters, with the highest bit set."""


@dataclass(frozen=True, slots=True)
class Field:
    """Where a field lies in a data message.

    Attributes:
        start: its first byte, counted from the byte that begins the message.
        size: its bytes.
        base: its type, a key of `BASE_TYPES`; -1 for one that is not known.
    """

    start: int
    size: int
    base: int


@dataclass(frozen=True, slots=True)
class Definition:
    """What data messages of a kind hold.

    Attributes:
        number: which message of the profile it is.
        order: "<" for the least byte first, ">" for the greatest first.
        fields: by their number in the profile.
        developer: by the number of the developer and that of the field; their type is told by a description.
        size: bytes of a data message, the byte that begins it included.
    """

    number: int
    order: str
    fields: dict[int, Field]
    developer: dict[tuple[int, int], Field]
    size: int


def definition_size(data: bytes, place: int) -> int:
    """Return how many bytes the definition message at a place takes, reaching beyond the end where it is cut off."""
    fields = place + 5
    if fields >= len(data):
        return 6
    size = 6 + 3 * data[fields]
    if data[place] & DEVELOPER:
        size += 1 + (3 * data[place + size] if place + size < len(data) else 0)
    return size


def parse_definition(message: bytes) -> Definition | None:
    """Return what a whole definition message defines; None where it is none, because its bytes make no sense."""
    if message[1] != 0 or message[2] > 1:
        return None
    order = ">" if message[2] else "<"
    number = int.from_bytes(message[3:5], "big" if message[2] else "little")
    fields: dict[int, Field] = {}
    developer: dict[tuple[int, int], Field] = {}
    start, after = 1, 6 + 3 * message[5]
    for at in range(6, after, 3):
        base = message[at + 2] & 0x1F
        fields.setdefault(message[at], Field(start, message[at + 1], base if base in BASE_TYPES else -1))
        start += message[at + 1]
    for at in range(after + 1, len(message), 3):
        developer.setdefault((message[at + 2], message[at]), Field(start, message[at + 1], -1))
        start += message[at + 1]
    return Definition(number, order, fields, developer, start)
