"""Bouts: the pieces of a morning, each at one gait."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.gaits import KINDS, USUAL, Kind, Settings, weights
from upsides.recordings.track import Track

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STEP_S = 1.0
"""Gaits are told apart second by second."""

LEAP = 0.1
"""Chance of passing over a gait, against going to the neighbouring one; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bout:
    """A piece of a track at one gait.

    Attributes:
        kind: stand, walk, trot, canter or fast.
        start_s: when it began, seconds since 1970-01-01 UTC.
        end_s: when it ended.
        sure: how probable the kind is, the mean over its seconds, 0 to 1.
    """

    kind: Kind
    start_s: float
    end_s: float
    sure: float

    @property
    def seconds(self) -> float:
        """How long it lasted."""
        return self.end_s - self.start_s


def bouts_of(track: Track, settings: Settings = USUAL) -> tuple[Bout, ...]:
    """Return the bouts of a track in order; a new stretch of the track begins a new bout.

    Speed alone tells the gaits (see `gaits`), each second by its error, and moments without a speed by nothing.
    """
    known = np.flatnonzero(np.isfinite(track.speed_ms))
    parts = np.split(known, np.flatnonzero(np.diff(track.stretch[known])) + 1)
    return tuple(bout for part in parts if part.size > 1 for bout in _of_stretch(track, part, settings))


def pieces_of(bouts: tuple[Bout, ...]) -> tuple[Bout, ...]:
    """Return the pieces of work: canter and fast work that follow each other without a slower gait between.

    A piece is fast when any of it is. It is what is laid on a gallop and clocked at its marks.
    """
    pieces: list[Bout] = []
    for bout in bouts:
        if bout.kind not in {"canter", "fast"}:
            continue
        last = pieces[-1] if pieces else None
        if last is None or bout.start_s - last.end_s > 0.5 * STEP_S:
            pieces.append(bout)
            continue
        kind: Kind = "fast" if "fast" in {last.kind, bout.kind} else "canter"
        sure = (last.sure * last.seconds + bout.sure * bout.seconds) / (last.seconds + bout.seconds)
        pieces[-1] = Bout(kind, last.start_s, bout.end_s, sure)
    return tuple(pieces)


def _of_stretch(track: Track, part: Ints, settings: Settings) -> list[Bout]:
    """Return the bouts of one unbroken stretch, `part` being its places in the track."""
    from upsides.recordings.bouts.segments import how_probable, most_probable

    time = track.time_s[part]
    count = max(1, round(float(time[-1] - time[0]) / STEP_S))
    middle = time[0] + STEP_S * (np.arange(count) + 0.5)
    speed = np.interp(middle, time, track.speed_ms[part])
    error = np.interp(middle, time, track.speed_sd_ms[part])
    apart = np.interp(middle, time, np.gradient(time))
    told = settings.evidence * np.minimum(1.0, STEP_S / np.maximum(apart, 1e-3))
    E = np.ascontiguousarray(weights(speed, error, settings) * told[:, None])
    least, ends, A = _durations(settings)
    path, sure = np.zeros(count, dtype=np.int64), np.ones(count)
    most_probable(E, least, ends, A, path)
    if track.rare:
        path = np.minimum(path, KINDS.index("canter"))
    how_probable(E, least, ends, A, path, sure)
    cuts = np.concatenate([[0], np.flatnonzero(np.diff(path)) + 1, [count]])
    moments = time[0] + STEP_S * cuts
    moments[-1] = time[-1]
    return [
        Bout(KINDS[path[a]], float(moments[i]), float(moments[i + 1]), float(sure[a:b].mean()))
        for i, (a, b) in enumerate(itertools.pairwise(cuts))
    ]


def _durations(settings: Settings) -> tuple[Ints, Floats, Floats]:
    """Return least steps and chance of ending of each gait, and the chances of what comes next."""
    least = np.array([each.least_s for each in settings.lasting], dtype=np.int64)
    ends = np.array([1.0 / (each.usual_s - each.least_s) for each in settings.lasting])
    place = np.arange(least.size)
    apart = np.abs(place[:, None] - place[None, :])
    A = np.where(apart > 0, LEAP ** (apart - 1.0), 0.0)
    return least, ends, A / A.sum(axis=1, keepdims=True)
