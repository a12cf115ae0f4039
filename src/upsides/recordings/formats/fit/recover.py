"""Finding the way again after bytes that nothing explains: data before their definition, bytes lost or added.

A place counts as a message again only where the messages from there on agree with what went before: known kinds, times
that go on within two days, definitions that make sense. Two such witnesses are asked for, so chance does not produce
one.
"""

from collections.abc import Iterator, Sequence
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.fit.definitions import (
    BASE_BYTES,
    COMPRESSED,
    HEADER,
    LOCAL,
    Definition,
    definition_size,
    parse_definition,
)
from upsides.recordings.formats.fit.profile import CLOCK_SET, TIMESTAMP

BACK_S, AHEAD_S = 3_600, 2 * 86_400
"""How far the time of a message may lie from that of the one before, for the two to belong together."""
NO_TIME = 0xFFFF_FFFF
LONGEST_CHAIN, WITNESSES = 8, 2
FIRST_WINDOW, LARGEST_WINDOW = 1 << 12, 1 << 18
Kinds = Sequence[Definition | None]


def time_of(data: bytes, definition: Definition, place: int) -> int | None:
    """Return the time in a data message, as its raw number; None where it has none."""
    field = definition.fields.get(TIMESTAMP)
    if field is None or field.size != 4:
        return None
    at = place + field.start
    time = int.from_bytes(data[at : at + 4], "big" if definition.order == ">" else "little")
    return None if time == NO_TIME else time


def next_sound(
    data: bytes, start: int, fault: int, end: int, kinds: Kinds, last: int | None, most: int
) -> tuple[int | None, int]:
    """Return the first place in data[start:end] from which messages go on soundly, beyond the fault; None without one.

    Args:
        data: the bytes.
        start: where to look from; before the fault, where bytes are missing from a message.
        fault: where the walk came to a byte that no message begins with.
        end: where the messages end.
        kinds: (16,) what is defined.
        last: the time of the last message before `start`.
        most: how many places are tried at most.

    Returns:
        The place, and how many were tried.
    """
    tried = 0
    for place in islice(_candidates(data, start, end, kinds, last), most):
        tried += 1
        if sound(data, place, fault, end, kinds, last):
            return place, tried
    return None, tried


def _candidates(data: bytes, start: int, end: int, kinds: Kinds, last: int | None) -> Iterator[int]:
    """Yield the places where a definition or a message with a fitting time might begin."""
    window = FIRST_WINDOW
    while start < end:
        stop = min(start + window, end)
        seen = np.frombuffer(data, dtype=np.uint8, count=end - start, offset=start)
        first = seen[: stop - start]
        hits = [_definitions(seen, first)]
        for local, definition in enumerate(kinds):
            if definition is not None and TIMESTAMP in definition.fields:
                hits.append(_timed(seen, np.flatnonzero(first == local), definition, last))
        yield from (int(hit) + start for hit in np.unique(np.concatenate(hits)))
        start, window = stop, min(window * 4, LARGEST_WINDOW)


def _definitions(seen: NDArray[np.uint8], first: NDArray[np.uint8]) -> NDArray[np.int64]:
    hits = np.flatnonzero(first & (HEADER | COMPRESSED) == HEADER)
    hits = hits[hits + 6 < seen.size]
    return np.asarray(hits[(seen[hits + 1] == 0) & (seen[hits + 2] <= 1)])


def _timed(
    seen: NDArray[np.uint8], hits: NDArray[np.int64], definition: Definition, last: int | None
) -> NDArray[np.int64]:
    hits = hits[hits + definition.size <= seen.size]
    at = hits + definition.fields[TIMESTAMP].start
    if definition.fields[TIMESTAMP].size != 4:
        return hits[:0]
    order = (3, 2, 1, 0) if definition.order == ">" else (0, 1, 2, 3)
    time = np.zeros(hits.size, dtype=np.int64)
    for power, byte in enumerate(order):
        time |= seen[at + byte].astype(np.int64) << 8 * power
    lowest, highest = _span(last)
    return np.asarray(hits[(time >= lowest) & (time <= highest)])


def fits(time: int, last: int | None) -> bool:
    """Whether a time goes on from the last one; where there was none, whether it is one of a clock that was set."""
    lowest, highest = _span(last)
    return lowest <= time <= highest


def _span(last: int | None) -> tuple[int, int]:
    return (CLOCK_SET, NO_TIME - 1) if last is None else (last - BACK_S, last + AHEAD_S)


def sound(data: bytes, place: int, fault: int, end: int, kinds: Kinds, last: int | None) -> bool:
    """Whether messages that agree with the last time lie from a place on, beyond the fault."""
    known = list(kinds)
    seen = 0
    for _ in range(LONGEST_CHAIN):
        if place >= end:
            return place == end and seen > 0
        kind = data[place]
        if kind & (HEADER | COMPRESSED) == HEADER:
            size = definition_size(data, place)
            definition = parse_definition(data[place : place + size]) if place + size <= end else None
            if definition is None or not sensible(data[place : place + size], definition):
                return False
            known[kind & LOCAL] = definition
            seen += 1
        else:
            definition = known[kind >> 5 & 3 if kind & COMPRESSED else kind & LOCAL]
            if definition is None or place + definition.size > end:
                return False
            size = definition.size
            time = time_of(data, definition, place)
            if time is not None:
                if not fits(time, last):
                    return False
                last = time
                seen += 1
        place += size
        if seen >= WITNESSES and place > fault:
            return True
    return False


def sensible(message: bytes, definition: Definition) -> bool:
    """Whether a definition has fields, each once, of types that exist."""
    count = message[5]
    types = {message[at + 2] for at in range(6, 6 + 3 * count, 3)}
    return count > 0 and len(definition.fields) == count and types <= BASE_BYTES
