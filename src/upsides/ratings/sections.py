"""Sections of a race: late speed against the whole race, early pace, position and ground early.

Late speed against the whole race is the mean speed over the last part divided by the mean speed over the
whole; 1 is even. What is normal differs by course and trip, so a value is judged against its own course and
trip (`usual`), never against 1. Section tables are (rows, sections) in running order, padded with NaN at the
end.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray

_CLOSE_M = 0.5
"""Two section ends nearer than this are the same place on the course; published distances are rounded."""


def late_speed(late_m: ArrayLike, late_s: ArrayLike, whole_m: ArrayLike, whole_s: ArrayLike) -> NDArray[np.float64]:
    """Return late speed against the whole race, (late_m / late_s) / (whole_m / whole_s); 1 is even.

    Args:
        late_m: length of the last part, m (any unit, if `whole_m` has the same).
        late_s: the horse's own time over it, s.
        whole_m: distance of the race.
        whole_s: the horse's own time for the race, s; for a beaten horse see `own_time`.
    """
    late = np.asarray(late_m, dtype=np.float64) / np.asarray(late_s, dtype=np.float64)
    return np.asarray(late * np.asarray(whole_s, dtype=np.float64) / np.asarray(whole_m, dtype=np.float64))


def own_time(winner_s: ArrayLike, lengths: ArrayLike, lengths_per_second: ArrayLike) -> NDArray[np.float64]:
    """Return a beaten horse's own time in seconds from the winner's and the lengths behind."""
    behind = np.asarray(lengths, dtype=np.float64) / np.asarray(lengths_per_second, dtype=np.float64)
    return np.asarray(np.asarray(winner_s, dtype=np.float64) + behind)


def to_go(section_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (rows, sections) metres from the start of each section to the finish, NaN in the padding."""
    length = np.nan_to_num(section_m)
    return np.where(np.isnan(section_m), np.nan, np.cumsum(length[:, ::-1], axis=1)[:, ::-1])


def last_part_time(
    section_m: NDArray[np.float64], section_s: NDArray[np.float64], last_m: float
) -> NDArray[np.float64]:
    """Return the time (rows,) over the last `last_m` metres.

    It is NaN where no section starts there, or one has no time.
    """
    left = to_go(section_m)
    starts = (np.abs(left - last_m) < _CLOSE_M).any(axis=1)
    inside = left < last_m + _CLOSE_M
    return np.where(starts, np.where(inside, section_s, 0.0).sum(axis=1), np.nan)


def at_point(section_m: NDArray[np.float64], at_end: NDArray[np.float64], left_m: float) -> NDArray[np.float64]:
    """Return (rows,) what `at_end` was with `left_m` metres to go, NaN where no section ends there.

    Args:
        section_m: (rows, sections) lengths, m.
        at_end: (rows, sections) noted at each section's end, such as position.
        left_m: metres to go.
    """
    ends = np.abs(to_go(section_m) - section_m - left_m) < _CLOSE_M
    return np.where(ends.any(axis=1), np.where(ends, at_end, 0.0).sum(axis=1), np.nan)


def early_pace(early_s: ArrayLike, whole_s: ArrayLike, usual_fraction: ArrayLike) -> NDArray[np.float64]:
    """Return the log ratio of the usual early fraction of the time to this race's; above 0 is fast early.

    Args:
        early_s: the leader's time over the early part, s.
        whole_s: the winner's time, s.
        usual_fraction: early time over whole time usual for that course and trip.
    """
    fraction = np.asarray(early_s, dtype=np.float64) / np.asarray(whole_s, dtype=np.float64)
    return np.asarray(np.log(np.asarray(usual_fraction, dtype=np.float64) / fraction))


def padded(lists: pl.Series) -> NDArray[np.float64]:
    """Return a list column as (rows, longest) numbers, padded with NaN; a missing list is all padding."""
    length = lists.list.len().fill_null(0).to_numpy()
    table = np.full((len(lists), max(1, int(length.max(initial=0)))), np.nan)
    values = lists.filter(lists.list.len().fill_null(0) > 0).explode().cast(pl.Float64)
    table[np.arange(table.shape[1]) < length[:, None]] = values.to_numpy()
    return table


