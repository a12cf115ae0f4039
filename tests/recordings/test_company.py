"""Horses that worked together, found from their tracks; truth is the simulated morning's."""

import tracemalloc
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from upsides.demo.morning_sim.company import Company as Ridden
from upsides.demo.morning_sim.company import pair
from upsides.demo.morning_sim.ground import PLANE, yard_gallops
from upsides.demo.morning_sim.morning import START_S, together
from upsides.demo.morning_sim.mover import draw_mover
from upsides.demo.morning_sim.programme import usual_morning
from upsides.demo.morning_sim.receiver import Receiver, recorded
from upsides.demo.morning_sim.truth import Truth
from upsides.recordings.bouts.along import along_of
from upsides.recordings.company import (
    LENGTH_M,
    Gaps,
    Outcome,
    Pair,
    Told,
    by_thumb,
    clocks_of,
    companies_of,
    gaps_of,
    led,
    paced,
    told,
)
from upsides.recordings.gallops.marks import passings
from upsides.recordings.gallops.matching import recognise
from upsides.recordings.track import Track
from upsides.recordings.tracking import track_of

Floats = NDArray[np.float64]
RATES = (1.0, 5.0, 10.0)
PAIRS = 10


@dataclass(frozen=True, eq=False)
class Morning:
    """A simulated pair: by how much the second's clock is ahead, the truths and the tracks."""

    clock_s: float
    truths: tuple[Truth, Truth]
    tracks: tuple[Track, Track]


@dataclass(frozen=True, eq=False)
class Worked:
    """One piece of work of a pair."""

    morning: Morning
    pair: Pair
    gaps: Gaps
    told: Told

    @property
    def true_finish_m(self) -> float:
        """By how much the first was truly in front at the finish, m."""
        truth = self.morning.truths[0]
        return float(np.interp(self.told.finish.time_s, truth.time_s, truth.ahead_m))


@cache
def mornings(rate_hz: float) -> tuple[Morning, ...]:
    """Return pairs of horses whose trackers' clocks differ by up to three seconds."""
    made = []
    for seed in range(PAIRS):
        clock = float(np.random.default_rng(9000 + seed).uniform(-3.0, 3.0))
        two = together(5000 + seed, (Receiver(rate_hz=rate_hz), Receiver(rate_hz=rate_hz, clock_s=clock)))
        tracks = track_of(two[0].recording), track_of(two[1].recording)
        made.append(Morning(clock, (two[0].truth, two[1].truth), tracks))
    return tuple(made)


@cache
def works(rate_hz: float) -> tuple[Worked, ...]:
    """Return all pieces of work of the pairs, told."""
    found = []
    for morning in mornings(rate_hz):
        first, second = morning.tracks
        for company in companies_of(morning.tracks):
            gaps = gaps_of(first, second, company.pairs[0])
            assert gaps is not None
            piece = company.pairs[0].pieces[0]
            match = recognise(first, piece, yard_gallops())
            marks = () if match is None else passings(match, along_of(first, piece))
            found.append(Worked(morning, company.pairs[0], gaps, told(gaps, marks)))
    return tuple(found)


def true_works(truth: Truth) -> int:
    """Return how many pieces of work a horse truly did: legs on gallops that follow each other are one."""
    gaps = [later.start_s - sooner.end_s for sooner, later in zip(truth.works[:-1], truth.works[1:], strict=True)]
    return 1 + sum(gap > 5.0 for gap in gaps)


def straight(start_s: float, *, speed_ms: float = 12.0, begin_m: float = 0.0, aside_m: float = 0.0) -> Track:
    """Return the track of a horse that stands for a minute, goes up a straight mile without an error, and stands."""
    time = np.arange(0.0, 300.0, 0.5)
    speed = np.where((time > 60.0) & (time < 60.0 + 1600.0 / abs(speed_ms)), abs(speed_ms), 0.0)
    along = np.cumsum(speed) * 0.5
    n = time.size
    return Track(
        plane=PLANE,
        time_s=START_S + start_s + time,
        east_m=np.full(n, aside_m),
        north_m=begin_m + np.sign(speed_ms) * along,
        position_sd_m=np.full(n, 0.5),
        speed_ms=speed,
        speed_sd_ms=np.full(n, 0.1),
        along_m=along,
        height_m=np.full(n, np.nan),
        gradient=np.full(n, np.nan),
        heart_bpm=np.full(n, np.nan),
        stretch=np.zeros(n, dtype=np.int64),
        kept=1.0,
        heart_kept=np.nan,
    )


