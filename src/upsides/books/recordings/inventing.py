"""The files of an invented yard's trackers, made and read: what a process does with a morning of one or two horses."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from upsides.books.recordings.reading import Reader
from upsides.books.recordings.session import Session as Came
from upsides.demo.tracked.filing import files_of
from upsides.demo.tracked.session import Session
from upsides.recordings.recording import Device, Message

Mornings = Mapping[str, tuple[Session, ...]]


def together(sessions: Sequence[Session]) -> Mornings:
    """Return sessions by whether they worked upsides, each group under the files of it; the first by code is first."""
    found: dict[tuple[Any, ...], list[Session]] = {}
    for one in sorted(sessions, key=lambda each: (each.day, each.source_horse)):
        pair = tuple(sorted((one.source_horse, one.beside or one.source_horse)))
        found.setdefault((one.day, *pair), []).append(one)
    return {" ".join(one.file for one in group): tuple(group) for group in found.values()}


def made_and_read(reader: Reader, mornings: Mornings, name: str) -> list[dict[str, Any]]:
    """Make the files of one of the mornings, keep them as originals, read them, and return what came as JSON has it."""
    taken = (reader.taken_bytes(data, file) for file, data in files_of(mornings[name]))
    return [asdict(session) for came in taken for one in came for session in one.sessions]


def as_came(told: Mapping[str, Any]) -> Came:
    """Return what came of a file, as `made_and_read` gives it."""
    messages = tuple(map(Message.of_json, told["messages"]))
    return Came(**{**told, "device": Device(**told["device"]), "messages": messages})
