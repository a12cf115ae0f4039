"""A walk over a damaged file that holds each message against the time of those before it.

Bytes that are gone or overwritten need not lead to a byte that begins no message: what follows may be read as messages
of known kinds with nonsense in them, for long. So where the check sum is wrong and the walk came upon breaks or upon
times that do not go on, it is walked again, and a time that does not go on is believed only where the next two
messages agree with it.
"""

from itertools import pairwise

from upsides.recordings.formats.fit.definitions import (
    COMPRESSED,
    HEADER,
    LOCAL,
    Definition,
    definition_size,
    parse_definition,
)
from upsides.recordings.formats.fit.profile import CLOCK_SET, TIMESTAMP
from upsides.recordings.formats.fit.recover import fits, next_sound, sensible, sound, time_of
from upsides.recordings.formats.fit.walking import (
    CRC_SIZE,
    MOST_BREAKS,
    MOST_TRIES,
    Kinds,
    Walk,
    define,
    drop_beyond,
    drop_untimely,
)

MOST_BACK = 3
"""So many times that went before are gone back to, where nothing goes on from the last one."""
Trusted = list[tuple[int | None, int]]
"""The last time believed, and where its message begins; before it those that it did not go on from."""


def doubtful(walked: Walk) -> bool:
    """Whether a walk came upon bytes that nothing explains, or upon times that do not go on from each other."""
    if walked.breaks:
        return True
    told = sorted(
        (place, time)
        for definition, places in walked.found.values()
        for place in places
        if (time := time_of(walked.data, definition, place)) is not None
    )
    return any(not fits(after[1], before[1]) for before, after in pairwise(told))


def walk_damaged(data: bytes, start: int, end: int) -> Walk:
    """Find the messages that lie in data[start:end], each held against the time of those before it."""
    told, kinds = Walk(data), Kinds()
    trusted: Trusted = [(None, start - 1)]
    place, resumed = start, start - 1
    while place < end:
        kind = data[place]
        size = kinds.sizes[kind] if kinds.noted[kind] is not None else 0
        definition = kinds.defined[kind >> 5 & 3 if kind & COMPRESSED else kind & LOCAL] if size else None
        if definition is None:
            size = define(told, kinds, place, end) if _defines(data, place, end) else 0
            good = size > 0
        else:
            good = place + size <= end and _good(told, kinds, definition, place, end, trusted)
        if good:
            place += size
        else:
            place = resumed = _resume(told, kinds, place, end, trusted, resumed)
    return told


def _defines(data: bytes, place: int, end: int) -> bool:
    """Whether a definition that makes sense lies at a place."""
    if data[place] & (HEADER | COMPRESSED) != HEADER:
        return False
    size = definition_size(data, place)
    definition = parse_definition(data[place : place + size]) if place + size <= end else None
    return definition is not None and sensible(data[place : place + size], definition)


def _good(told: Walk, kinds: Kinds, definition: Definition, place: int, end: int, trusted: Trusted) -> bool:
    """Note the message at a place, if it goes on from those before or those after it agree; whether one lies there."""
    data, last = told.data, trusted[-1][0]
    time = time_of(data, definition, place)
    after = place + definition.size
    noted = True
    if time is not None and (last is None or fits(time, last)):
        trusted[-1] = (time, place)
    elif last is not None and TIMESTAMP in definition.fields:
        if sound(data, after, place, end, kinds.defined, last):
            noted = time is None
            told.lost += 0 if noted else definition.size
        elif (
            time is not None
            and (time >= CLOCK_SET or last < CLOCK_SET)
            and sound(data, after, place, end, kinds.defined, time)
        ):
            trusted.append((time, place))
        else:
            return False
    here = kinds.noted[data[place]]
    if noted and here is not None:
        here.append(place)
    return True


def _resume(told: Walk, kinds: Kinds, fault: int, end: int, trusted: Trusted, resumed: int) -> int:
    """Return where messages go on that agree with the last time believed, or with one before it; the end if nowhere."""
    if end - fault <= CRC_SIZE:
        return end
    again = None
    told.breaks += 1
    tries = MOST_BACK + 1 if told.breaks <= MOST_BREAKS else 0
    while again is None and tries > 0:
        last, since = trusted[-1]
        start = max(since, resumed) + 1
        again, tried = next_sound(told.data, start, since, end, kinds.defined, last, MOST_TRIES - told.tries)
        told.tries += tried
        tries -= 1
        if again is None and len(trusted) > 1:
            trusted.pop()
        elif again is None:
            break
    last, since = trusted[-1]
    first = min(fault, drop_beyond(told, fault if again is None else again), drop_untimely(told, since, last))
    again = end if again is None else again
    told.lost += max(again - first, 0)
    return again
