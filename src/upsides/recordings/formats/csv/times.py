"""The times of a table as seconds since 1970, whatever way a shape says that they are written."""

import re
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from upsides.errors import RecordingRefusedError
from upsides.errors.wording import gettext as _
from upsides.recordings.formats.csv.shape import Time
from upsides.recordings.recording import Message

if TYPE_CHECKING:
    import polars as pl

Column = NDArray[np.float64]
ISO = ("%Y-%m-%dT%H:%M:%S%.f%#z", "%Y-%m-%dT%H:%M:%S%.f")
CLOCK = r"^(?:(\d+):)?(\d+):(\d+(?:[.,]\d+)?)$"
TWICE_S = 1800.0  # how far a local clock must go back to have been put back


def times(written: "pl.Series", rule: Time, file: str, above: str, *, own: bool = True) -> tuple[Column, list[Message]]:
    """Return (n,) seconds since 1970-01-01 UTC, NaN where none is written, and what is odd about them.

    Args:
        written: n texts.
        rule: how they are written.
        file: the name of the file, for messages and for a start that stands in it.
        above: the lines above the names of the columns.
        own: whether the shape that has the rule is the yard's own, so that it can be mended.

    Raises:
        RecordingRefusedError: times are written, and none of them as the shape says.
    """
    told: list[Message] = []
    if rule.kind in {"iso", "text"}:
        time = _moments(written, rule, told)
    else:
        factor = 0.001 if rule.kind.endswith("ms") else 1.0
        time = _clocked(written) if rule.kind == "elapsed h:m:s" else _floats(written) * factor
        time = time + (_start(rule, file, above, told) if rule.kind.startswith("elapsed") else 0.0)
    filled = written.is_not_null().to_numpy()
    unread = int(np.count_nonzero(filled & np.isnan(time)))
    if unread and unread == np.count_nonzero(filled):
        reason = _(
            "none of its times, like {drop_nulls!r}, is written as the shape says", drop_nulls=written.drop_nulls()[0]
        )
        remedy = (
            _("mend `time` in the shape (an abbreviated zone needs `abbreviations`)")
            if own
            else _("upsides read --propose {file} drafts a shape of the yard's own that reads them", file=file)
        )
        raise RecordingRefusedError(file, reason, remedy)
    if unread:
        told.append(Message("unreadable_times", {"count": unread}))
    return time, told


def _floats(written: "pl.Series") -> Column:
    import polars as pl

    return written.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False).fill_null(np.nan).to_numpy()


def _clocked(written: "pl.Series") -> Column:
    """Read 1:02:03.5 or 02:03.5 as seconds."""
    parts = written.str.extract_groups(CLOCK).struct.unnest()
    hours = np.nan_to_num(_floats(parts["1"]))
    return np.asarray(hours * 3600 + _floats(parts["2"]) * 60 + _floats(parts["3"]))


def _start(rule: Time, file: str, above: str, told: list[Message]) -> float:
    if rule.start is not None:
        return rule.start.timestamp()
    found = re.search(rule.start_pattern, f"{file}\n{above}") if rule.start_pattern else None
    try:
        if found:
            return (
                datetime.strptime(found[1], rule.start_format).replace(tzinfo=ZoneInfo(rule.zone or "UTC")).timestamp()
            )
    except (ValueError, TypeError):  # not written as the format says, or not in the group
        pass
    told.append(Message("no_start"))
    return 0.0


def _moments(written: "pl.Series", rule: Time, told: list[Message]) -> Column:
    import polars as pl

    if rule.kind == "iso":
        written = written.str.replace(r"^(\d{4}-\d\d-\d\d) +", "${1}T").str.replace(
            r"T(\d\d:\d\d)($|Z|[+-])", "T${1}:00${2}"
        )
    written = written.str.replace(r"(:\d\d),(\d)", "${1}.${2}")
    if rule.abbreviations:
        keys = [rf"\b{re.escape(name)}\b" for name in rule.abbreviations]
        for key, offset in zip(keys, rule.abbreviations.values(), strict=True):
            written = written.str.replace(key, offset)
    time = np.full(len(written), np.nan)
    for style in rule.formats or ISO:
        missing = np.isnan(time)
        if not missing.any():
            break
        read = _parsed(written, style)
        if read is None:
            continue
        known = isinstance(read.dtype, pl.Datetime) and read.dtype.time_zone is not None
        found = _seconds(read) if known else _localised(read, rule.zone, told)
        time = np.where(missing, found, time)
    return time


def _parsed(written: "pl.Series", style: str) -> "pl.Series | None":
    import polars as pl

    try:
        read = written.str.to_datetime(style, time_unit="us", strict=False)
    except pl.exceptions.PolarsError:
        return None
    return read if read.null_count() < len(read) else None


def _seconds(read: "pl.Series") -> Column:
    return read.dt.epoch("us").cast(float).fill_null(np.nan).to_numpy() / 1e6


def _localised(read: "pl.Series", zone: str, told: list[Message]) -> Column:
    """Return the instants of local times; of the hour that comes twice, the second is known by a step back."""
    if not zone:
        found = _seconds(read)
        told.append(Message("zone_unsaid", {"count": int(np.count_nonzero(np.isfinite(found)))}))
        return found
    first = _seconds(read.dt.replace_time_zone(zone, ambiguous="earliest", non_existent="null"))
    second = _seconds(read.dt.replace_time_zone(zone, ambiguous="latest", non_existent="null"))
    local = _seconds(read)
    skipped = int(np.count_nonzero(np.isnan(first) & ~np.isnan(local)))
    if skipped:
        told.append(Message("skipped_hour", {"count": skipped}))
    twice = first != second
    twice &= ~np.isnan(first)
    if not twice.any():
        return first
    latest = np.fmax.accumulate(np.where(twice, local, -np.inf))
    again = twice & (latest - local > TWICE_S)
    back = np.flatnonzero(again)
    if back.size:
        again[back[0] :] = twice[back[0] :]
    code = "hour_twice" if back.size else "hour_twice_first"
    told.append(Message(code, {"count": int(np.count_nonzero(twice)), "zone": zone}))
    return np.where(again, second, first)