@pytest.mark.parametrize("rate_hz", RATES)
def test_every_work_of_a_pair_is_found(rate_hz: float) -> None:
    """All works that two horses did together are found, though their clocks differ by seconds and one loses the sky."""
    assert len(works(rate_hz)) >= sum(true_works(morning.truths[0]) for morning in mornings(rate_hz))
    assert all(work.pair.share > 0.8 for work in works(rate_hz))


def test_clocks_are_known_with_their_error() -> None:
    """True differences of clocks lie within two standard deviations nine times in ten, and errors are below 0.2 s."""
    off = []
    for rate_hz in RATES:
        for morning in mornings(rate_hz):
            found = clocks_of(paced(morning.tracks[0]), paced(morning.tracks[1]))
            assert found.sd_s < 0.3
            off.append(((found.ahead_s - morning.clock_s), (found.ahead_s - morning.clock_s) / found.sd_s))
    error, standard = np.array(off).T
    assert np.mean(np.abs(standard) < 1.96) >= 0.9
    assert float(np.sqrt(np.mean(error**2))) < 0.2


def _with_gaps(track: Track, years: tuple[float, ...]) -> Track:
    """Return a track before which, so many years earlier each, its first minute was recorded too."""
    early = track.time_s < track.time_s[0] + 60.0
    parts = [(early, year) for year in years] + [(np.ones(len(track), dtype=np.bool_), 0.0)]
    rows = np.concatenate([np.flatnonzero(which) for which, _ in parts])
    back = np.concatenate([np.full(np.count_nonzero(which), year) for which, year in parts])
    number = np.concatenate([np.full(np.count_nonzero(which), at) for at, (which, _) in enumerate(parts)])
    columns = {
        name: getattr(track, name)[rows]
        for name in (
            "east_m",
            "north_m",
            "position_sd_m",
            "speed_ms",
            "speed_sd_ms",
            "height_m",
            "gradient",
            "heart_bpm",
        )
    }
    stretch = number * (track.stretch[-1] + 1) + track.stretch[rows]
    time = track.time_s[rows] - back * 365.25 * 86400.0
    return replace(track, time_s=time, along_m=track.along_m[rows], stretch=stretch, **columns)


def test_ten_years_between_two_fixes_take_no_room() -> None:
    """Files with a gap of ten years beside others of their day: the same company and gaps, in a few megabytes."""
    tracks = [straight(0.0), straight(1.0, aside_m=2.0)]
    (plain,) = companies_of(tracks)
    odd = [_with_gaps(tracks[0], (10.0, 5.0)), _with_gaps(tracks[1], (10.0,))]
    tracemalloc.start()
    (found,) = companies_of(odd)
    gaps = gaps_of(odd[0], odd[1], found.pairs[0])
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 20e6
    assert found.pairs[0].span == plain.pairs[0].span
    expected = gaps_of(tracks[0], tracks[1], plain.pairs[0])
    assert gaps is not None
    assert expected is not None
    np.testing.assert_allclose(gaps.ahead_m, expected.ahead_m, atol=0.5)


@pytest.mark.parametrize("rate_hz", RATES)
def test_gaps_cover_the_truth(rate_hz: float) -> None:
    """True gaps within a work lie in the 95 % range of what is said, 88 to 100 times in 100, and errors are honest."""
    standard, errors, said = [], [], []
    for work in works(rate_hz):
        truth = work.morning.truths[0]
        at_work = np.zeros(work.gaps.time_s.size, dtype=np.bool_)
        for leg in truth.works:
            at_work |= (work.gaps.time_s >= leg.start_s) & (work.gaps.time_s <= leg.end_s)
        off = work.gaps.ahead_m - np.interp(work.gaps.time_s, truth.time_s, truth.ahead_m)
        standard += (off / work.gaps.sd_m)[at_work].tolist()
        errors += off[at_work].tolist()
        said += work.gaps.sd_m[at_work].tolist()
    assert 0.88 <= np.mean(np.abs(standard) < 1.96) <= 1.0
    assert float(np.sqrt(np.mean(np.square(errors)))) == pytest.approx(float(np.mean(said)), rel=0.3)


