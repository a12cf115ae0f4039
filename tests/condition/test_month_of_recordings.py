"""A real month of recordings of one person's runs: heart and speed watched, and hardly ever pointed at."""

import os
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.budget import Budget
from upsides.condition.monitoring.kinds import Kind
from upsides.condition.monitoring.readings import Readings, readings_of
from upsides.condition.monitoring.watching import learned, watch
from upsides.recordings.opening import read_path
from upsides.recordings.tracking import track_of

FOLDER = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "recordings"
MONTH = FOLDER / "block_2013_06"
needs_shared = pytest.mark.skipif(not MONTH.is_dir(), reason="the shared data is not here: set UPSIDES_SHARED")
pytestmark = needs_shared
KINDS = (Kind("heart", "a minute", "both", 1.5), Kind("speed", "m/s", "both", 0.05))
MOVING_MS = 1.0
"""Slower than this he stands."""
BUDGET = Budget(horses=0.05)
"""One false pointing in twenty days."""


@cache
def month() -> Readings:
    """Return mean heart rate and mean speed on the move of the longest session of each day."""
    longest: dict[int, tuple[float, float, float]] = {}
    for path in sorted(MONTH.glob("*.gz")):
        (recording,) = read_path(path)
        track = track_of(recording)
        moving = track.speed_ms > MOVING_MS
        day = int(track.time_s[0] // 86400)
        told = (float(moving.sum()), float(np.nanmean(track.heart_bpm)), float(track.speed_ms[moving].mean()))
        longest[day] = max(longest.get(day, told), told)
    days = np.array(sorted(longest))
    value = np.array([longest[day][1:] for day in days.tolist()])
    kind = np.repeat(np.arange(2), days.size)
    return readings_of(np.zeros(kind.size, dtype=np.int64), kind, np.tile(days, 2), value.T.ravel(), kinds=KINDS)


def test_readings_are_those_of_a_runner() -> None:
    """Seventeen days of running give hearts of 110 to 180 a minute and speeds of 2.5 to 5.5 m/s."""
    readings = month()
    heart, speed = (readings.value[readings.of(place)] for place in range(2))
    assert speed.size == heart.size == 17
    assert (heart.min() > 110.0, heart.max() < 180.0) == (True, True)
    assert (speed.min() > 2.5, speed.max() < 5.5) == (True, True)


def test_an_ordinary_month_stays_within_the_budget() -> None:
    """Of an ordinary month no more is pointed at than a budget of one in twenty days allows, with four errors."""
    readings = month()
    watched = watch(readings, BUDGET, known=learned(readings, BUDGET))
    expected = BUDGET.horses * (readings.day.max() - readings.day.min() + 1)
    assert watched.pointed().sum() <= expected + 4 * np.sqrt(expected)
    assert np.abs(watched.told[:, 0]).max() < 6.0


def test_a_month_with_something_wrong_is_pointed_at() -> None:
    """The same month with hearts thirty beats higher on its last four days stands out upwards at its end."""
    readings = month()
    known = learned(readings, BUDGET)
    last = np.arange(readings.of(0).stop - 4, readings.of(0).stop)
    value = readings.value.copy()
    value[last] += 30.0
    watched = watch(replace(readings, value=value), BUDGET, known=known)
    assert (watched.told[last[-2:], of.WAY] == 1.0).all()
    assert watched.told[last, of.RATIO].max() > 1.5
    assert watched.told[last, of.Z].mean() > 1.5
