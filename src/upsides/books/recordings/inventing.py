"""The files of an invented yard's trackers, made and read: what a process does with a morning of one or two horses."""

from collections.abc import Sequence
from typing import Any

from upsides.books.recordings.reading import Reader
from upsides.books.recordings.session import Session as Came
from upsides.demo.tracked.filing import files_of
from upsides.demo.tracked.session import Session


def together(sessions: Sequence[Session]) -> list[tuple[Session, ...]]:
    """Return sessions by whether they worked upsides; of a pair the first by code is first."""
    found: dict[tuple[Any, ...], list[Session]] = {}
    for one in sorted(sessions, key=lambda each: (each.day, each.source_horse)):
        pair = tuple(sorted((one.source_horse, one.beside or one.source_horse)))
        found.setdefault((one.day, *pair), []).append(one)
    return [tuple(group) for group in found.values()]


def made_and_read(reader: Reader, mornings: Sequence[tuple[Session, ...]], number: int) -> list[Came]:
    """Make the files of one of the mornings, keep them as originals, and read them."""
    taken = (reader.taken_bytes(data, name) for name, data in files_of(mornings[number]))
    return [session for came in taken for one in came for session in one.sessions]
