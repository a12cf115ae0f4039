"""The clock of a recording: which fixes can be placed in time, and when they were, in rising order.

Times are put right where the file itself tells how: fixes that share a whole second on a faster device, two fixes
written in the wrong order, a clock that was set back on the way. What is merely odd (a year that cannot be) is said and
left as it is: how long a work took does not hang on the date.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from upsides.errors import TooLittleLeftError
from upsides.errors.wording import gettext as _
from upsides.recordings.picking import columns_of, picked
from upsides.recordings.recording import Message, Recording

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]
Flags = NDArray[np.bool_]

FASTEST_HZ = 100.0
"""No receiver writes more fixes a second than this, with room: the usual are 1 to 20. Our own limit."""
EARLIEST_S = 946684800.0
"""2000-01-01: no recording of a horse's work is older; a clock that says so was not set. Our own limit."""
SWAPPED_PLACES, SWAPPED_S = 5, 10.0
"""A fix is in the wrong place rather than the clock set back, if it is off by no more fixes and seconds than this."""
USUAL_STEPS = 3.0
"""Parts of a file in the wrong order go on from each other where so many usual steps lie between at most. Our own."""
FAR_S, HANDFUL = 2 * 365.25 * 86400.0, 0.02
"""Fixes further from the middle one than the first, two years, are left out where they are no more than such a share
of all. Our own limits."""
HOUR_S, ABOUT_S = 3600.0, 600.0
"""A step back by an hour, but for usual steps, is a clock that was put back; nearly an hour may be one."""
LONG_GAP_S = 86400.0
"""A day. A gap as long as this is another day's work in the same file, or a clock that was set on the way."""


@dataclass(frozen=True, slots=True, eq=False)
class Clock:
    """When the fixes of a recording were.

    Attributes:
        rows: (m,) the fixes that can be placed in time, in order of time.
        time_s: (m,) their times, rising, none twice.
        broken: (m,) where how long it took since the fix before cannot be told.
        doubles: (d,) fixes left out because they say again what another says.
        messages: what was found.
    """

    rows: Rows
    time_s: Floats
    broken: Flags
    doubles: Rows
    messages: tuple[Message, ...]


def joined(recording: Recording) -> Recording:
    """Return the recording with fixes that have no position joined to those of the same time, next to them, that have.

    Some devices write position and heart, or position and distance, as two records of one moment.
    """
    time = recording.time_s
    placed = np.isfinite(recording.latitude) & np.isfinite(recording.longitude)
    if placed.all() or not (np.diff(time) == 0).any():
        return recording
    moment = np.cumsum(np.r_[True, np.diff(time) != 0]) - 1
    host = np.full(moment[-1] + 1, -1)
    host[moment[placed][::-1]] = np.flatnonzero(placed)[::-1]
    guests = np.flatnonzero(~placed & (host[moment] >= 0))
    if not guests.size:
        return recording
    left = np.delete(np.arange(time.size), guests)
    columns = {name: column.copy() for name, column in columns_of(recording).items()}
    for column in columns.values():
        to, known = host[moment[guests]], np.isfinite(column[guests])
        to, of = to[known][::-1], guests[known][::-1]
        fill = np.isnan(column[to])
        column[to[fill]] = column[of[fill]]
    return picked(recording, left, columns, Message("fixes_joined", {"count": guests.size}))


def clock_of(recording: Recording) -> Clock:
    """Return the times of a recording's fixes, put in order.

    Raises:
        TooLittleLeftError: fewer than two fixes have a time, or the times run too fast for any device.
    """
    said: list[Message] = []
    rows, again = _once(recording, _with_time(recording, said), said)
    rows, time, broken = _in_order(rows, recording.time_s[rows], said)
    rows, time, broken, doubles = _one_each(recording, rows, time, broken, said)
    if time.size < 2 or (time[-1] - time[0]) * FASTEST_HZ < time.size - 1:
        raise TooLittleLeftError(
            recording.file,
            _(
                "its {count} fixes lie within {time:.3g} seconds",
                count=len(recording),
                time=max(np.ptp(time), 0.0) if time.size else 0.0,
            ),
            _("its clock tells nothing; clock this work by hand"),
        )
    _say_what_is_odd(time, said)
    return Clock(rows, time, broken, np.concatenate([again, doubles]), tuple(said))


