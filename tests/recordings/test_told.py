"""How far a piece of work is told to have gone, against simulated mornings of known truth."""

from dataclasses import replace
from math import nan

import numpy as np
import pytest

from clocked_mornings import Clocked, clocked
from upsides.books.outings import kept, read
from upsides.demo.morning_sim.ground import PLANE, yard_gallops
from upsides.demo.morning_sim.moving import CANTER, FAST
from upsides.recordings.gallops.matching import moved
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.measured import Measured, OnGallop, Piece
from upsides.recordings.measuring import measured
from upsides.recordings.work import Split
from upsides.trade.units import FURLONG_M

YARD = dict(enumerate(yard_gallops()))


def _true(each: Clocked, work: Piece, gallop: Gallop, least: int) -> float:
    """Metres that the horse truly went on a gallop's line at a gait and faster, while it worked."""
    truth, line = each.truth, moved(gallop, PLANE)
    rows = np.flatnonzero((truth.time_s >= work.start_s) & (truth.time_s <= work.start_s + work.seconds))
    rows = rows[::5]
    east, north = line.at(np.arange(0.0, line.length_m, 2.0))
    off = np.hypot(truth.east_m[rows, None] - east, truth.north_m[rows, None] - north)
    nearest = off.argmin(axis=1)
    inside = (off.min(axis=1) < 15.0) & (line.closed | ((nearest > 0) & (nearest < east.size - 1)))
    return float(truth.speed_ms[rows][inside & (truth.gait[rows] >= least)].sum() * 0.5)


def test_what_is_told_is_what_was_at_pace_on_the_gallop() -> None:
    """On simulated mornings the metres told of fast work, and of canters, are those truly gone so on the gallop's line
    (to 60 m, 9 in 10 to 30 m), and none is longer than the gallop; whole pieces are longer by a furlong and more."""
    off, over = [], []
    for each in clocked():
        for work in measured(each.track, gallops=YARD).works:
            if work.gallop is None or each.broken(work.start_s, work.start_s + work.seconds):
                continue
            gallop = YARD[work.gallop.number]
            assert gallop.closed or work.told_m <= gallop.length_m
            off.append(work.told_m - _true(each, work, gallop, FAST if work.kind == "fast" else CANTER))
            over += [work.metres - work.told_m] if work.kind == "fast" else []
    assert len(off) > 20
    assert np.quantile(np.abs(off), 0.9) < 30.0
    assert np.abs(off).max() < 60.0
    assert np.median(over) > FURLONG_M


def _fast(gallop: OnGallop | None, fast_m: float = 900.0) -> Piece:
    return Piece("fast", 0.0, 100.0, 1400.0, nan, 14.0, 0.1, 16.0, gallop=gallop, fast_m=fast_m)


def test_off_a_gallop_the_fast_work_alone_counts() -> None:
    """On no gallop fast work is told by what of it was fast; a canter by all of it."""
    assert _fast(None).worked_m == (1400.0, 900.0)
    assert _fast(None).told_m == 900.0
    assert replace(_fast(None, 0.0), kind="canter").told_m == 1400.0


def test_fast_work_beyond_the_ends_of_a_gallop_is_told_as_off_it() -> None:
    """Where what was fast lay beyond the gallop's end, the whole is told, and not that nothing was fast."""
    assert _fast(OnGallop(1, True, 0.0, (), 1.0, 1000.0, 20.0)).worked_m == (1400.0, 900.0)


def test_works_kept_before_this_was_measured_are_told_between_their_marks() -> None:
    """Of a work of an earlier version the lengths between marks count, without a first in which it jumped off."""
    even, slow = Split(FURLONG_M, 13.5, 0.1), Split(FURLONG_M, 17.0, 0.1)
    before = _fast(OnGallop(1, True, 0.0, (slow, even, even, even), 1.0), nan)
    assert before.told_m == pytest.approx(3 * FURLONG_M)
    assert _fast(None, nan).told_m == 1400.0


@pytest.mark.parametrize(
    "on", [None, OnGallop(1, True, 201.2, (), 0.99, 950.4, 801.2), OnGallop(1, False, nan, (), 0.9)]
)
def test_it_is_kept_and_read(on: OnGallop | None) -> None:
    """The books keep how far it went on the gallop and how far of that fast, and works without them are read."""
    for fast_m in (900.0, nan):
        work = _fast(on, fast_m)
        (again,) = read(kept(Measured(works=(work,)))).works
        assert repr(again) == repr(work)
