"""Measuring what a horse did by one recording: its bouts, its work, its speeds and its heart."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import nan
from typing import Any

import numpy as np

from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.bins import COUNT
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.bouts.evenness import Evenness, evenness
from upsides.recordings.bouts.furlongs import Section
from upsides.recordings.bouts.measuring import Measures, measures
from upsides.recordings.bouts.strides import Striding, strides_of
from upsides.recordings.bouts.worked import worked
from upsides.recordings.cut_works import cut_works
from upsides.recordings.gallops.marks import sections
from upsides.recordings.gallops.matching import recognise
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.heart.highest import Effort, Highest, highest
from upsides.recordings.heart.line import READ_OFF, HeartLine, NoLine, heart_line, means_of
from upsides.recordings.heart.recovery import recovery
from upsides.recordings.measured import Measured, OnGallop, Piece, Speeds
from upsides.recordings.reach import ODD
from upsides.recordings.recording import Recording
from upsides.recordings.track import Track
from upsides.recordings.work import Split
from upsides.trade.units import FURLONG_M

SHORTEST_S = 10.0
"""Of a shorter bout no highest speed is told: what it held is hardly less than all of it, and below its mean. Our own
limit."""


def measured(track: Track, recording: Recording | None = None, gallops: Mapping[int, Gallop] | None = None) -> Measured:
    """Measure what a horse did.

    Args:
        track: where and how fast it went.
        recording: what the track was made of, in which strides are looked for; without it they are estimated.
        gallops: the yard's, by their numbers in the books.
    """
    found = bouts_of(track)
    pieces = worked(track, found)
    striding = _striding(recording, pieces)
    told = [measures(track, bout, striding.get(_of(bout, pieces))) for bout in found]
    top = highest(track, [Effort(one.kind, one.start_s, one.end_s) for one in found if one.kind in {"canter", "fast"}])
    return Measured(
        bouts=tuple(_piece(one) for one in told),
        works=works_of(track, found, gallops or {}),
        speeds=_speeds([] if track.rare or any(one.code in ODD for one in track.messages) else told),
        heart=_heart(track, found, pieces, top),
        kept=track.kept,
        even=_even(recording, found, pieces),
        air_c=_air(recording, pieces),
        messages=(*track.messages, *cut_works(track, pieces_of(found)), *top.said),
    )


def works_of(track: Track, bouts: tuple[Bout, ...], gallops: Mapping[int, Gallop]) -> tuple[Piece, ...]:
    """Measure the pieces of work among the bouts of a track, and lay them on the yard's gallops."""
    works = []
    for piece in worked(track, bouts):
        fast = [bout for bout in bouts if bout.kind == "fast" and _of(bout, (piece,)) is piece]
        told = _piece(measures(track, piece), _on_gallop(track, piece, fast, gallops))
        works.append(replace(told, fast_m=sum(along_of(track, bout).metres for bout in fast)))
    return tuple(works)


def _of(bout: Bout, pieces: tuple[Bout, ...]) -> Bout:
    """Return the piece of work that a bout is part of, or the bout."""
    return next((piece for piece in pieces if piece.start_s <= bout.start_s and bout.end_s <= piece.end_s), bout)


def _striding(recording: Recording | None, pieces: tuple[Bout, ...]) -> dict[Bout, Striding]:
    return {} if recording is None else {one: strides_of(recording, one.start_s, one.end_s) for one in pieces}


def _even(recording: Recording | None, found: tuple[Bout, ...], pieces: tuple[Bout, ...]) -> Evenness | None:
    if recording is None:
        return None
    trots = [(one.start_s, one.end_s) for one in found if one.kind == "trot"]
    return evenness(recording, trots, [(one.start_s, one.end_s) for one in pieces])