def test_who_finished_in_front() -> None:
    """Of finishes two lengths apart or more nine in ten are ordered right, and of those that are called 85 in 100."""
    all_works = [work for rate_hz in RATES for work in works(rate_hz)]
    wide = [work for work in all_works if abs(work.true_finish_m) >= 2.0 * LENGTH_M]
    called = [work for work in all_works if work.told.finish.outcome.front]
    right = [np.sign(work.told.finish.outcome.ahead_m) == np.sign(work.true_finish_m) for work in wide]
    assert len(wide) >= 8
    assert np.mean(right) >= 0.9
    fronts = [(work.told.finish.outcome.front == "first") == (work.true_finish_m > 0) for work in called]
    assert np.mean(fronts) >= 0.85
    assert len(called) < len(all_works)


def test_who_led_at_each_mark() -> None:
    """At the marks of a known gallop the gap is told at the places of the marks, and the finish is its last one."""
    fast = [work for work in works(5.0) if work.pair.pieces[0].kind == "fast"]
    assert fast
    for work in fast:
        ends = [gallop.length_m for gallop in yard_gallops()]
        assert min(abs(work.told.finish.place_m - end) for end in ends) < 1e-6
        assert work.told.finish == work.told.marks[-1]
        moments = [mark.time_s for mark in work.told.marks]
        assert moments == sorted(moments)
        assert all(mark.outcome == work.gaps.at(mark.time_s) for mark in work.told.marks)


def test_without_a_gallop_furlongs_are_told() -> None:
    """Where the gallop is not known every furlong from the beginning is told, and the finish is where they went on."""
    one, other = straight(0.0), straight(0.0, begin_m=-5.0, aside_m=2.0)
    pair_ = companies_of([one, other])[0].pairs[0]
    gaps = gaps_of(one, other, pair_)
    assert gaps is not None
    found = told(gaps)
    assert [mark.place_m for mark in found.marks] == pytest.approx(
        [201.168 * k for k in range(1, len(found.marks) + 1)]
    )
    assert found.finish.outcome.ahead_m == pytest.approx(5.0, abs=1.5)
    assert found.finish.outcome.lengths == pytest.approx(found.finish.outcome.ahead_m / 2.4)


def test_strangers_are_never_paired() -> None:
    """Horses minutes apart on the same gallop, far beside at the same time, or going the other way were apart."""
    horse = straight(0.0)
    assert companies_of([horse, straight(0.0, begin_m=-5.0, aside_m=2.0)])
    others = {
        "two minutes later": straight(120.0),
        "a quarter of a minute later": straight(15.0),
        "forty metres beside": straight(0.0, aside_m=40.0),
        "the other way": straight(0.0, speed_ms=-12.0, begin_m=1600.0, aside_m=3.0),
        "in front by a furlong": straight(0.0, begin_m=201.0),
    }
    for what, other in others.items():
        assert not companies_of([horse, other]), what


def test_strangers_of_a_morning_are_never_paired() -> None:
    """The same pairs a quarter of an hour later are found again, and never with those that went before."""
    first = mornings(5.0)[0].tracks
    later = tuple(replace(track, time_s=track.time_s + 900.0) for track in mornings(5.0)[1].tracks)
    found = companies_of([*first, *later])
    assert {company.members for company in found} == {(0, 1), (2, 3)}


