"""Gallops: recognised, clocked at their marks, and drawn from tracks, against simulated works of known place."""

from functools import lru_cache

import numpy as np
import pytest

from clocked_mornings import clocked, track_of_speeds
from upsides.demo.morning_sim.ground import PLANE, beside, straight_on, yard_gallops
from upsides.demo.morning_sim.mover import draw_mover
from upsides.demo.morning_sim.programme import Leg, on_gallop
from upsides.demo.morning_sim.receiver import Receiver, recorded
from upsides.demo.morning_sim.truth import Truth, ridden
from upsides.errors import GallopLineError
from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.gallops.from_track import gallop_from
from upsides.recordings.gallops.marks import passings, sections
from upsides.recordings.gallops.matching import Match, moved, recognise
from upsides.recordings.gallops.shape import Gallop, furlong_marks, gallop_line
from upsides.recordings.plane import from_plane, to_plane
from upsides.recordings.track import Plane, Track
from upsides.recordings.tracking import track_of

FURLONG_M = 201.168
HILL, ROUND, LONG = yard_gallops()
BESIDE = gallop_line("beside the hill", PLANE, *beside((HILL.east_m, HILL.north_m), 40.0))
YARD = (HILL, ROUND, LONG, BESIDE)


@lru_cache(maxsize=64)
def worked(seed: int, name: str, begin_m: float, end_m: float) -> tuple[Truth, Track, Bout]:
    """A hack canter along a gallop between two places of its line, a walk before and after."""
    rng = np.random.default_rng(seed)
    gallop = next(each for each in YARD if each.name == name)
    mover = draw_mover(rng, "x")
    up = on_gallop(mover, gallop, "hack", begin_m, end_m, begin_m)
    first = up[0].line
    before = np.linspace(first[0][0] - 90.0, first[0][0], 20), np.linspace(first[1][0] - 40.0, first[1][0], 20)
    legs = [Leg("walk", before, mover.walk_ms), *up, Leg("walk", straight_on(up[-1].line, 60.0), mover.walk_ms)]
    truth = ridden(rng, mover, legs, 1.7e9)
    track = track_of(recorded(rng, truth, Receiver(trees=0, heart=False)))
    return truth, track, max(pieces_of(bouts_of(track)), key=lambda piece: piece.seconds)


def parts(gallop: Gallop) -> list[tuple[float, float]]:
    """All of it, its first and its last part, and the same the other way; of a circuit a round and a half."""
    length = gallop.length_m
    ways = [(5.0, length - 5.0), (0.0, 0.55 * length), (0.4 * length, length - 5.0)]
    if gallop.closed:
        ways = [(300.0, 1.8 * length), (0.8 * length, 1.6 * length), (5.0, 0.5 * length)]
    return ways + [(b, a) for a, b in ways]


@pytest.mark.parametrize("gallop", YARD, ids=lambda gallop: gallop.name)
def test_each_is_recognised(gallop: Gallop) -> None:
    """Each of four gallops, one of them 40 m beside another, is recognised both ways, whole and in part, and surely."""
    for seed, (begin, end) in enumerate(parts(gallop)):
        _, track, piece = worked(seed, gallop.name, begin, end)
        match = recognise(track, piece, YARD)
        assert match is not None
        assert (match.gallop.name, match.forward) == (gallop.name, end > begin)
        assert match.sure > 0.9


def test_works_of_usual_mornings_are_recognised() -> None:
    """Of the works of simulated mornings more than 95 % are laid on the gallop that they were done on, none on another
    or the wrong way round."""
    right, count = 0, 0
    for each in clocked():
        for piece in pieces_of(bouts_of(each.track)):
            works = [w for w in each.truth.works if w.start_s < piece.end_s and w.end_s > piece.start_s]
            if not works or piece.seconds < 40.0:
                continue
            count += 1
            match = recognise(each.track, piece, YARD[:3])
            assert match is None or (match.gallop.name == works[-1].gallop and match.forward)
            right += match is not None
    assert count > 25
    assert right / count > 0.95


def test_work_elsewhere_is_on_none() -> None:
    """A canter on the hill is on none where the yard has only the others, and on none of no gallops."""
    _, track, piece = worked(0, HILL.name, 5.0, HILL.length_m - 5.0)
    assert recognise(track, piece, (ROUND, LONG)) is None
    assert recognise(track, piece, ()) is None


