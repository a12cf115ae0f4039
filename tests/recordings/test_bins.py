"""Metres and strides by speed, against arithmetic and the published strides."""

from dataclasses import replace

import numpy as np
import pytest

from clocked_mornings import track_of_speeds
from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.bins import COUNT, binned
from upsides.recordings.bouts.bout import Bout
from upsides.recordings.bouts.gaits import Kind
from upsides.recordings.bouts.measuring import measures
from upsides.recordings.bouts.strides import Striding, stride_length


def whole(track: object) -> Bout:
    time = track.time_s  # type: ignore[attr-defined]
    return Bout("fast", float(time[0]), float(time[-1]), 1.0)


def test_an_even_speed_fills_one_step() -> None:
    """A minute at 16.2 m/s is 972 m in the step from 16 to 16.5, and nothing elsewhere."""
    track = track_of_speeds(np.full(61, 16.2))
    bins = binned(along_of(track, whole(track)))
    assert bins.metres[32] == pytest.approx(972.0)
    assert bins.metres.sum() == pytest.approx(972.0)
    assert bins.seconds[32] == pytest.approx(60.0)
    assert (bins.metres_above(14.0), bins.metres_above(16.5)) == (pytest.approx(972.0), 0.0)


def test_nothing_is_lost() -> None:
    """Whatever the speeds, above 22 m/s too, the steps add up to the metres and seconds of the bout."""
    speed = np.abs(np.random.default_rng(2).normal(9.0, 9.0, 400))
    track = track_of_speeds(speed, rate_hz=5.0)
    found = measures(track, whole(track))
    assert found.bins.metres.shape == (COUNT,)
    assert found.bins.metres.sum() == pytest.approx(found.metres)
    assert found.bins.seconds.sum() == pytest.approx(found.bout.seconds)
    assert speed.max() > 22.0


@pytest.mark.parametrize("kind", ["stand", "walk", "trot"])
def test_a_leap_of_the_receiver_is_no_speed_of_a_slow_gait(kind: Kind) -> None:
    """Two seconds at 16 m/s in a minute of walk are no highest speed and no metres at canter or faster, and none is
    lost; nor is it in a canter; six seconds of it are a speed that was held."""
    speed = np.full(61, 1.7)
    speed[30:32] = 16.0
    track = track_of_speeds(speed)
    found = measures(track, replace(whole(track), kind=kind))
    assert found.top_ms == pytest.approx(1.7, abs=0.01)
    assert found.bins.metres_above(6.5) == 0.0
    assert found.bins.metres.sum() == pytest.approx(found.metres)
    hacked = np.full(61, 9.0)
    hacked[30:32] = 20.0
    track = track_of_speeds(hacked)
    assert measures(track, replace(whole(track), kind="canter")).bins.metres_above(11.0) == 0.0
    speed[30:37] = 16.0
    held = track_of_speeds(speed)
    assert measures(held, replace(whole(held), kind="canter")).top_ms == pytest.approx(16.0, abs=0.01)


def test_strides_are_as_long_as_published() -> None:
    """4.46 m at 9 m/s and 7.12 at 17 (Witte et al. 2006); racing's 7.08 (0.39) m and 28.32 (1.56) strides a 200 m at
    16.63 m/s (Morrice-West et al. 2021) within one standard deviation."""
    length = stride_length(np.array([9.0, 17.0, 16.63]))
    assert length[:2] == pytest.approx([4.46, 7.12], abs=0.005)
    assert abs(length[2] - 7.08) < 0.39
    assert abs(200.0 / length[2] - 28.32) < 1.56


def test_loading_cycles_are_near_those_published() -> None:
    """44 km of canter are taken for about 7700 strides and 6 km of gallop for 880 (Verheyen et al. 2006): 5.71 and 6.82
    m a stride, which the line has at 12.8 and 16.1 m/s, a fast canter and a usual gallop."""
    assert stride_length(np.array([12.77, 16.09])) == pytest.approx([44_000 / 7700, 6000 / 880], abs=0.01)


def test_strides_of_walk_and_trot_are_not_made_up() -> None:
    """Without a recording of them, strides below the canter are not known; those above a split in a canter are."""
    track = track_of_speeds(np.concatenate([np.full(60, 3.5), np.full(60, 9.0)]))
    bins = binned(along_of(track, whole(track)))
    assert np.isnan(bins.strides[7])
    assert bins.strides_above(9.0) == pytest.approx(bins.metres_above(9.0) / 4.455)
    assert np.isnan(bins.strides_above(3.0))
    assert bins.counted == 0.0


def test_measured_strides_are_used() -> None:
    """Where 2.3 strides a second were measured for half of a minute, that half has 69 strides, the rest the line's."""
    track = track_of_speeds(np.full(61, 16.2))
    middles = track.time_s[0] + np.array([3.0, 9.0, 15.0, 21.0, 27.0, 33.0, 39.0])
    rates = np.array([2.3] * 5 + [np.nan] * 2)
    bins = binned(along_of(track, whole(track)), Striding(middles, rates, np.full(7, 0.01)))
    assert bins.counted == pytest.approx(0.5, abs=0.03)
    line = 16.2 / stride_length(np.array([16.2]))[0]
    share = bins.counted
    assert bins.strides_above(14.0) == pytest.approx(60.0 * (share * 2.3 + (1.0 - share) * line))