def _with_time(recording: Recording, said: list[Message]) -> Rows:
    rows = np.flatnonzero(np.isfinite(recording.time_s))
    missing = len(recording) - rows.size
    if rows.size < 2:
        reason = (
            _("of its {count} fixes {size} have a time", count=len(recording), size=rows.size)
            if len(recording)
            else _("it holds no fix")
        )
        remedy = _("without times there is no speed; clock this work by hand")
        if len(recording) == 1:
            reason, remedy = _("it holds a single fix"), _("one place has no speed; clock this work by hand")
        raise TooLittleLeftError(recording.file, reason, remedy)
    if missing:
        said.append(Message("times_missing", {"count": missing}))
    return _of_these_years(recording.time_s, rows, said)


def _of_these_years(time: Floats, rows: Rows, said: list[Message]) -> Rows:
    """Leave out a handful of fixes that lie years from all others: their times were damaged."""
    far = np.abs(time[rows] - np.median(time[rows])) > FAR_S
    count = int(np.count_nonzero(far))
    if count == 0 or count > HANDFUL * rows.size:
        return rows
    said.append(Message("times_far", {"count": count}))
    return rows[~far]


def _once(recording: Recording, rows: Rows, said: list[Message]) -> tuple[Rows, Rows]:
    """Return the fixes without those that stand, with time and place to the last digit, before a step back already.

    What has no place goes with the fix before it. So a track that stands twice in a file counts once.
    """
    time = recording.time_s[rows]
    part = np.cumsum(np.r_[0, np.diff(time) < 0])
    placed = np.flatnonzero(np.isfinite(recording.latitude[rows]) & np.isfinite(recording.longitude[rows]))
    if part[-1] == 0 or not placed.size:
        return rows, rows[:0]
    at = rows[placed]
    told = np.stack([recording.time_s[at], recording.latitude[at], recording.longitude[at]], axis=1)
    _each, first, of = np.unique(told, axis=0, return_index=True, return_inverse=True)
    again = part[placed] != part[placed][first[of.ravel()]]
    before = np.searchsorted(placed, np.arange(rows.size), side="right") - 1
    same = (before >= 0) & (part[placed[before]] == part) & again[before]
    if same.any():
        said.append(Message("fixes_twice", {"count": int(same.sum())}))
    return rows[~same], rows[same]


def _in_order(rows: Rows, time: Floats, said: list[Message]) -> tuple[Rows, Floats, Flags]:
    """Sort what was swapped; where the clock was set back, move what came before it so that time rises."""
    back = np.flatnonzero(np.diff(time) < 0)
    if not back.size:
        return rows, time, np.zeros(time.size, dtype=np.bool_)
    order = np.argsort(time, kind="stable")
    moved = np.abs(order - np.arange(order.size))
    if moved.max() <= SWAPPED_PLACES and (time[back] - time[back + 1]).max() <= SWAPPED_S:
        count = int(np.count_nonzero(moved))
        said.append(Message("times_swapped", {"count": count}))
        return rows[order], time[order], np.zeros(time.size, dtype=np.bool_)
    return _set_back(rows, time, back + 1, said)


def _set_back(rows: Rows, time: Floats, starts: Rows, said: list[Message]) -> tuple[Rows, Floats, Flags]:
    """Make a part of each time the clock went back; parts that overlap are moved before the one that follows.

    A file that is written newest first is turned round before that. How long it took from one part to the next cannot
    be told, unless the next goes on at the usual step.
    """
    if starts.size > time.size / 2:
        said.append(Message("newest_first"))
        rows, time = rows[::-1], time[::-1]
        starts = np.flatnonzero(np.diff(time) < 0) + 1
        if not starts.size:
            return rows, time, np.zeros(time.size, dtype=np.bool_)
    parts = np.split(np.arange(time.size), starts)
    typical = float(np.median(np.abs(np.diff(time)))) or 1.0
    by_start = sorted(parts, key=lambda part: time[part[0]])
    apart = all(time[one[-1]] < time[two[0]] for one, two in pairwise(by_start))
    off_hour = np.abs(time[starts - 1] - time[starts] - HOUR_S)
    put_back = off_hour <= USUAL_STEPS * typical
    if apart and not put_back.any():
        parts = by_start
        code = "parts_sorted_hour" if (off_hour <= ABOUT_S).any() else "parts_sorted"
    else:
        time = time.copy()
        for earlier, later in zip(parts[-2::-1], parts[:0:-1], strict=True):
            time[earlier] -= max(time[earlier[-1]] + typical - time[later[0]], 0.0)
        code = "clock_put_back" if put_back.all() else "clock_set_back"
    said.append(Message(code, {"count": int(starts.size)}))
    broken = np.zeros(time.size, dtype=np.bool_)
    begins = np.cumsum([part.size for part in parts[:-1]])
    order = np.concatenate(parts)
    rows, time = rows[order], time[order]
    broken[begins] = code == "clock_set_back" or time[begins] - time[begins - 1] > USUAL_STEPS * typical
    return rows, time, broken