@dataclass(frozen=True, slots=True)
class Parts:
    """Where a race is cut: its last part and the point at which early position is taken, metres to go."""

    late_m: float = 400.0
    early_left_m: float = 800.0


def race_sections(races: pl.DataFrame, parts: Parts = Parts()) -> pl.DataFrame:
    """Return the sections of each race, one row a race.

    Columns: `race_key`, `late_speed` of the leaders' sections against the whole race and `early_fraction`,
        the share of the winning time up to `early_left_m` to go.

    Args:
        races: with race_key, distance_m, winning_time_s, section_m and section_s (leader's times).
        parts: where the race is cut.
    """
    length, time = padded(races["section_m"]), padded(races["section_s"])
    time = _as_wide(time, length)
    whole_s = races["winning_time_s"].cast(pl.Float64).to_numpy()
    late_s = last_part_time(length, time, parts.late_m)
    early_s = whole_s - last_part_time(length, time, parts.early_left_m)
    distance = races["distance_m"].to_numpy()
    return races.select("race_key").with_columns(
        pl.Series("late_speed", late_speed(parts.late_m, late_s, distance, whole_s), nan_to_null=True),
        pl.Series("early_fraction", early_s / whole_s, nan_to_null=True),
    )


def run_sections(races: pl.DataFrame, runs: pl.DataFrame, parts: Parts = Parts()) -> pl.DataFrame:
    """Return one row a run, in the order of `runs`, about its own sections.

    Args:
        races: with race_key, distance_m, section_m, runners.
        runs: with race_key, source_horse, time_s, beaten_lengths, section_s, section_position,
            section_behind.
        parts: where the race is cut.

    Returns:
        race_key, source_horse, `late_speed` against the whole race, `early_place` (0 led, 1 last, with
        `early_left_m` to go), `early_behind` (lengths behind the leader there) and `ground_made_up` (lengths
        nearer to the winner at the finish than to the leader then); empty where the table has no such section
        or a position beyond the field. A leader is behind nobody, though some sources print its lead there.
    """
    known = races.select("race_key", "distance_m", "section_m", "runners")
    both = runs.join(known, on="race_key", how="left", maintain_order="left")
    length = padded(both["section_m"])
    time, place, behind = (
        _as_wide(padded(both[name]), length) for name in ("section_s", "section_position", "section_behind")
    )
    late_s = last_part_time(length, time, parts.late_m)
    whole_s = both["time_s"].cast(pl.Float64).to_numpy()
    early_place = at_point(length, place, parts.early_left_m) - 1
    behind = np.where((place == 1) & np.isfinite(behind), 0.0, behind)
    early_behind = at_point(length, behind, parts.early_left_m)
    field = both["runners"].cast(pl.Float64).to_numpy() - 1
    sound = (field > 0) & (early_place <= field)
    early_place = np.divide(early_place, field, out=np.full(len(field), np.nan), where=sound)
    lost = both["beaten_lengths"].cast(pl.Float64).to_numpy()
    return both.select("race_key", "source_horse").with_columns(
        pl.Series(
            "late_speed",
            late_speed(parts.late_m, late_s, both["distance_m"].to_numpy(), whole_s),
            nan_to_null=True,
        ),
        pl.Series("early_place", early_place, nan_to_null=True),
        pl.Series("early_behind", early_behind, nan_to_null=True),
        pl.Series("ground_made_up", early_behind - lost, nan_to_null=True),
    )


def _as_wide(table: NDArray[np.float64], pattern: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cut or pad `table` to as many sections as `pattern`; missing values stay missing."""
    wide = np.full(pattern.shape, np.nan)
    columns = min(table.shape[1], pattern.shape[1])
    wide[:, :columns] = table[:, :columns]
    return wide