def _air(recording: Recording | None, pieces: tuple[Bout, ...]) -> float:
    """Return the mean of the device's own thermometer while it was at work, or all along where it never was."""
    if recording is None or not np.isfinite(recording.air_c).any():
        return nan
    at = (recording.time_s >= pieces[0].start_s) & (recording.time_s <= pieces[-1].end_s) if pieces else np.True_
    there = recording.air_c[at & np.isfinite(recording.air_c)]
    return float(there.mean()) if there.size else nan


def _piece(told: Measures, gallop: OnGallop | None = None) -> Piece:
    works = told.bout.kind in {"canter", "fast"}
    return Piece(
        kind=told.bout.kind,
        start_s=told.bout.start_s,
        seconds=told.bout.seconds,
        metres=told.metres,
        rise_m=told.rise_m,
        speed_ms=told.mean_ms,
        speed_sd_ms=told.mean_sd_ms,
        top_ms=told.top_ms if told.bout.seconds >= SHORTEST_S else nan,
        furlongs=_splits(told.furlongs) if works else (),
        best={one.furlongs: Split(FURLONG_M * one.furlongs, one.seconds, one.sd_s) for one in told.bests if works},
        gallop=gallop,
    )


def _splits(found: tuple[Section, ...]) -> tuple[Split, ...]:
    return tuple(Split(abs(one.end_m - one.begin_m), one.seconds, one.sd_s) for one in found)


def _on_gallop(track: Track, piece: Bout, fast: Sequence[Bout], gallops: Mapping[int, Gallop]) -> OnGallop | None:
    match = recognise(track, piece, tuple(gallops.values()))
    if match is None:
        return None
    number = next(number for number, gallop in gallops.items() if gallop is match.gallop)
    clocked = () if track.rare else sections(match, along_of(track, piece))
    begin = clocked[0].begin_m if clocked else np.nan
    metres, fast_m = match.gone(piece.start_s, piece.end_s), sum(match.gone(bout.start_s, bout.end_s) for bout in fast)
    return OnGallop(number, match.forward, float(begin), _splits(clocked), match.sure, metres, fast_m)


def _speeds(told: list[Measures]) -> dict[int, Speeds]:
    """Add up the bouts' distance and strides by speed."""
    bins = [one.bins for one in told]
    if not bins:
        return {}
    metres = np.sum([one.metres for one in bins], axis=0)
    strides = np.sum([np.where(one.metres > 0, one.strides, 0.0) for one in bins], axis=0)
    by_count = np.sum([one.metres * one.counted for one in bins], axis=0)
    return {
        step: Speeds(float(metres[step]), float(strides[step]), bool(by_count[step] > 0.5 * metres[step]))
        for step in range(COUNT)
        if metres[step] > 0
    }


def _heart(track: Track, bouts: tuple[Bout, ...], pieces: tuple[Bout, ...], top: Highest) -> dict[str, Any]:
    """Return what is known of the heart, by name; of its highest, recovery and the line only what can be said."""
    if not np.isfinite(track.heart_bpm).any():
        return {}
    told: dict[str, Any] = {"kept": track.heart_kept, "mean": float(np.nanmean(track.heart_bpm))}
    told |= {name: bpm for name, bpm in (("max", top.bpm), ("held", top.held)) if np.isfinite(bpm)}
    if pieces:
        after = {
            f"{one.after_s:.0f}": round(one.bpm, 1) for one in recovery(track, pieces[-1].end_s) if not one.why_not
        }
        told |= {"after": after} if after else {}
    quick = [(bout.start_s, bout.end_s) for bout in bouts if bout.kind in {"trot", "canter", "fast"}]
    line = heart_line(means_of(track, quick), track.heart_kept) if quick else NoLine("nothing but walk")
    if isinstance(line, HeartLine):
        read = {bpm: line.at(bpm) for bpm in READ_OFF}
        told["speeds"] = {
            f"{bpm:.0f}": [round(one.speed_ms, 3), round(one.low_ms, 3), round(one.high_ms, 3)]
            for bpm, one in read.items()
            if not one.why_not
        }
    return told
