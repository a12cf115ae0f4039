"""FIT files put together by hand, byte by byte, for tests."""

import struct
from collections.abc import Sequence

CLOCK = 1_000_000_000
"""A time of the format, in 2021."""
EPOCH_S = 631_065_600
Field = tuple[int, int, int]


def definition(
    local: int, number: int, fields: Sequence[Field], *, big: bool = False, own: Sequence[Field] = ()
) -> bytes:
    kind = 0x40 | local | (0x20 if own else 0)
    told = struct.pack(">BBBHB" if big else "<BBBHB", kind, 0, int(big), number, len(fields))
    told += b"".join(bytes(field) for field in fields)
    return told + (bytes([len(own)]) + b"".join(bytes(field) for field in own) if own else b"")


def record(local: int, layout: str, *values: float) -> bytes:
    return bytes([local]) + struct.pack(layout, *values)


def checked(data: bytes) -> int:
    """The check sum bit by bit, as the protocol describes it."""
    register = 0
    for byte in data:
        register ^= byte
        for _ in range(8):
            register = register >> 1 ^ (0xA001 if register & 1 else 0)
    return register


def whole(body: bytes, *, header: int = 14, promised: int | None = None) -> bytes:
    size = len(body) if promised is None else promised
    start = struct.pack("<BBHI4s", header, 0x20, 2100, size, b".FIT")
    if header == 14:
        start += struct.pack("<H", checked(start))
    return start + body + struct.pack("<H", checked(start + body))


TIMED = definition(0, 20, [(253, 4, 0x86), (3, 1, 0x02), (5, 4, 0x86)])


def timed(second: int, heart: int = 100, centimetres: int = 0) -> bytes:
    return record(0, "<IBI", CLOCK + second, heart, centimetres)