def test_three_upsides() -> None:
    """Three horses are one company, and of each two the one in front at the finish is the true one."""
    rng = np.random.default_rng(3)
    movers = [draw_mover(rng, f"horse {k}") for k in "abc"]
    hill, round_, _ = yard_gallops()
    legs = usual_morning(np.random.default_rng(4), movers[0], round_, hill)
    truths: list[Truth] = []
    for mover, home in ((movers[1], 8.0), (movers[2], -8.0)):
        first, second = pair(np.random.default_rng(5), movers[0], mover, legs, Ridden(0.0, home), START_S)
        truths = [*(truths or [first]), second]
    tracks = [track_of(recorded(np.random.default_rng(6 + k), truth, Receiver())) for k, truth in enumerate(truths)]
    found = companies_of(tracks)
    assert all(company.members == (0, 1, 2) for company in found)
    work = found[-1]
    assert [(pair_.first, pair_.second) for pair_ in work.pairs] == [(0, 1), (0, 2), (1, 2)]
    outcomes = []
    for pair_ in work.pairs:
        gaps = gaps_of(tracks[pair_.first], tracks[pair_.second], pair_)
        assert gaps is not None
        outcomes.append(told(gaps).finish.outcome)
    assert [one.front for one in outcomes] == ["second", "first", "first"]
    assert outcomes[2].ahead_m == pytest.approx(16.0, abs=8.0)


def test_a_thumb_says_the_same_in_its_own_error() -> None:
    """Gaps by one thumb over known marks cover the true ones 95 times in 100 (four Monte Carlo errors)."""
    rng = np.random.default_rng(8)
    marks, held = np.array([201.0, 402.0, 603.0]), []
    for _ in range(2000):
        speed, late = rng.uniform(14.0, 17.0), rng.normal(0.0, 0.3)
        first, second = marks / speed, marks / speed + late * marks / marks[-1]
        one, other = (
            [(mark, when + rng.normal(0.0, 0.15)) for mark, when in zip(marks, times, strict=True)]
            for times in (first, second)
        )
        (*_before, (at, found)) = by_thumb(one, other)
        assert (at, found.source) == (603.0, "thumb")
        held.append(abs(found.ahead_m - late * speed) < 1.96 * found.sd_m)
    assert abs(float(np.mean(held)) - 0.95) < 4.0 * np.sqrt(0.95 * 0.05 / 2000)
    assert by_thumb([(200.0, 13.0)], [(400.0, 26.0)]) == ()


def test_a_thumb_tells_each_common_mark() -> None:
    """Marks at which both were clocked are told in their order, at the mean of their speeds into each."""
    one, other = [(201.0, 13.0), (402.0, 25.5)], [(201.0, 13.2), (300.0, 19.0), (402.0, 25.8)]
    found = by_thumb(one, other)
    assert [at for at, _ in found] == [201.0, 402.0]
    assert found[0][1].ahead_m == pytest.approx(0.2 * 0.5 * (201.0 / 13.0 + 201.0 / 13.2))
    assert found[1][1].ahead_m == pytest.approx(0.3 * 0.5 * (201.0 / 12.5 + 102.0 / 6.8))


def test_who_led() -> None:
    """Who was in front at all marks that tell led; where both were, they took turns; too close says nothing."""
    ahead, behind, close = Outcome(4.0, 1.0, "tracker"), Outcome(-4.0, 1.0, "tracker"), Outcome(0.5, 1.0, "tracker")
    assert [led(marks) for marks in ([ahead, close], [close, behind], [ahead, behind], [close], [])] == [
        "first", "second", "turns", "", "",
    ]  # fmt: skip


def test_an_outcome_the_other_way() -> None:
    """Told from the other horse the gap turns its sign, and close ones are not called."""
    one = Outcome(3.0, 1.5, "thumb")
    assert one.other_way.ahead_m == -3.0
    assert (one.front, one.other_way.front, Outcome(1.0, 1.5, "thumb").front) == ("first", "second", "")


def test_tracks_without_positions_are_passed_over() -> None:
    """A horse whose tracker knew no place is in nobody's company, and does not disturb the others."""
    nowhere = replace(straight(0.0), plane=None)
    assert companies_of([nowhere]) == ()
    found = companies_of([nowhere, straight(0.0), straight(0.0, aside_m=2.0)])
    assert [company.members for company in found] == [(1, 2)]
