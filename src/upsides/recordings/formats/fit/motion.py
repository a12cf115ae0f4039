"""Acceleration: calibrated by the device, or as counts that a calibration in the file turns into it."""

import numpy as np

from upsides.recordings.formats.fit import profile
from upsides.recordings.formats.fit.messages import Floats, Messages, messages_of
from upsides.recordings.formats.fit.times import seconds
from upsides.recordings.formats.fit.walking import Walk
from upsides.recordings.recording import Motion

MILLISECOND, SINCE_MS = profile.Spec(0, 1000), 1
COUNTS, CALIBRATED, PACKED = (2, 3, 4), (5, 6, 7), (8, 9, 10)
KIND, FACTOR, DIVISOR, SHIFT, OFFSETS, TURN = 0, 1, 2, 3, 4, 5
ACCELERATION = 0
WHOLE_TURN = 65535.0
"""What 1 is in the matrix that turns the sensor's axes into the device's."""


def motion_of(walk: Walk) -> Motion | None:
    """Return the acceleration that a file holds, None without any."""
    messages = messages_of(walk, profile.ACCELEROMETER)
    if not len(messages):
        return None
    start = seconds(walk, messages) + np.nan_to_num(messages.column(MILLISECOND))
    calibrations = _calibrations(messages_of(walk, profile.CALIBRATION))
    found = []
    for axes, unit in ((CALIBRATED, 1.0), (PACKED, 1000.0), (COUNTS, None)):
        for part, (since, *raw) in messages.arrays(SINCE_MS, *axes):
            count = min(since.shape[1], *(one.shape[1] for one in raw))
            time = (start[part.index, None] + since[:, :count] / 1000).ravel()
            g = np.stack([one[:, :count].ravel() for one in raw], axis=1)
            if unit is None:
                g = _calibrated(g, np.repeat(messages.places[part.index], count), calibrations)
            told = np.isfinite(g).all(axis=1)
            found.append((np.repeat(part.index, count)[told], time[told], g[told] / (unit or 1.0)))
    if not found or not sum(time.size for _, time, _ in found):
        return None
    message, time, g = (np.concatenate(column) for column in zip(*found, strict=True))
    order = np.argsort(message, kind="stable")
    return Motion(np.asarray(time[order]), np.asarray(g[order]))


Calibrations = tuple[np.ndarray, Floats, Floats, Floats]


def _calibrations(messages: Messages) -> Calibrations:
    """Return (k,) where calibrations stand, (k,) factors, (k, 3) what is taken off, (k, 3, 3) turns of the axes."""
    kind, factor, divisor, shift = (messages.column(profile.Spec(number)) for number in (KIND, FACTOR, DIVISOR, SHIFT))
    off = np.zeros((len(messages), 3))
    turn = np.broadcast_to(np.eye(3), (len(messages), 3, 3)).copy()
    for part, (raw,) in messages.arrays(OFFSETS):
        if raw.shape[1] == 3:
            off[part.index] = np.nan_to_num(raw)
    for part, (raw,) in messages.arrays(TURN):
        if raw.shape[1] == 9:
            turn[part.index] = raw.reshape(-1, 3, 3) / WHOLE_TURN
    of_this = (kind == ACCELERATION) & (divisor > 0)
    scale = factor[of_this] / divisor[of_this]
    return messages.places[of_this], scale, off[of_this] + np.nan_to_num(shift)[of_this, None], turn[of_this]


def _calibrated(counts: Floats, places: np.ndarray, calibrations: Calibrations) -> Floats:
    """Return (k, 3) acceleration in g of counts, by the last calibration before each; NaN where there is none."""
    where, scale, off, turn = calibrations
    last = np.searchsorted(where, places) - 1
    told = np.full(counts.shape, np.nan)
    known = last >= 0
    last = last[known]
    told[known] = np.einsum("kij,kj->ki", turn[last], (counts[known] - off[last])) * scale[last, None]
    return told
