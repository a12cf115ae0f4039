"""A file on its way into the books."""

from dataclasses import dataclass
from typing import IO


@dataclass(frozen=True, slots=True)
class Sent:
    """A file as somebody sent it.

    Args:
        name: what it is called there.
        file: its bytes, to be read once.
    """

    name: str
    file: IO[bytes]
