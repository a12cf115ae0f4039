"""What one recording says that a horse did: bouts, pieces of work, distance by speed, heart."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.bins import COUNT
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.bouts.furlongs import Section
from upsides.recordings.bouts.gaits import Kind
from upsides.recordings.bouts.measuring import Measures, measures
from upsides.recordings.bouts.strides import Striding, strides_of
from upsides.recordings.gallops.marks import sections
from upsides.recordings.gallops.matching import recognise
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.heart.line import READ_OFF, HeartLine, NoLine, heart_line, means_of
from upsides.recordings.heart.recovery import highest_held, recovery
from upsides.recordings.recording import Message, Recording
from upsides.recordings.track import Track
from upsides.recordings.work import Split
from upsides.trade.units import FURLONG_M


@dataclass(frozen=True, slots=True)
class OnGallop:
    """The gallop that a piece of work was on.

    Attributes:
        number: of the gallop in the books.
        forward: whether it went the way of its line.
        begin_m: where on the line the first clocked length begins, m; NaN where none was clocked.
        splits: the lengths between its marks that were passed, in the order of time.
        sure: how probable it is, 0 to 1.
    """

    number: int
    forward: bool
    begin_m: float
    splits: tuple[Split, ...]
    sure: float


@dataclass(frozen=True, slots=True)
class Piece:
    """A bout, or a piece of work.

    Attributes:
        kind: stand, walk, trot, canter or fast.
        start_s: when it began, seconds since 1970-01-01 UTC.
        seconds: how long it lasted.
        metres: how far it went.
        rise_m: metres that its end stands above its start; NaN where heights are not known.
        speed_ms: mean speed, m/s.
        speed_sd_ms: its standard deviation.
        top_ms: the highest mean speed over two seconds.
        furlongs: every whole furlong from its start; of canter and fast work only.
        best: the fastest 1, 2, 3 and 5 furlongs in it, by how many; of canter and fast work only.
        gallop: where it was, of pieces of work only; None for none of the yard's.
    """

    kind: Kind
    start_s: float
    seconds: float
    metres: float
    rise_m: float
    speed_ms: float
    speed_sd_ms: float
    top_ms: float
    furlongs: tuple[Split, ...] = ()
    best: Mapping[int, Split] = field(default_factory=dict)
    gallop: OnGallop | None = None


@dataclass(frozen=True, slots=True)
class Speeds:
    """What was gone in one step of speed, of `upsides.recordings.bouts.bins.STEP_MS`.

    Attributes:
        metres: how far.
        strides: how many; NaN where they cannot be told.
        counted: whether they were counted, rather than estimated from the published length of a stride.
    """

    metres: float
    strides: float
    counted: bool


@dataclass(frozen=True, slots=True)
class Measured:
    """What one recording says that a horse did.

    Attributes:
        bouts: each at one gait, in order.
        works: the pieces of work among them: canter and fast work without a slower gait between.
        speeds: by step of speed, only those in which it went at all.
        heart: what is known of the heart, by name: `kept` (share of the rates), `max`, `mean`, `held` (for ten seconds;
            beats a minute), `after` (the heart by seconds after the last piece of work), `speeds` (by heart rate the
            speed there and the ends of its interval, m/s); empty without a heart rate.
        kept: share of the positions that could be used, 0 to 1.
        messages: what a person should know.
    """

    bouts: tuple[Piece, ...] = ()
    works: tuple[Piece, ...] = ()
    speeds: Mapping[int, Speeds] = field(default_factory=dict)
    heart: Mapping[str, Any] = field(default_factory=dict)
    kept: float = 0.0
    messages: tuple[Message, ...] = ()

    @property
    def metres(self) -> float:
        """How far it went in all."""
        return sum(bout.metres for bout in self.bouts)

    @property
    def fast_m(self) -> float:
        """How far at fast work."""
        return sum(bout.metres for bout in self.bouts if bout.kind == "fast")


def measured(track: Track, recording: Recording | None = None, gallops: Mapping[int, Gallop] | None = None) -> Measured:
    """Measure what a horse did.

    Args:
        track: where and how fast it went.
        recording: what the track was made of, in which strides are looked for; without it they are estimated.
        gallops: the yard's, by their numbers in the books.
    """
    found = bouts_of(track)
    pieces = pieces_of(found)
    striding = _striding(recording, pieces)
    told = [measures(track, bout, striding.get(_of(bout, pieces))) for bout in found]
    return Measured(
        bouts=tuple(_piece(one) for one in told),
        works=works_of(track, pieces, gallops or {}),
        speeds=_speeds(told),
        heart=_heart(track, found, pieces),
        kept=track.kept,
        messages=track.messages,
    )


def works_of(track: Track, pieces: tuple[Bout, ...], gallops: Mapping[int, Gallop]) -> tuple[Piece, ...]:
    """Measure the pieces of work of a track, and lay them on the yard's gallops."""
    return tuple(_piece(measures(track, piece), _on_gallop(track, piece, gallops)) for piece in pieces)


def _of(bout: Bout, pieces: tuple[Bout, ...]) -> Bout:
    """Return the piece of work that a bout is part of, or the bout."""
    return next((piece for piece in pieces if piece.start_s <= bout.start_s and bout.end_s <= piece.end_s), bout)


def _striding(recording: Recording | None, pieces: tuple[Bout, ...]) -> dict[Bout, Striding]:
    return {} if recording is None else {one: strides_of(recording, one.start_s, one.end_s) for one in pieces}


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
        top_ms=told.top_ms,
        furlongs=_splits(told.furlongs) if works else (),
        best={one.furlongs: Split(FURLONG_M * one.furlongs, one.seconds, one.sd_s) for one in told.bests if works},
        gallop=gallop,
    )


def _splits(found: tuple[Section, ...]) -> tuple[Split, ...]:
    return tuple(Split(abs(one.end_m - one.begin_m), one.seconds, one.sd_s) for one in found)


def _on_gallop(track: Track, piece: Bout, gallops: Mapping[int, Gallop]) -> OnGallop | None:
    match = recognise(track, piece, tuple(gallops.values()))
    if match is None:
        return None
    number = next(number for number, gallop in gallops.items() if gallop is match.gallop)
    clocked = sections(match, along_of(track, piece))
    begin = clocked[0].begin_m if clocked else np.nan
    return OnGallop(number, match.forward, float(begin), _splits(clocked), match.sure)


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


def _heart(track: Track, bouts: tuple[Bout, ...], pieces: tuple[Bout, ...]) -> dict[str, Any]:
    """Return what is known of the heart, by name; of recovery and the line only what can be said."""
    if not np.isfinite(track.heart_bpm).any():
        return {}
    told: dict[str, Any] = {
        "kept": track.heart_kept,
        "max": float(np.nanmax(track.heart_bpm)),
        "mean": float(np.nanmean(track.heart_bpm)),
    }
    held = highest_held(track)
    if np.isfinite(held):
        told["held"] = held
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