def test_a_crossing_is_not_a_use() -> None:
    """A straight canter of a mile that crosses a gallop at a right angle is not on it."""
    track = track_of_speeds(np.full(180, 9.0))
    across = gallop_line("across", PLANE, np.full(100, 800.0), np.linspace(-500.0, 500.0, 100))
    along = gallop_line("along", PLANE, np.linspace(0.0, 1700.0, 100), np.full(100, 4.0))
    piece = Bout("canter", float(track.time_s[0]), float(track.time_s[-1]), 1.0)
    assert recognise(track, piece, (across,)) is None
    match = recognise(track, piece, (across, along))
    assert match is not None
    assert match.gallop.name == "along"
    assert match.aside_m == pytest.approx(4.0, abs=1e-6)
    assert match.place_m == pytest.approx(track.along_m[:-1], abs=0.05)


def true_passing(truth: Truth, gallop: Gallop, piece: Bout, place_m: float) -> float:
    """When the horse truly passed a place of a line: when the square to the line there was crossed, near the line."""
    during = (truth.time_s >= piece.start_s) & (truth.time_s <= piece.end_s)
    east, north = gallop.at(np.array([place_m]))
    e_way, n_way = gallop.heading(np.array([place_m]))
    off_east, off_north = truth.east_m[during] - east, truth.north_m[during] - north
    ahead = off_east * e_way + off_north * n_way
    near = np.hypot(off_east, off_north) < 25.0
    crossed = np.flatnonzero((np.sign(ahead[1:]) != np.sign(ahead[:-1])) & near[1:])
    if not crossed.size:
        return float("nan")
    first = crossed[0]
    part = ahead[first] / (ahead[first] - ahead[first + 1])
    return float(truth.time_s[during][first] + part * 0.1)


def all_matches() -> list[tuple[Truth, Track, Bout, Match]]:
    """Works of the usual mornings that were recognised."""
    out = []
    for each in clocked():
        for piece in pieces_of(bouts_of(each.track)):
            match = recognise(each.track, piece, YARD[:3])
            if match is not None:
                out.append((each.truth, each.track, piece, match))
    return out


def test_marks_are_clocked_within_their_errors() -> None:
    """Of true passings and true times between marks 90 % or more lie within two standard deviations; half of the times
    between marks are within 0.2 s."""
    at_mark, between, off = [], [], []
    for truth, track, piece, match in all_matches():
        along = along_of(track, piece)
        for passing in passings(match, along):
            true = true_passing(truth, match.gallop, piece, passing.place_m)
            at_mark.append((passing.time_s - true) / passing.sd_s)
        for section in sections(match, along):
            begin, end = (true_passing(truth, match.gallop, piece, m) for m in (section.begin_m, section.end_m))
            if section.end_m - section.begin_m == pytest.approx(FURLONG_M, abs=0.01):
                between.append((section.seconds - (end - begin)) / section.sd_s)
                off.append(section.seconds - (end - begin))
    passed, taken, wrong = (np.array(v)[np.isfinite(v)] for v in (at_mark, between, off))
    assert taken.size > 80
    assert np.mean(np.abs(passed) < 2.0) > 0.9
    assert np.mean(np.abs(taken) < 2.0) > 0.9
    assert np.median(np.abs(wrong)) < 0.2


def test_marks_are_passed_in_order_both_ways() -> None:
    """Up the hill the marks come from start to finish, down it from finish to start, each once, furlong by furlong."""
    for begin, end in ((5.0, HILL.length_m - 5.0), (HILL.length_m - 5.0, 5.0)):
        _, track, piece = worked(3, HILL.name, begin, end)
        match = recognise(track, piece, YARD)
        assert match is not None
        places = [passing.place_m for passing in passings(match, along_of(track, piece))]
        assert places == sorted(places, reverse=end < begin)
        assert len(places) >= 5
        assert all(section.seconds > 0.0 for section in sections(match, along_of(track, piece)))


def test_a_gallop_keeps_its_place_on_another_plane() -> None:
    """Moved to a plane 3 km away, its points lie at the same degrees to a centimetre."""
    other = Plane(PLANE.latitude + 0.02, PLANE.longitude - 0.03)
    there = moved(HILL, other)
    east, north = to_plane(PLANE, *from_plane(other, there.east_m, there.north_m))
    assert east == pytest.approx(HILL.east_m, abs=0.01)
    assert north == pytest.approx(HILL.north_m, abs=0.01)


