"""From a file's first byte to its last: where each message lies, and what defines it."""

from array import array
from collections import deque
from dataclasses import dataclass, field

import numpy as np

from upsides.recordings.formats.fit.definitions import (
    COMPRESSED,
    DEVELOPER,
    HEADER,
    LOCAL,
    Definition,
    definition_size,
    parse_definition,
)
from upsides.recordings.formats.fit.profile import NEEDED, TIMESTAMP
from upsides.recordings.formats.fit.recover import fits, next_sound, time_of

MOST_DEFINITIONS, MOST_BREAKS, MOST_TRIES = 500, 2000, 6000
"""More kinds of messages than any device defines; more breaks, and places where reading might go on, than are tried."""
CRC_SIZE = 2
ALIKE = 8
"""After so many messages of one kind, more of it are looked for at once."""
RECENT, DOUBTED = 8, 3
"""How many messages before a break are looked at, and how many of these may be wrong themselves."""


@dataclass(slots=True)
class Walk:
    """What a walk over the messages of one file found.

    Attributes:
        data: the bytes walked over.
        found: each definition with the places of its data messages; of messages that are of no use to us and have no
            time: none.
        breaks: how often a message came that nothing defines.
        lost: bytes that were passed over because of that.
        cut: bytes of a last message of which the rest is missing.
        tries: how many places were tried, to go on after the breaks.
    """

    data: bytes
    found: dict[bytes, tuple[Definition, "array[int]"]] = field(default_factory=dict)
    breaks: int = 0
    lost: int = 0
    cut: int = 0
    tries: int = 0


@dataclass(slots=True)
class Kinds:
    """What is defined just now: by the number of the kind, and by the byte that begins a message."""

    defined: list[Definition | None] = field(default_factory=lambda: [None] * 16)
    noted: list["array[int] | deque[int] | None"] = field(default_factory=lambda: [None] * 256)
    sizes: list[int] = field(default_factory=lambda: [0] * 256)


def walk(data: bytes, start: int, end: int) -> Walk:
    """Find the messages that lie in data[start:end].

    Where messages of several kinds take turns, each takes one turn of the loop below, so nothing but what finds the
    next message is in it. Where one follows another of its kind again and again, all of these are found at once.
    """
    told, kinds = Walk(data), Kinds()
    noted, sizes = kinds.noted, kinds.sizes
    place, resumed = start, start
    before, alike = -1, 0
    while place < end:
        kind = data[place]
        here = noted[kind]
        if here is not None:
            here.append(place)
            place += sizes[kind]
            alike = alike + 1 if kind == before else 0
            before = kind
            if alike == ALIKE:
                place, alike = _run(data, here, place, end, kind, sizes[kind]), 0
        elif size := define(told, kinds, place, end):
            place += size
        else:
            place = resumed = _resume(told, kinds, place, end, resumed)
    if place > end:
        told.cut = end - (place - sizes[kind])
        drop_beyond(told, end)
    return told


def _run(data: bytes, here: "array[int] | deque[int]", place: int, end: int, kind: int, size: int) -> int:
    """Note the whole messages of one kind that follow each other from a place; return where the last of them ends."""
    asked, first = ALIKE, bytes([kind])
    while True:
        asked = min(asked * 4, max(end - place, 0) // size)
        starts = data[place : place + asked * size : size]
        found = len(starts) - len(starts.lstrip(first))
        if isinstance(here, array):
            here.frombytes(np.arange(place, place + found * size, size, dtype=np.int64).tobytes())
        place += found * size
        if found < asked or not asked:
            return place


def define(told: Walk, kinds: Kinds, place: int, end: int) -> int:
    """Take in a definition and return its size; 0 where there is none."""
    kind = told.data[place]
    if kind & (HEADER | COMPRESSED) != HEADER:
        return 0
    size = definition_size(told.data, place)
    if place + size > end:
        told.cut = end - place
        return told.cut
    key = bytes([kind & DEVELOPER]) + told.data[place + 1 : place + size]
    if key not in told.found:
        definition = parse_definition(told.data[place : place + size])
        if definition is None or len(told.found) >= MOST_DEFINITIONS:
            return 0
        told.found[key] = definition, array("q")
    definition, places = told.found[key]
    local = kind & LOCAL
    kinds.defined[local] = definition
    wanted = definition.number in NEEDED or TIMESTAMP in definition.fields
    kept, none = places if wanted else deque[int](maxlen=0), deque[int](maxlen=0)
    kinds.noted[local], kinds.sizes[local] = kept if definition.size > 1 else none, definition.size
    if local < 4:
        first = COMPRESSED | local << 5
        kinds.noted[first : first + 32], kinds.sizes[first : first + 32] = [kept] * 32, [definition.size] * 32
    return size


def _resume(told: Walk, kinds: Kinds, fault: int, end: int, resumed: int) -> int:
    """Return where messages go on after a byte that begins none; the end where they do not."""
    if end - fault <= CRC_SIZE:
        return end
    told.breaks += 1
    doubted, last = _look_back(told, fault)
    again = None
    if told.breaks <= MOST_BREAKS:
        start, most = max(doubted, resumed) + 1, MOST_TRIES - told.tries
        again, tried = next_sound(told.data, start, fault, end, kinds.defined, last, most)
        told.tries += tried
    first = min(fault, drop_beyond(told, fault if again is None else again), drop_untimely(told, doubted, last))
    again = end if again is None else again
    told.lost += again - first
    return again


def _look_back(told: Walk, fault: int) -> tuple[int, int | None]:
    """Return the first of the messages before a fault that may be wrong themselves, and the last time before that."""
    recent = sorted(
        (place, time_of(told.data, definition, place))
        for definition, places in told.found.values()
        for place in places[-RECENT:]
    )[-RECENT:]
    trusted = [time for _, time in recent[:-DOUBTED] if time is not None]
    return (recent[-DOUBTED][0] if len(recent) >= DOUBTED else fault - 1), (trusted[-1] if trusted else None)


def drop_beyond(told: Walk, end: int) -> int:
    """Forget messages that reach beyond a place; return where the first of them began, or the place."""
    first = end
    for definition, places in told.found.values():
        while places and places[-1] + definition.size > end:
            first = min(first, places.pop())
    return first


def drop_untimely(told: Walk, doubted: int, last: int | None) -> int:
    """Forget messages from a place on whose time does not go on from the last; return where the first of them began."""
    first = len(told.data)
    for definition, places in told.found.values():
        while last is not None and places and places[-1] >= doubted:
            time = time_of(told.data, definition, places[-1])
            if time is None or fits(time, last):
                break
            first = min(first, places.pop())
    return first
