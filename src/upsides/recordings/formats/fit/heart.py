"""Beats that a chest strap kept by itself and handed over later, in messages of their own."""

import numpy as np

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.columns import Columns
from upsides.recordings.formats.fit.messages import Floats, Messages
from upsides.recordings.formats.fit.times import seconds
from upsides.recordings.formats.fit.walking import Walk

FRACTION, RATE, EVENT, EVENT_12 = profile.Spec(0, 32768), 6, 9, 10
TICKS = 1024
"""Events are counted in 1/1024 s of the strap's own clock."""
HELD_S = 5.0
"""A rate that is older says nothing of a fix."""


def with_beats(walk: Walk, columns: Columns, beats: Messages) -> Columns:
    """Fill heart rates that records lack with the last one that a strap wrote in the five seconds before."""
    if not len(beats) or np.isfinite(columns["heart_bpm"]).all():
        return columns
    time, rate = _beats(walk, beats)
    known = np.isfinite(time) & np.isfinite(rate) & (rate > 0)
    order = np.argsort(time[known], kind="stable")
    time, rate = time[known][order], rate[known][order]
    if not time.size:
        return columns
    last = np.searchsorted(time, columns["time_s"], side="right") - 1
    fits = (last >= 0) & (columns["time_s"] - time[np.maximum(last, 0)] <= HELD_S) & np.isnan(columns["heart_bpm"])
    return columns | {"heart_bpm": np.where(fits, rate[np.maximum(last, 0)], columns["heart_bpm"])}


def _beats(walk: Walk, beats: Messages) -> tuple[Floats, Floats]:
    """Return time, s since 1970, and rate of every event, in the order of the file.

    A message with a time and one event ties the strap's clock to the world's. Other events follow with 12 bits each of
    that clock, so that each is the first after the one before with these last 12 bits.
    """
    message, slot, ticks, short, rate = _events(beats)
    order = np.lexsort((slot, message))
    message, ticks, short, rate = message[order], ticks[order], short[order], rate[order]
    low = ticks % 4096
    gone = np.cumsum(np.where(short, np.diff(low, prepend=low[:1]) % 4096, 0))
    whole = np.maximum.accumulate(np.where(short, -1, np.arange(message.size)))
    event = np.where(whole >= 0, ticks[whole] + gone - gone[whole], np.nan) / TICKS if message.size else ticks
    anchor = (seconds(walk, beats) + np.nan_to_num(beats.column(FRACTION)))[message]
    tied = np.maximum.accumulate(np.where(np.isfinite(anchor) & ~short, np.arange(message.size), -1))
    since = (event - event[tied]) % (2**32 / TICKS) if message.size else event
    return np.where(tied >= 0, anchor[tied] + since, np.nan) if message.size else event, rate


Events = tuple[np.ndarray, np.ndarray, Floats, np.ndarray, Floats]


def _events(beats: Messages) -> Events:
    """Return of every event its message, its place in it, its ticks, whether only 12 bits of these, and its rate."""
    found: list[Events] = []
    for part, (raw, rates) in beats.arrays(EVENT, RATE):
        found.append(_table(part.index, raw, rates, short=False))
    for part, (raw, rates) in beats.arrays(EVENT_12, RATE):
        packed = np.nan_to_num(raw).astype(np.int64)
        triples = packed[:, : packed.shape[1] // 3 * 3].reshape(len(packed), -1, 3)
        one = triples[..., 0] | (triples[..., 1] & 0x0F) << 8
        other = triples[..., 1] >> 4 | triples[..., 2] << 4
        found.append(_table(part.index, np.stack([one, other], -1).reshape(len(packed), -1), rates, short=True))
    none = np.empty(0)
    if not found:
        return none.astype(np.int64), none, none, none.astype(bool), none
    message, slot, ticks, short, rate = (np.concatenate(column) for column in zip(*found, strict=True))
    return message, slot, ticks, short, rate


def _table(index: np.ndarray, ticks: np.ndarray, rates: Floats, *, short: bool) -> Events:
    count = min(ticks.shape[1], rates.shape[1])
    slot = np.broadcast_to(np.arange(count), (index.size, count)).ravel()
    return (
        np.repeat(index, count),
        slot,
        ticks[:, :count].astype(np.float64).ravel(),
        np.full(slot.size, short),
        rates[:, :count].ravel(),
    )