def _one_each(
    recording: Recording, rows: Rows, time: Floats, broken: Flags, said: list[Message]
) -> tuple[Rows, Floats, Flags, Rows]:
    """Give each fix a time of its own: spread those that share a second, leave out those that say the same again."""
    starts = np.flatnonzero(np.r_[True, np.diff(time) > 0])
    sizes = np.diff(np.r_[starts, time.size])
    if sizes.max(initial=1) == 1:
        return rows, time, broken, rows[:0]
    nothing = np.zeros(rows.size, dtype=np.bool_)
    doubled = nothing if sizes[sizes > 1].sum() > rows.size / 2 else _doubles(recording, rows, time)
    if doubled.any():
        count = int(doubled.sum())
        said.append(Message("fixes_twice", {"count": count}))
    left = ~doubled
    spread, alike, shared = _spread(time[left], broken[left])
    if shared:
        said.append(Message("seconds_shared", {"count": shared}))
    if alike.any():
        said.append(Message("times_twice", {"count": int(alike.sum())}))
    gone = np.concatenate([rows[doubled], rows[left][alike]])
    return rows[left][~alike], spread[~alike], _carried(broken, left)[~alike], gone


def _carried(broken: Flags, left: Flags) -> Flags:
    """Return the breaks of those that are left; the break of one that is not goes to the next."""
    places = np.flatnonzero(left)
    carried = np.zeros(places.size, dtype=np.bool_)
    to = np.searchsorted(places, np.flatnonzero(broken))
    carried[to[to < places.size]] = True
    return carried


def _doubles(recording: Recording, rows: Rows, time: Floats) -> Flags:
    """Return which fixes have time and place of the one before."""
    same = np.diff(time) == 0
    for column in (recording.latitude[rows], recording.longitude[rows]):
        same &= (np.diff(column) == 0) | (np.isnan(column[1:]) & np.isnan(column[:-1]))
    return np.asarray(np.r_[False, same])


def _spread(time: Floats, broken: Flags) -> tuple[Floats, Flags, int]:
    """Return times with shared whole seconds spread, which fixes cannot be told apart, and how many were spread."""
    starts = np.flatnonzero(np.r_[True, np.diff(time) > 0])
    sizes = np.diff(np.r_[starts, time.size])
    stamp = time[starts]
    following = np.r_[np.diff(stamp), 1.0]
    following[:-1][broken[starts[1:]]] = 1.0
    evenly = (sizes > 1) & (sizes <= FASTEST_HZ) & (stamp == np.floor(stamp)) & (following <= 1.5) & (stamp.size > 1)
    place = np.arange(time.size) - np.repeat(starts, sizes)
    share = np.where(evenly, np.minimum(following, 1.0) / sizes, 0.0)
    alike = (place > 0) & ~np.repeat(evenly, sizes)
    return time + place * np.repeat(share, sizes), alike, int(sizes[evenly].sum())


def _say_what_is_odd(time: Floats, said: list[Message]) -> None:
    """Say that the day cannot be right, or that the file goes on days later."""
    if time[0] < EARLIEST_S:
        day = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=max(float(time[0]), -6e10))
        said.append(Message("clock_not_set", {"day": f"{day:%Y-%m-%d}"}))
    longest = float(np.diff(time).max())
    if longest > LONG_GAP_S:
        said.append(Message("days_between", {"count": round(longest / 86400)}))
