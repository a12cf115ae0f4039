"""The pictures of a recording: its way on the gallops, and its speed, heart and height on one axis."""

import json
from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from math import isfinite
from typing import Any, Final, Literal

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from numpy.typing import NDArray

from upsides.charts.ground import WIDTHS, Frame, Lane, MapWords, Way, frame_of, ground_map
from upsides.charts.picture import picture
from upsides.charts.ranges import WIDE
from upsides.charts.recorded_curve import HEIGHTS, Panels, recorded_spec, sized
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.measured import Measured, Piece
from upsides.recordings.plane import from_plane, to_plane
from upsides.recordings.track import Plane, Track
from upsides.web.recordings.measures import a_furlong, at_time, decimal, far

Along = Literal["time", "distance"]
Floats = NDArray[np.float64]

WORK_S, REST_S = 1.0, 6.0
"""One row of the chart so often during work, and otherwise."""
MOST: Final = 1500
"""A chart has no more rows than this; of a longer recording they lie further apart."""
NEAR_M: Final = 3000.0
"""A gallop further from the way than this is not on the map."""
STEP_M: Final = 2.0


def rows_shown(track: Track, works: Sequence[Piece]) -> NDArray[np.int64]:
    """Return which moments of a track a chart shows: every second of work, less often between."""
    time = track.time_s - track.time_s[0]
    working = np.zeros(time.size, dtype=np.bool_)
    for work in works:
        begin = work.start_s - track.time_s[0]
        working |= (time >= begin - 5.0) & (time <= begin + work.seconds + 5.0)
    every = np.where(working, WORK_S, REST_S)
    whole = float(np.sum(np.diff(time, prepend=time[:1]) / every))
    every *= max(1.0, whole / MOST)
    count = np.floor(np.cumsum(np.diff(time, prepend=time[:1]) / every))
    turn = np.r_[True, (np.diff(count) > 0) | (np.diff(track.stretch) != 0)]
    turn[-1] = True
    return np.flatnonzero(turn)


def chart_spec(track: Track, measured: Measured, along: Along) -> dict[str, Any] | None:
    """Return the specification of a recording's chart, None where neither speed nor heart is known."""
    kept = rows_shown(track, measured.works)
    x = _axis_of(track, along)
    shown = {
        "speed": track.speed_ms[kept],
        "heart": track.heart_bpm[kept],
        "height": track.height_m[kept],
        "gradient": 100 * track.gradient[kept],
    }
    titles = tuple((name, _titles()[name]) for name in HEIGHTS if np.isfinite(shown[name]).any())
    if not titles or not np.isfinite(x[kept]).any():
        return None
    axis = _("metres gone") if along == "distance" else _("minutes since it began")
    rows = _rows(track, kept, x, {name: shown[name] for name, _title in titles})
    works = [_shaded(track, x, work) for work in measured.works]
    ends = (float(np.nanmin(x)), float(np.nanmax(x)))
    return recorded_spec(Panels(titles, axis), rows, works, ends)


def charts(spec: dict[str, Any], title: str, words: str, name: str) -> dict[str, SafeString]:
    """Return a recording's chart drawn for wide and for narrow screens."""
    written = json.dumps(spec)
    return {width: _drawn(written, px, title, words, f"{name}-{width}") for width, px in WIDTHS.items()}


@lru_cache(maxsize=32)
def _drawn(spec: str, px: int, title: str, words: str, name: str) -> SafeString:
    """Draw a specification written as JSON; drawing takes as long as all the rest of a page."""
    svg = picture(sized(json.loads(spec), px), (0, 0), title, words, name)
    return mark_safe(svg)  # noqa: S308 (escaped by the XML writer)


def _titles() -> dict[str, str]:
    return {
        "speed": _("Speed, m/s"),
        "heart": _("Heart, beats a minute"),
        "height": _("Height, m above the sea"),
        "gradient": _("Gradient, in 100"),
    }


def _axis_of(track: Track, along: Along) -> Floats:
    if along == "distance" and np.isfinite(track.along_m).any():
        known = np.isfinite(track.along_m)
        return np.asarray(np.interp(track.time_s, track.time_s[known], track.along_m[known]))
    return np.asarray((track.time_s - track.time_s[0]) / 60.0)


def _rows(track: Track, kept: NDArray[np.int64], x: Floats, shown: Mapping[str, Floats]) -> list[dict[str, Any]]:
    spread = WIDE * track.speed_sd_ms[kept]
    columns: dict[str, list[Any]] = {
        "x": np.round(x[kept], 3).tolist(),
        "piece": track.stretch[kept].tolist(),
        **{name: _known(values, 2 if name in {"speed", "gradient"} else 1) for name, values in shown.items()},
    }
    if "speed" in shown:
        columns["low"] = _known(np.maximum(shown["speed"] - spread, 0.0), 2)
        columns["high"] = _known(shown["speed"] + spread, 2)
    columns["said"] = [_said(track, int(row)) for row in kept]
    return [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]


def _known(values: Floats, places: int) -> list[float | None]:
    return [value if isfinite(value) else None for value in np.round(values, places).tolist()]


