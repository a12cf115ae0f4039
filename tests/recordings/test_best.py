"""The fastest furlongs of a bout, against arithmetic and a search of every tenth of a second."""

import numpy as np
import pytest

from clocked_mornings import clocked, track_of_speeds
from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.best import fastest
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.bouts.measuring import measures

FURLONG_M = 201.168


def test_the_fast_part_is_found() -> None:
    """Of 30 s at 10 m/s, 20 s at 16 and 30 s at 10, the fastest furlong is 12.573 s and begins in the fast part."""
    speed = np.concatenate([np.full(300, 10.0), np.full(201, 16.0), np.full(300, 10.0)])
    track = track_of_speeds(speed, rate_hz=10.0)
    best = fastest(along_of(track, Bout("fast", track.time_s[0], track.time_s[-1], 1.0)), 1)
    assert best is not None
    assert best.seconds == pytest.approx(12.573, abs=1e-6)
    assert 30.0 <= best.start_s - track.time_s[0] + 1e-6 <= 50.0 - 12.573 + 0.1


def test_a_short_bout_has_no_best() -> None:
    """A bout of 500 m has a best furlong and a best two furlongs, no best three and five."""
    track = track_of_speeds(np.full(51, 10.0))
    found = measures(track, Bout("canter", track.time_s[0], track.time_s[-1], 1.0)).bests
    assert [best.furlongs for best in found] == [1, 2]


def test_nothing_is_faster_than_the_fastest() -> None:
    """No window of 1, 2, 3 or 5 furlongs that begins at any tenth of a second of simulated work is faster."""
    for each in clocked()[:4]:
        for piece in pieces_of(bouts_of(each.track)):
            along = along_of(each.track, piece)
            for furlongs in (1, 2, 3, 5):
                best = fastest(along, furlongs)
                if best is None:
                    continue
                begins = np.arange(piece.start_s, piece.end_s, 0.1)
                ends = along.when(along.gone(begins) + furlongs * FURLONG_M)
                assert best.seconds <= np.nanmin(ends - begins) + 1e-9


def test_best_furlongs_are_near_the_truth() -> None:
    """On simulated mornings the fastest three furlongs are within 2 % of the true fastest in nine of ten works."""
    off = []
    for each in clocked():
        for piece in pieces_of(bouts_of(each.track)):
            best = fastest(along_of(each.track, piece), 3)
            if best is None:
                continue
            begins = np.arange(piece.start_s, piece.end_s, 0.1)
            metres = each.true_metres(begins) + 3 * FURLONG_M
            took = each.true_moments(metres) - begins
            true = took[metres <= each.true_metres(piece.end_s)].min()
            off.append(best.seconds / true - 1.0)
    assert len(off) > 20
    assert np.mean(np.abs(off) < 0.02) >= 0.9
