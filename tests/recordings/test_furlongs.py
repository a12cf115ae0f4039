"""Furlongs and their errors, against arithmetic, a simulation of the error, and mornings of known truth."""

from dataclasses import replace

import numpy as np
import pytest

from clocked_mornings import clocked, erring, track_of_speeds
from upsides.recordings.bouts.along import MEMORY_S, Along, along_of
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.bouts.measuring import measures

FURLONG_M = 201.168


def whole(track: object) -> Bout:
    time = track.time_s  # type: ignore[attr-defined]
    return Bout("fast", float(time[0]), float(time[-1]), 1.0)


def test_an_even_speed_gives_even_furlongs() -> None:
    """At 16 m/s each furlong of 201.168 m takes 12.573 s, and what is left of the last one is not clocked."""
    track = track_of_speeds(np.full(61, 16.0), rate_hz=1.0)
    found = measures(track, whole(track))
    assert [f.seconds for f in found.furlongs] == pytest.approx([12.573] * 4, abs=1e-6)
    assert [f.end_m for f in found.furlongs] == pytest.approx([FURLONG_M * k for k in (1, 2, 3, 4)])
    assert found.metres == pytest.approx(960.0)
    assert found.mean_ms == pytest.approx(16.0)


def test_a_horse_that_quickens_is_clocked_so() -> None:
    """From 14 m/s with 0.05 m/s^2 the first furlongs take what s = 14 t + 0.025 t^2 says, to a thousandth."""
    time = np.arange(0.0, 60.0, 0.2)
    track = track_of_speeds(14.0 + 0.05 * time, rate_hz=5.0)
    passed = (-14.0 + np.sqrt(14.0**2 + 4.0 * 0.025 * FURLONG_M * np.arange(4))) / 0.05
    found = [f.seconds for f in measures(track, whole(track)).furlongs[:3]]
    assert found == pytest.approx(np.diff(passed), abs=1e-3)


def test_a_bout_is_cut_between_fixes() -> None:
    """A bout from 10.4 to 20.7 s of a track of one fix a second at 12 m/s is 10.3 s and 123.6 m long."""
    track = track_of_speeds(np.full(40, 12.0))
    along = along_of(track, Bout("canter", track.time_s[0] + 10.4, track.time_s[0] + 20.7, 1.0))
    assert along.metres == pytest.approx(123.6)
    assert along.time_s[-1] - along.time_s[0] == pytest.approx(10.3)


def test_rise_is_end_above_start() -> None:
    """On ground that rises 2 %, a bout of 960 m rises 19.2 m; without heights its rise is not known."""
    track = track_of_speeds(np.full(61, 16.0))
    climbing = replace(track, height_m=0.02 * track.along_m)
    assert measures(climbing, whole(track)).rise_m == pytest.approx(19.2)
    flat = replace(track, height_m=np.full(61, np.nan))
    assert np.isnan(measures(flat, whole(track)).rise_m)


@pytest.mark.parametrize("seconds", [2.0, 12.0, 40.0])
def test_metres_err_as_the_formula_says(seconds: float) -> None:
    """With 4000 drawn errors of speed that last as stated, metres err by `gone_sd`, to four standard errors."""
    rng = np.random.default_rng(1)
    rate, draws = 10.0, 4000
    count = int(seconds * rate) + 1
    errors = [erring(rng, np.zeros(count), 0.2, MEMORY_S * rate) for _ in range(draws)]
    gone = np.trapezoid(np.array(errors), dx=1.0 / rate, axis=1)
    time = np.arange(count) / rate
    along = Along(
        time, 16.0 * time, np.full(count, 16.0), np.full(count, 0.2), np.full(count, 1e6), np.full(count, np.nan)
    )
    stated = float(along.gone_sd(time[:1], time[-1:])[0])
    assert gone.std() == pytest.approx(stated, rel=4.0 / np.sqrt(2.0 * draws) + 0.01)


def test_metres_are_no_worse_known_than_both_places() -> None:
    """A hundred seconds of speeds known to 2 m/s between places known to 1 m err by a few metres, not by forty."""
    track = track_of_speeds(np.full(101, 10.0), sd_ms=2.0)
    along = along_of(track, whole(track))
    far = along.gone_sd(along.time_s[:1], along.time_s[-1:])[0]
    assert 1.4 < far < 5.0
    blind = along_of(replace(track, position_sd_m=np.full(101, np.nan)), whole(track))
    assert blind.gone_sd(along.time_s[:1], along.time_s[-1:])[0] > 30.0


def test_true_furlongs_lie_within_their_errors() -> None:
    """On simulated mornings 90 to 99 % of true furlong times lie within two standard deviations, half within 0.15 s."""
    off, stated = [], []
    for each in clocked():
        for piece in pieces_of(bouts_of(each.track)):
            begin = each.true_metres(piece.start_s)
            for furlong in measures(each.track, piece).furlongs:
                true = np.diff(each.true_moments(begin + np.array([furlong.begin_m, furlong.end_m])))[0]
                off.append(furlong.seconds - true)
                stated.append(furlong.sd_s)
    z = np.abs(np.array(off) / np.array(stated))
    assert z.size > 150
    assert 0.90 < np.mean(z < 2.0) < 0.99
    assert np.median(np.abs(off)) < 0.15
    assert abs(np.mean(off)) < 4.0 * np.std(off) / np.sqrt(z.size)


def test_true_metres_lie_within_their_errors() -> None:
    """On simulated mornings at least 85 % of true distances of pieces of work lie within two standard deviations."""
    z = []
    for each in clocked():
        for piece in pieces_of(bouts_of(each.track)):
            found = measures(each.track, piece)
            z.append(
                (found.metres - float(np.diff(each.true_metres(np.array([piece.start_s, piece.end_s])))[0]))
                / found.metres_sd
            )
    assert np.mean(np.abs(z) < 2.0) > 0.85
    assert np.median(np.abs(z)) < 1.2