def _said(track: Track, row: int) -> str:
    """Return a moment in words, for the line that follows the cursor."""
    said = [at_time(float(track.time_s[row]))]
    speed, heart = float(track.speed_ms[row]), float(track.heart_bpm[row])
    if np.isfinite(track.along_m[row]):
        said.append(far(float(track.along_m[row])))
    if np.isfinite(speed):
        said.append(_("%(speed)s\u00a0m/s") % {"speed": decimal(speed)})
        if speed > 5:
            said.append(_("%(time)s a furlong") % {"time": a_furlong(speed)})
    if np.isfinite(heart):
        said.append(_("heart %(beats)s") % {"beats": round(heart)})
    if np.isfinite(track.gradient[row]):
        said.append(_("gradient %(share)s in 100") % {"share": decimal(100 * float(track.gradient[row]))})
    return ", ".join(said)


def _shaded(track: Track, x: Floats, work: Piece) -> dict[str, float | str | None]:
    begin, end = np.interp([work.start_s, work.start_s + work.seconds], track.time_s, x).tolist()
    return {"begin": round(begin, 3), "end": round(end, 3)}


# The map ----------------------------------------------------------------------------------------------------------


def lanes_of(gallops: Mapping[int, Gallop], plane: Plane, bold: frozenset[int] = frozenset()) -> dict[int, Lane]:
    """Return gallops on another plane than their own, by their numbers."""
    return {number: _lane(gallop, plane, number in bold) for number, gallop in gallops.items()}


def _lane(gallop: Gallop, plane: Plane, bold: bool) -> Lane:  # noqa: FBT001 -- one of its fields
    east, north = _moved(gallop, plane, gallop.east_m, gallop.north_m)
    at = gallop.at(gallop.marks_m)
    marks = np.column_stack(_moved(gallop, plane, *at))
    way = gallop.heading(gallop.marks_m)
    across = np.column_stack([way[1], -way[0]])
    known = np.isfinite(marks).all(axis=1)
    return Lane(gallop.name, east, north, (marks[known], across[known]), bold)


def _moved(gallop: Gallop, plane: Plane, east: Floats, north: Floats) -> tuple[Floats, Floats]:
    return to_plane(plane, *from_plane(gallop.plane, east, north))


def ways_of(track: Track, measured: Measured) -> list[Way]:
    """Return a track in parts of one pace; gaps are left open."""
    pace = np.full(track.time_s.size, "slow", dtype="<U6")
    for bout in measured.bouts:
        if bout.kind in {"canter", "fast"}:
            pace[(track.time_s >= bout.start_s) & (track.time_s <= bout.start_s + bout.seconds)] = bout.kind
    known = np.isfinite(track.east_m)
    turns = (pace[1:] != pace[:-1]) | (np.diff(track.stretch) != 0) | (known[1:] != known[:-1])
    cuts = [0, *(np.flatnonzero(turns) + 1).tolist(), track.time_s.size]
    found = []
    for begin, end in pairwise(cuts):
        joined = min(end + 1, track.time_s.size) if end < track.time_s.size and known[end] else end
        if known[begin] and track.stretch[begin] == track.stretch[joined - 1]:
            end = joined  # noqa: PLW2901 -- parts of one stretch meet
        if known[begin] and end - begin > 1:
            found.append(Way(str(pace[begin]), track.east_m[begin:end], track.north_m[begin:end]))
    return found


def near(lanes: Mapping[int, Lane], ways: Sequence[Way]) -> list[Lane]:
    """Return the gallops that lie near a way; all of them where there is none."""
    if not ways:
        return list(lanes.values())
    east, north = (float(np.nanmedian(np.concatenate([getattr(way, name) for way in ways]))) for name in _PLACES)
    return [lane for lane in lanes.values() if np.hypot(lane.east_m - east, lane.north_m - north).min() < NEAR_M]


_PLACES: Final = ("east_m", "north_m")


def maps(
    lanes: Sequence[Lane], ways: Sequence[Way], description: str, widths: Mapping[str, int] = WIDTHS
) -> dict[str, SafeString]:
    """Return a map for wide and for narrow screens, empty where there is nothing to show."""
    if not lanes and not ways:
        return {}
    return {
        width: _map(lanes, ways, frame_of(lanes, ways, px), description, f"map-{width}") for width, px in widths.items()
    }


def _map(lanes: Sequence[Lane], ways: Sequence[Way], frame: Frame, description: str, name: str) -> SafeString:
    words = MapWords(name, _("Map"), description, _("north"), _("{metres} m"))
    return mark_safe(ground_map(lanes, ways, frame, words))  # noqa: S308 (drawn by charts, which escapes its words)


def places_on(track: Track, measured: Measured, frame: Frame, along: Along) -> str:
    """Return where on a map the horse was at each row of the chart, for the dot that follows the cursor, as JSON.

    Returns:
        [[x, px from the left, px from above], ...], of rows with a place.
    """
    kept = rows_shown(track, measured.works)
    kept = kept[np.isfinite(track.east_m[kept])]
    x = np.round(_axis_of(track, along)[kept], 3)
    across = np.round(frame.across(track.east_m[kept]), 1)
    down = np.round(frame.down(track.north_m[kept]), 1)
    return json.dumps(np.column_stack([x, across, down]).tolist(), separators=(",", ":"))
