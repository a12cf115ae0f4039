"""One file in a few numbers: what stands in it, and what was done by it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from upsides.errors import RecordingRefusedError
from upsides.recordings.elevation import Tile
from upsides.recordings.measured import Measured, Piece
from upsides.recordings.measuring import measured
from upsides.recordings.opening import Opened
from upsides.recordings.recording import Recording
from upsides.recordings.track import Track
from upsides.recordings.tracking import tracks_of


@dataclass(frozen=True, slots=True)
class Summary:
    """One file.

    Attributes:
        file: its name.
        format: what it was read as; None where nothing could be read.
        fixes: how many rows its recordings have.
        with_position: how many of them have a place.
        with_heart: how many have a heart rate.
        distance_m: how far was gone, without what lies in gaps; None without places that could be used.
        duration_s: from the first moment to the last; None where the clock says nothing.
        longest_gap_s: the longest time between two moments that follow each other; None as that.
        bouts: the pieces, each at one gait, in the order of time.
        heart: `kept`, `max` (None where that is not told) and `mean` of the heart rates; None without any.
        messages: what a person should know, in sentences.
    """

    file: str
    format: str | None = None
    fixes: int = 0
    with_position: int = 0
    with_heart: int = 0
    distance_m: float | None = None
    duration_s: float | None = None
    longest_gap_s: float | None = None
    bouts: tuple[Piece, ...] = ()
    heart: dict[str, Any] | None = None
    messages: tuple[str, ...] = field(default=())


def summary(opened: Opened, tile: Callable[[Recording], Tile | None] = lambda _recording: None) -> Summary:
    """Say what one file holds; recordings in it that follow one another are added up.

    Args:
        opened: what came of it.
        tile: gives the heights about a recording's places, where there are any.
    """
    if opened.error is not None:
        return Summary(opened.file, messages=(str(opened.error),))
    recordings, tracks, told, said = opened.recordings, list[Track](), list[Measured](), list[str]()
    for recording in recordings:
        try:
            found = tracks_of(recording, tile=tile(recording))
        except RecordingRefusedError as error:
            said += [*(one.text for one in recording.messages), str(error)]
            continue
        did = [measured(track) for track in found]
        tracks, told = [*tracks, *found], [*told, *did]
        said += [one.text for each in did for one in each.messages]
    duration, gap = _times(tracks)
    placed = any(track.plane is not None for track in tracks)
    return Summary(
        file=opened.file,
        format=recordings[0].format,
        fixes=sum(len(one) for one in recordings),
        with_position=sum(one.with_position for one in recordings),
        with_heart=sum(one.with_heart for one in recordings),
        distance_m=sum(_gone(track) for track in tracks) if placed else None,
        duration_s=duration,
        longest_gap_s=gap,
        bouts=tuple(sorted((bout for one in told for bout in one.bouts), key=lambda bout: bout.start_s)),
        heart=_heart(tracks, told),
        messages=tuple(dict.fromkeys(said)),
    )


def _gone(track: Track) -> float:
    known = track.along_m[np.isfinite(track.along_m)]
    return float(known[-1] - known[0]) if known.size else 0.0


def _times(tracks: Sequence[Track]) -> tuple[float | None, float | None]:
    """Return seconds from the first moment of all tracks to the last, and the longest between two."""
    if not tracks:
        return None, None
    moments = np.sort(np.concatenate([track.time_s for track in tracks]))
    return float(moments[-1] - moments[0]), float(np.diff(moments).max()) if moments.size > 1 else 0.0


def _heart(tracks: Sequence[Track], told: Sequence[Measured]) -> dict[str, Any] | None:
    hearts = [(one.heart, np.isfinite(track.heart_bpm).sum()) for track, one in zip(tracks, told, strict=True)]
    known = [(heart, int(count)) for heart, count in hearts if heart]
    if not known:
        return None
    counts = np.array([count for _, count in known])
    return {
        "kept": float(np.average([heart["kept"] for heart, _ in known], weights=counts)),
        "max": max(heart["max"] for heart, _ in known) if all("max" in heart for heart, _ in known) else None,
        "mean": float(np.average([heart["mean"] for heart, _ in known], weights=counts)),
    }
