"""The reader of NMEA 0183."""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.accuracy import METRES_PER_HDOP
from upsides.recordings.formats.columns import settle
from upsides.recordings.formats.decoding import decoded
from upsides.recordings.formats.nmea.sentences import Sentences, sentences
from upsides.recordings.recording import Message, Recording

DAY_S = 86400.0
KNOT_MS = 1852 / 3600  # exact by definition
Column = NDArray[np.float64]
Kinds = dict[bytes, Sentences]


def read_nmea(data: bytes, file: str) -> list[Recording]:
    """Read a receiver's log: one recording, one fix for each time that a position sentence gives.

    See SPECIFICATION.md for which sentence is believed in what, and for how dates are carried over midnight.
    """
    kinds, told = sentences(data if b"\x00" not in data[:200] else decoded(data)[0].encode("ascii", "replace"))
    clock = _clock(kinds)
    with_position = [kinds[kind].place for kind in (b"GGA", b"GNS", b"RMC", b"GLL") if kind in kinds]
    if not with_position or not clock.size:
        return [Recording.of_columns(file, "nmea", 0, messages=(*told, Message("no_fixes")))]
    moment = np.concatenate([[0], np.cumsum(np.diff(clock) != 0)])
    fixed, index = np.unique(moment[np.concatenate(with_position)], return_inverse=True)
    of_moment = np.full(moment[-1] + 1, -1)
    of_moment[fixed] = np.arange(fixed.size)
    first = np.zeros(fixed.size, dtype=np.int64)
    first[index[::-1]] = np.concatenate(with_position)[::-1]
    reader = _Moments(kinds, of_moment[moment], fixed.size)
    time, dated = _times(reader, clock[first], told)
    columns, said = settle({"time_s": time, **_measured(reader, told)}, dated=dated)
    read = Recording.of_columns(
        file,
        "nmea",
        fixed.size,
        segment=None,
        device=None,
        sport="",
        motion=None,
        speeds=None,
        messages=(*told, *said),
        **columns,
    )
    return [read]


def _clock(kinds: Kinds) -> Column:
    """Return (k,) the time of day, s, of every sentence: its own, or that of the last before it that has one."""
    count = sum(one.place.size for one in kinds.values())
    own = np.full(count, np.nan)
    for one in kinds.values():
        if "time" in one.fields:
            own[one.place] = _time_of_day(_floats(one.fields["time"]))
    known = np.flatnonzero(np.isfinite(own))
    if not known.size:
        return own[:0]
    last = np.maximum.accumulate(np.where(np.isfinite(own), np.arange(count), known[0]))
    return own[last]


def _floats(texts: list[bytes]) -> Column:
    """Return numbers, NaN where a field is empty, or no finite number."""
    try:
        told = np.array([text or b"nan" for text in texts]).astype(np.float64)
    except ValueError:
        told = np.array([_float(text) for text in texts], dtype=np.float64)
    told[~np.isfinite(told)] = np.nan
    return told


def _float(text: bytes) -> float:
    try:
        return float(text)
    except ValueError:
        return np.nan


def _time_of_day(written: Column) -> Column:
    """Turn hhmmss.sss into seconds; NaN for what is no time of a day."""
    hours, minutes, seconds = written // 10000, written // 100 % 100, written % 100
    good = (hours >= 0) & (hours < 24) & (minutes < 60) & (seconds < 61)
    return np.where(good, np.round(hours * 3600 + minutes * 60 + seconds, 6), np.nan)


def _degrees(written: Column, sides: list[bytes], negative: bytes) -> Column:
    """Turn degrees and minutes (dddmm.mmmm) into degrees, west and south negative."""
    degrees = written // 100 + written % 100 / 60
    return np.where(np.array(sides) == negative, -degrees, degrees)