def test_marks_stand_every_furlong() -> None:
    """A line of 1010 m has its fifth furlong mark at its finish; one of 1100 m has five, and a sixth at 1100 m."""
    assert furlong_marks(1010.0) == pytest.approx([FURLONG_M * k for k in range(5)] + [1010.0])
    assert furlong_marks(1100.0) == pytest.approx([FURLONG_M * k for k in range(6)] + [1100.0])


def distance_from(gallop: Gallop, true: Gallop) -> np.ndarray:
    """How far the points of a drawn line are from the true one, those beyond its ends left out."""
    places = np.arange(0.0, true.length_m, 0.5)
    east, north = true.at(places)
    line = moved(gallop, PLANE)
    off = np.hypot(line.east_m[:, None] - east, line.north_m[:, None] - north)
    nearest = off.argmin(axis=1)
    inside = (nearest > 0) & (nearest < places.size - 1) | true.closed
    return off.min(axis=1)[inside]


def test_a_line_is_drawn_from_tracks() -> None:
    """Out of three works up and two down the long gallop comes a line within 4 m of it, half of it within 1.5 m, about
    as long, which begins near where the three did, though one down is longest, and rises with the ground; out of one
    work, reflections and all, one within 15 m, half of it within 3 m."""
    works = [worked(seed, LONG.name, *ends) for seed, ends in enumerate([(5.0, 2000.0)] * 3 + [(2000.0, 5.0)] * 2)]
    drawn = gallop_from("new", [(track, piece) for _, track, piece in works])
    off = distance_from(drawn, LONG)
    assert off.max() < 4.0
    assert np.median(off) < 1.5
    assert not drawn.closed
    start = np.hypot(
        drawn.east_m[0] - moved(LONG, drawn.plane).east_m[0], drawn.north_m[0] - moved(LONG, drawn.plane).north_m[0]
    )
    assert start < 60.0
    assert 1950.0 < drawn.length_m < 2300.0
    assert drawn.rise_m / drawn.length_m == pytest.approx(LONG.rise_m / LONG.length_m, abs=0.006)
    alone = gallop_from("new", [(track, piece) for _, track, piece in works[:1]])
    assert distance_from(alone, LONG).max() < 15.0
    assert np.median(distance_from(alone, LONG)) < 3.0


def test_a_circuit_is_drawn_once_round() -> None:
    """Out of a canter of a round and three quarters comes a closed line of one round, its length right to 2 %, on which
    the next canter is recognised."""
    _, track, piece = worked(1, ROUND.name, 300.0, 1.75 * ROUND.length_m + 300.0)
    drawn = gallop_from("new round", [(track, piece)])
    assert drawn.closed
    assert drawn.length_m == pytest.approx(ROUND.length_m, rel=0.02)
    assert distance_from(drawn, ROUND).max() < 8.0
    _, later, other = worked(2, ROUND.name, 600.0, 1.9 * ROUND.length_m)
    match = recognise(later, other, (drawn, HILL))
    assert match is not None
    assert (match.gallop.name, match.forward) == ("new round", True)


def test_what_is_no_gallop_is_refused() -> None:
    """A line too short, a line with a gap, marks off the line, and work without positions are refused by name."""
    short, gap = np.linspace(0.0, 50.0, 5), np.array([0.0, np.nan, 500.0])
    with pytest.raises(GallopLineError, match=r"the short one.*50 m long"):
        gallop_line("the short one", PLANE, short, np.zeros(5))
    with pytest.raises(GallopLineError, match="gaps"):
        gallop_line("broken", PLANE, gap, np.zeros(3))
    with pytest.raises(GallopLineError, match="marks"):
        gallop_line("marked", PLANE, np.array([0.0, 500.0]), np.zeros(2), marks_m=np.array([0.0, 600.0]))
    with pytest.raises(GallopLineError, match="none of the work has positions"):
        gallop_from("nowhere", [])


def test_a_length_over_the_closing_of_a_circuit_is_what_was_gone() -> None:
    """Passed over its closing, a round's lengths between marks are furlongs: none is 1,408 m, and none is nothing.

    The last length of the round before it closes may be a part of a furlong.
    """
    truth, track, piece = worked(3, "the round", 0.6 * ROUND.length_m, 1.4 * ROUND.length_m)
    match = recognise(track, piece, YARD)
    assert match is not None
    assert match.gallop.closed
    lengths = [abs(one.end_m - one.begin_m) for one in sections(match, along_of(track, piece))]
    assert len(lengths) >= 4
    assert max(lengths) < FURLONG_M + 1
    assert min(lengths) > 1.0
    assert sum(lengths) <= ROUND.length_m + 1
    assert truth.works
