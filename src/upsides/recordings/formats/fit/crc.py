"""The check sum of a FIT file: a cyclic redundancy check of 16 bits, polynomial 0x8005 reflected, starting at nought.

The register after 16 bits is a linear map over the field of two elements of register and bits together. So a message's
two halves are checked side by side: the first one's words, carried over the length of the second, are added to the
second one's. A message of n words takes n look-ups in all, in about log n steps.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

POLYNOMIAL = 0xA001
Words = NDArray[np.uint16]


def crc(data: bytes | memoryview) -> int:
    """Return the check sum of bytes, 0 to 65535."""
    odd = len(data) % 2
    words = np.empty((len(data) + odd) // 2, dtype="<u2")
    if not words.size:
        return 0
    words[0] = 0  # a nought in front changes nothing
    words.view(np.uint8)[odd:] = np.frombuffer(data, dtype=np.uint8)
    while words.size > 1:
        power = (words.size - 1).bit_length() - 1
        later = words[-(1 << power) :]
        earlier = words[: words.size - later.size]
        later[later.size - earlier.size :] ^= _carry(power)[earlier]
        words = later
    return int(_carry(0)[words[0]])


@cache
def _carry(power: int) -> Words:
    """Return (65536,) what 2**power words of noughts make of every register."""
    if power:
        before = _carry(power - 1)
        return before[before]
    register = np.arange(1 << 16, dtype=np.uint16)
    for _ in range(16):
        register = np.asarray(register >> 1 ^ np.where(register & 1, POLYNOMIAL, 0), dtype=np.uint16)
    return register