class _Moments:
    """Fields of sentences brought together by the fix that they belong to."""

    def __init__(self, kinds: Kinds, fix: NDArray[np.int64], count: int) -> None:
        self.kinds, self.fix, self.count = kinds, fix, count

    def put(self, into: Column, kind: bytes, values: Column) -> None:
        """Fill what is still empty; of several sentences of one moment the first with a value counts."""
        fix = self.fix[self.kinds[kind].place]
        good = (fix >= 0) & np.isfinite(values)
        found = np.full(self.count, np.nan)
        found[fix[good][::-1]] = values[good][::-1]
        np.copyto(into, found, where=np.isnan(into))

    def column(self, *sources: tuple[bytes, str]) -> Column:
        """Return (n,) a field, from the first of the kinds of sentence that gives it."""
        told = np.full(self.count, np.nan)
        for kind, name in sources:
            if kind in self.kinds:
                self.put(told, kind, _floats(self.kinds[kind].fields[name]))
        return told

    def positions(self) -> tuple[Column, Column]:
        """Return (n,) latitude and longitude, degrees."""
        north, east = np.full(self.count, np.nan), np.full(self.count, np.nan)
        for kind in (b"GGA", b"GNS", b"RMC", b"GLL"):
            if kind in self.kinds:
                told = self.kinds[kind].fields
                self.put(north, kind, _degrees(_floats(told["north"]), told["north_side"], b"S"))
                self.put(east, kind, _degrees(_floats(told["east"]), told["east_side"], b"W"))
        return north, east

    def void(self) -> NDArray[np.bool_]:
        """Tell the fixes for which the receiver itself says that it has none."""
        bad = np.full(self.count, np.nan)
        for kind, name, word in ((b"RMC", "status", b"V"), (b"GLL", "status", b"V"), (b"GGA", "quality", b"0")):
            if kind in self.kinds:
                said = np.array(self.kinds[kind].fields[name]) == word
                self.put(bad, kind, np.where(said, 1.0, np.nan))
        return np.asarray(np.isfinite(bad))


def _measured(reader: _Moments, told: list[Message]) -> dict[str, Column]:
    north, east = reader.positions()
    knots = reader.column((b"RMC", "knots"), (b"VTG", "knots"))
    speed = np.where(np.isnan(knots), reader.column((b"VTG", "kmh")) / 3.6, knots * KNOT_MS)
    void = reader.void()
    if void.any():
        told.append(Message("void", {"count": int(void.sum())}))
    height = reader.column((b"GGA", "height"), (b"GNS", "height"))
    if np.isfinite(height).any() and not np.nan_to_num(reader.column((b"GGA", "geoid"), (b"GNS", "geoid"))).any():
        told.append(Message("no_sea_level"))
    across = np.hypot(reader.column((b"GST", "north_sd")), reader.column((b"GST", "east_sd")))
    hdop = reader.column((b"GGA", "hdop"), (b"GNS", "hdop"), (b"GSA", "hdop"))
    measured = {
        "latitude": north,
        "longitude": east,
        "speed_ms": speed,
        "height_m": height,
        "accuracy_m": np.where(np.isnan(across), hdop * METRES_PER_HDOP, across),
    }
    return {name: np.where(void, np.nan, column) for name, column in measured.items()}


def _times(reader: _Moments, clock: Column, told: list[Message]) -> tuple[Column, bool]:
    """Return (n,) seconds since 1970: the time of day, on the last date given, midnights counted between dates.

    Without any date the seconds are those of the first day of 1970, and the second value is False.
    """
    day = np.full(reader.count, np.nan)
    for kind in (b"RMC", b"ZDA"):
        if kind in reader.kinds:
            reader.put(day, kind, _days(kind, reader.kinds[kind].fields))
    step = np.diff(clock, prepend=clock[0])
    midnights = np.cumsum((step < -DAY_S / 2).astype(np.int64) - (step > DAY_S / 2).astype(np.int64))
    base = day - midnights
    known = np.flatnonzero(np.isfinite(base))
    if not known.size:
        told.append(Message("no_date"))
        return clock + midnights * DAY_S, False
    last = np.maximum.accumulate(np.where(np.isfinite(base), np.arange(base.size), known[0]))
    return clock + (base[last] + midnights) * DAY_S, True


def _days(kind: bytes, fields: dict[str, list[bytes]]) -> Column:
    """Return (k,) days since 1970-01-01 of ddmmyy (80 to 99 are years of the last century), or of day, month, year."""
    if kind == b"ZDA":
        parts = zip(fields["year"], fields["month"], fields["day"], strict=True)
        written = [b"-".join((year, month.zfill(2), day.zfill(2))) for year, month, day in parts]
        days = {text: _day(text) for text in set(written)}
    else:
        written = fields["date"]
        days = {text: _day(_century(text)) for text in set(written)}
    return np.array([days[text] for text in written], dtype=np.float64)


def _century(date: bytes) -> bytes:
    century = b"19" if date[4:6] >= b"80" else b"20"
    return b"-".join([century + date[4:6], date[2:4], date[:2]])


def _day(text: bytes) -> float:
    try:
        return float(np.datetime64(text.decode("ascii"), "D").astype(np.int64))
    except ValueError:
        return np.nan
