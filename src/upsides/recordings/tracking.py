"""From a recording to a track: the one door to cleaning, smoothing and height.

    track_of(recording)                 one track
    tracks_of(recording)                the same, and two of them where two devices stand mixed in one file

A recording whose clock says nothing makes no track at all (`TooLittleLeftError`), for without time there is neither
speed nor a heart rate that belongs anywhere. Where only the positions are too few or too bad, there is a track whose
places and speeds are NaN, whose heart rates stand, and whose message "positions_refused" says so. Whoever looks for
strides looks in the recording, which stays as it is: the smoother takes them away.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.errors import TwoDevicesError
from upsides.recordings.elevation import Tile
from upsides.recordings.heart_cleaning import cleaned_heart
from upsides.recordings.height import heights_of
from upsides.recordings.interleaved import TWO_PLACES, apart
from upsides.recordings.plane import from_plane
from upsides.recordings.positions import places_of
from upsides.recordings.reach import another_sport, beyond_reach
from upsides.recordings.recording import Message, Recording
from upsides.recordings.stretches import stretches_of
from upsides.recordings.times import clock_of, joined
from upsides.recordings.track import Plane, Track
from upsides.recordings.travelled import Travelled, nowhere, travelled_of

Floats = NDArray[np.float64]

RAREST_S = 10.0
"""Where a device usually writes its place more rarely than this, neither fast work nor furlongs are told: simulated
furlongs are within their errors at up to 12 s, at 30 s they are 1 s off where the error says 0.3. Our own limit."""
FASTEST_MS = 100.0
"""The receiver's own speed is not believed above this. Our own limit."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What a yard may set.

    Attributes:
        gap_s: without a position for longer than this, a new stretch begins; longer where fixes are rarer.
        least_kept: with a smaller share of the positions left, no place and no speed is given. Our own limit.
        least_places: nor with fewer places than this. Our own limit.
    """

    gap_s: float = 10.0
    least_kept: float = 0.5
    least_places: int = 10


USUAL = Settings()


def tracks_of(recording: Recording, *, tile: Tile | None = None, settings: Settings = USUAL) -> tuple[Track, ...]:
    """Return one track for each device whose positions the recording holds: one, or two.

    Raises:
        TooLittleLeftError: the clock of one says nothing.
    """
    return tuple(_track(part, tile, settings) for part in apart(recording))


def track_of(recording: Recording, *, tile: Tile | None = None, settings: Settings = USUAL) -> Track:
    """Clean and smooth one device's recording.

    Args:
        recording: as read.
        tile: heights of the ground about it, if there are any.
        settings: what may be set.

    Raises:
        TooLittleLeftError: fewer than two fixes have a time, or the times run too fast for any device.
        TwoDevicesError: two devices' positions stand mixed in it.
    """
    parts = apart(recording)
    if len(parts) > 1:
        raise TwoDevicesError(recording.file)
    return _track(parts[0], tile, settings)


def _track(recording: Recording, tile: Tile | None, settings: Settings) -> Track:
    recording = joined(recording)
    clock = clock_of(recording)
    rows, time, said = clock.rows, clock.time_s, [*recording.messages, *clock.messages]
    said += another_sport(recording.sport)
    own = _believed(recording.speed_ms[rows])
    places = places_of(time, recording.latitude[rows], recording.longitude[rows], own)
    said += places.messages
    given = recording.with_position - _placed(recording, clock.doubles)
    measured = np.isfinite(places.east_m)
    stretches = stretches_of(time, measured, places.leaps | clock.broken, settings.gap_s)
    gone = nowhere(time.size)
    mixed = any(one.code == TWO_PLACES for one in recording.messages)
    if given and not mixed and np.count_nonzero(measured) >= settings.least_places:
        gone = travelled_of(time, stretches, places.east_m, places.north_m, own, recording.accuracy_m[rows])
    kept = gone.used / given if given else 0.0
    plane = places.plane
    if plane is None or gone.used < settings.least_places or kept < settings.least_kept:
        gone, plane = nowhere(time.size), None
        stretches = stretches_of(time, np.zeros(time.size, dtype=np.bool_), clock.broken, settings.gap_s)
        said += [] if mixed else _refused(given, kept, settings)
    said += [*stretches.messages, *_rare(time[measured]), *_of_the_way(time, gone, measured)]
    device = recording.height_m[rows]
    heights = heights_of(gone.along_m, stretches.number, device, _ground(tile, plane, gone))
    heart = cleaned_heart(time, recording.heart_bpm[rows], gone.speed_ms)
    return Track(
        plane=plane,
        time_s=time,
        east_m=gone.east_m,
        north_m=gone.north_m,
        position_sd_m=gone.position_sd_m,
        speed_ms=gone.speed_ms,
        speed_sd_ms=gone.speed_sd_ms,
        along_m=gone.along_m,
        height_m=heights.height_m,
        gradient=heights.gradient,
        heart_bpm=heart.bpm,
        stretch=stretches.number,
        kept=kept,
        heart_kept=heart.kept,
        height_from=heights.source,
        messages=(*said, *heights.messages, *heart.messages),
    )


def _believed(speed: Floats) -> Floats:
    """Return the receiver's own speed where it can be one."""
    return np.where((speed >= 0) & (speed <= FASTEST_MS), speed, np.nan)


def _placed(recording: Recording, rows: NDArray[np.int64]) -> int:
    """Return how many of the rows have a position."""
    return int(np.count_nonzero(np.isfinite(recording.latitude[rows]) & np.isfinite(recording.longitude[rows])))


def _refused(given: int, kept: float, settings: Settings) -> list[Message]:
    """Say why no place and no speed is given."""
    if not given:
        return [Message("no_positions")]
    least = {"least": round(100 * settings.least_kept), "places": settings.least_places}
    return [Message("positions_refused", {"count": given, "kept": round(100 * kept)} | least)]


def _rare(placed: Floats) -> list[Message]:
    """Say that places come too rarely to tell fast work and furlongs."""
    usual = float(np.median(np.diff(placed))) if placed.size > 1 else 0.0
    return [Message("fixes_rare", {"seconds": f"{usual:.3g}"})] if usual > RAREST_S else []


def _of_the_way(time: Floats, gone: Travelled, measured: NDArray[np.bool_]) -> list[Message]:
    """Say what the smoother refused, and speeds that are no horse's."""
    said = []
    refused = int(np.count_nonzero(measured)) - gone.used
    if gone.used and refused:
        said.append(Message("positions_off", {"count": refused}))
    return [*said, *beyond_reach(time, gone.speed_ms, gone.along_m)]


def _ground(tile: Tile | None, plane: Plane | None, gone: Travelled) -> Floats | None:
    """Return the tile's heights under the track."""
    if tile is None or plane is None:
        return None
    ground = tile.at(*from_plane(plane, gone.east_m, gone.north_m))
    return ground if np.isfinite(ground).any() else None
