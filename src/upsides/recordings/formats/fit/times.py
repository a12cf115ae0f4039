"""The time of messages: whole seconds, five bits of them in the byte that begins a message, and parts of a second."""

import numpy as np

from upsides.recordings.formats.fit.definitions import COMPRESSED
from upsides.recordings.formats.fit.messages import Floats, Messages
from upsides.recordings.formats.fit.profile import EPOCH_S, TIMESTAMP, Spec
from upsides.recordings.formats.fit.walking import Walk

WRAP = 32
WHEN = Spec(TIMESTAMP)


def seconds(walk: Walk, messages: Messages) -> Floats:
    """Return (n,) whole seconds since 1970-01-01 UTC of messages, NaN where the file does not say."""
    told = messages.column(WHEN)
    short = _compressed(walk, messages)
    if short.any():
        told = np.where(short & np.isnan(told), _unfolded(walk, messages), told)
    return told + EPOCH_S


def _compressed(walk: Walk, messages: Messages) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    first = np.frombuffer(walk.data, dtype=np.uint8)[messages.places]
    return np.asarray(first & COMPRESSED != 0)


def _unfolded(walk: Walk, messages: Messages) -> Floats:
    """Return times that go on from the last whole one of any message, by the last five bits of each time since."""
    from upsides.recordings.formats.fit.messages import messages_of

    numbers = {definition.number for definition, places in walk.found.values() if places}
    timed = [messages_of(walk, number) for number in sorted(numbers)]
    places = np.concatenate([one.places for one in timed])
    whole = np.concatenate([one.column(WHEN) for one in timed])
    short = np.concatenate([_compressed(walk, one) for one in timed]) & np.isnan(whole)
    order = np.argsort(places)[(np.isfinite(whole) | short)[np.argsort(places)]]
    places, whole, short = places[order], whole[order], short[order]
    low = np.where(short, np.frombuffer(walk.data, dtype=np.uint8)[places] % WRAP, np.nan_to_num(whole) % WRAP)
    steps = np.where(short, np.diff(low, prepend=low[:1]) % WRAP, 0.0)
    gone = np.cumsum(steps)
    anchor = np.maximum.accumulate(np.where(short, -1, np.arange(places.size)))
    time = np.where(anchor >= 0, whole[anchor] + gone - gone[anchor], np.nan)
    return np.asarray(time[np.minimum(np.searchsorted(places, messages.places), places.size - 1)])
