"""Heart rates that jump to half or twice and stay there, against known truth."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from numpy.typing import NDArray

from upsides.demo.morning_sim.morning import alone
from upsides.demo.morning_sim.receiver import Receiver
from upsides.recordings.heart.recovery import recovery
from upsides.recordings.heart_cleaning import Heart, cleaned_heart
from upsides.recordings.track import Track
from upsides.recordings.tracking import track_of

Floats = NDArray[np.float64]
STRAP = Receiver(rate_hz=1.0, heart_faults=False)
SEEDS = range(4)


@lru_cache(maxsize=1)
def mornings() -> tuple[tuple[Track, Floats], ...]:
    """Four simulated mornings: the track, and the heart as its strap wrote it."""
    made = [(track_of(one), one) for one in (alone(seed, STRAP, fast=seed < 3).recording for seed in SEEDS)]
    return tuple((track, np.round(np.interp(track.time_s, one.time_s, one.heart_bpm))) for track, one in made)


def _codes(heart: Heart) -> dict[str, int]:
    return {message.code: message.count for message in heart.messages}


def _wrong(heart: Heart, true: Floats) -> int:
    """Return how many rates are shown that lie far from the true ones."""
    return int(np.count_nonzero(np.abs(heart.bpm - true) > 15))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_good_heart_is_kept_whole(seed: int) -> None:
    """Of mornings whose strap had no fault nothing is left out, excitement before the start and standing included."""
    track, true = mornings()[seed]
    heart = cleaned_heart(track.time_s, true, track.speed_ms)
    assert heart.kept == 1.0
    assert heart.messages == ()


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("factor", [2.0, 0.5])
@pytest.mark.parametrize("seconds", [60, 120, 240, 420])
@pytest.mark.parametrize("at", ["start", "end"])
def test_none_is_shown_that_is_counted_wrongly_at_an_end(seed: int, factor: float, seconds: int, at: str) -> None:
    """Rates doubled or halved for minutes at the very start or end are left out and said, and only they."""
    track, true = mornings()[seed]
    wrong = slice(true.size - seconds, None) if at == "end" else slice(0, seconds)
    bpm = true.copy()
    bpm[wrong] = np.round(factor * bpm[wrong])
    heart = cleaned_heart(track.time_s, bpm, track.speed_ms)
    assert _wrong(heart, true) == 0
    assert set(_codes(heart)) <= {"heart_doubled", "heart_doubtful", "heart_impossible"}
    assert sum(_codes(heart).values()) == seconds
    assert heart.kept == pytest.approx(1 - seconds / true.size)


def test_what_may_be_a_startle_is_not_called_miscounted() -> None:
    """A heart that doubles at the walk within a second and comes down over a minute is the horse's own, and is kept."""
    time, speed = np.arange(1500.0), np.full(1500, 1.6)
    bpm = np.full(1500, 60.0) + np.random.default_rng(3).integers(-2, 3, 1500)
    bpm[300:] += 62 * np.exp(-(time[300:] - 300) / 40)
    heart = cleaned_heart(time, np.round(bpm), speed)
    assert heart.messages == ()
    assert heart.kept == 1.0


def test_where_nothing_tells_it_is_said_and_nothing_is_concluded() -> None:
    """Without speed a jump from 95 to 48 that stays has two sides, of which the shorter is left out as doubtful."""
    rng = np.random.default_rng(4)
    bpm = np.round(np.where(np.arange(1200) < 900, 95.0, 47.5) + rng.normal(0, 1, 1200))
    heart = cleaned_heart(np.arange(1200.0), bpm, np.full(1200, np.nan))
    assert _codes(heart) == {"heart_doubtful": 300}
    assert heart.kept == pytest.approx(0.75)
    assert heart.messages[0].text.endswith("on one side of a jump to half or twice: nothing tells which side is true")


def test_of_two_sides_as_long_as_each_other_none_is_believed() -> None:
    """Where both sides lasted about as long, neither is the rest that could be believed."""
    rng = np.random.default_rng(5)
    bpm = np.round(np.where(np.arange(1200) < 650, 95.0, 47.5) + rng.normal(0, 1, 1200))
    heart = cleaned_heart(np.arange(1200.0), bpm, np.full(1200, np.nan))
    assert heart.kept == 0.0
    assert _codes(heart) == {"heart_doubtful": 1200}


def test_a_side_that_no_heart_can_be_is_the_wrong_one_however_long_it_is() -> None:
    """A gallop at 100 beats was counted by half, although that side is the longer one."""
    track, true = mornings()[0]
    last = np.searchsorted(track.time_s, track.time_s[-1] - 300)
    bpm = true.copy()
    bpm[:last] = np.round(bpm[:last] / 2)
    heart = cleaned_heart(track.time_s, bpm, track.speed_ms)
    assert _wrong(heart, true) == 0
    assert _codes(heart) == {"heart_doubled": last}


def test_a_strap_that_comes_back_halved_after_a_pause_is_told() -> None:
    """A strap that missed for 20 s at the walk, and beat at half before it, does not count before it."""
    time, speed = np.arange(1500.0), np.full(1500, 1.6)
    true = np.round(80 + np.random.default_rng(6).normal(0, 2, 1500))
    bpm = true.copy()
    bpm[:180] = np.round(bpm[:180] / 2)
    bpm[180:200] = np.nan
    heart = cleaned_heart(time, bpm, speed)
    assert _codes(heart) == {"heart_doubled": 180}
    assert _wrong(heart, true) == 0


def test_no_recovery_is_told_of_a_stretch_that_was_counted_wrongly() -> None:
    """Of a heart that is doubled from the pulling up to the end no recovery is told."""
    track, true = mornings()[0]
    work_end = float(track.time_s[np.flatnonzero(track.speed_ms > 12)[-1]]) + 20
    after = track.time_s >= work_end + 30
    heart = cleaned_heart(track.time_s, np.where(after, 2 * true, true), track.speed_ms)
    told = recovery(replace(track, heart_bpm=heart.bpm), work_end)
    assert not any(np.isfinite(one.bpm) for one in told)
