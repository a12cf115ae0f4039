"""Messages to be written: definitions and rows of bytes of one kind."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit.definitions import BASE_BYTES, BASE_TYPES, DEVELOPER, HEADER

ENUM, SINT8, UINT8, UINT16, SINT32, UINT32, STRING, UINT32Z, SINT16 = 0, 1, 2, 4, 5, 6, 7, 12, 3
BYTE_OF = {byte & 0x1F: byte for byte in BASE_BYTES}


@dataclass(frozen=True, slots=True)
class Column:
    """A field to be written.

    Attributes:
        number: in its message; of a developer's field his number of it.
        base: its type, a key of `BASE_TYPES`.
        values: (n,) or (n, c) raw numbers, NaN for nothing; or a text, the same in all messages.
        developer: whether it is a field of developer 0.
    """

    number: int
    base: int
    values: NDArray[np.float64] | str
    developer: bool = False

    @property
    def code(self) -> tuple[str, tuple[int, ...]]:
        """How a value lies in memory, and the shape of it."""
        if isinstance(self.values, str):
            return f"S{len(self.values.encode()) + 1}", ()
        return "<" + BASE_TYPES[self.base][0], self.values.shape[1:]

    @property
    def size(self) -> int:
        """Bytes of it in a message."""
        code, shape = self.code
        return np.dtype((code, shape)).itemsize

    def raw(self) -> NDArray[Any] | bytes:
        """Return the values as they are written; a number that does not fit is nothing."""
        if isinstance(self.values, str):
            return self.values.encode()
        code, nothing = BASE_TYPES[self.base]
        limits = np.iinfo(code)
        whole = np.rint(self.values)
        fits = np.isfinite(whole) & (whole >= limits.min) & (whole <= limits.max)
        return np.where(fits, whole, float(nothing or 0)).astype(np.int64)


def defined(local: int, number: int, columns: Sequence[Column]) -> bytes:
    """Return the definition message of a kind."""
    native = [column for column in columns if not column.developer]
    own = [column for column in columns if column.developer]
    kind = HEADER | local | (DEVELOPER if own else 0)
    told = bytes([kind, 0, 0]) + number.to_bytes(2, "little") + bytes([len(native)])
    told += b"".join(bytes([column.number, column.size, BYTE_OF[column.base]]) for column in native)
    if own:
        told += bytes([len(own)]) + b"".join(bytes([column.number, column.size, 0]) for column in own)
    return told


def rows(local: int, columns: Sequence[Column], count: int = 1) -> NDArray[np.void]:
    """Return (count,) data messages of a kind; developers' columns must stand last."""
    names = [f"field{i}" for i in range(len(columns))]
    told = np.empty(
        count, dtype=[("kind", "u1"), *((name, *column.code) for name, column in zip(names, columns, strict=True))]
    )
    told["kind"] = local
    for name, column in zip(names, columns, strict=True):
        told[name] = column.raw()
    return told


def message(local: int, number: int, columns: Sequence[Column]) -> bytes:
    """Return a definition and one data message."""
    return defined(local, number, columns) + rows(local, columns).tobytes()
