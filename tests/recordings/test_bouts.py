"""Bouts: the model against enumeration, simulated mornings against their truth, and people who never gallop."""

import os
from dataclasses import replace
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from clocked_mornings import clocked, track_of_speeds
from upsides.demo.morning_sim.moving import FAST
from upsides.errors import UpsidesError
from upsides.recordings.bouts.bout import Bout, bouts_of, pieces_of
from upsides.recordings.bouts.gaits import KINDS, USUAL, Settings, faster_than, weights
from upsides.recordings.bouts.segments import how_probable, most_probable
from upsides.recordings.measuring import measured
from upsides.recordings.opening import read_path
from upsides.recordings.tracking import tracks_of

Floats = NDArray[np.float64]


def log_chance(path: tuple[int, ...], E: Floats, least: list[int], ends: Floats, A: Floats) -> float:
    """Logarithm of a path's chance with its observations, written out run by run; -inf where a run is too short."""
    cuts = [0, *(t for t in range(1, len(path)) if path[t] != path[t - 1]), len(path)]
    total = sum(E[t, j] for t, j in enumerate(path))
    for run, (a, b) in enumerate(pairwise(cuts)):
        gait, last = path[a], b == len(path)
        # The first run was under way before and old enough; each later one begins at age one.
        ages = [least[gait] + k for k in range(b - a)] if run == 0 else [1 + k for k in range(b - a)]
        for k, age in enumerate(ages):
            leaves = k == len(ages) - 1 and not last
            stays = not leaves and k < len(ages) - 1
            if leaves and age < least[gait]:
                return -np.inf
            if age >= least[gait]:
                total += np.log(ends[gait]) if leaves else np.log(1 - ends[gait]) if stays else 0.0
        if not last:
            total += np.log(A[gait, path[b]])
    return float(total)


@pytest.mark.parametrize("seed", range(6))
def test_the_model_is_what_enumeration_says(seed: int) -> None:
    """Of all 3^8 paths the kernel's is the most probable, and its gaits are as probable as the sum over all says."""
    rng = np.random.default_rng(seed)
    n, k = 8, 3
    E = np.log(rng.uniform(0.05, 1.0, (n, k)))
    least = [int(v) for v in rng.integers(1, 4, k)]
    ends = rng.uniform(0.1, 0.6, k)
    A = rng.uniform(0.1, 1.0, (k, k)) * (1 - np.eye(k))
    A /= A.sum(axis=1, keepdims=True)
    paths = list(product(range(k), repeat=n))
    chances = np.array([log_chance(path, E, least, ends, A) for path in paths])
    found, sure = np.zeros(n, dtype=np.int64), np.zeros(n)
    most_probable(E, np.array(least), ends, A, found)
    how_probable(E, np.array(least), ends, A, found, sure)
    assert log_chance(tuple(found), E, least, ends, A) == pytest.approx(chances.max(), abs=1e-10)
    weight = np.exp(chances)
    at = np.array(paths)
    by_sum = np.array([weight[at[:, t] == found[t]].sum() for t in range(n)]) / weight.sum()
    assert sure == pytest.approx(by_sum, abs=1e-10)


def test_a_wide_error_says_little() -> None:
    """A speed of 9 m/s tells canter from trot when it is known to 0.1 m/s, and hardly when known to 6."""
    known, vague = (weights(np.array([9.0]), np.array([sd]), USUAL)[0] for sd in (0.1, 6.0))
    trot, canter = KINDS.index("trot"), KINDS.index("canter")
    assert known[canter] - known[trot] > 6.0
    assert 0.0 < vague[canter] - vague[trot] < 1.5


def kinds(speeds: list[tuple[float, int]], settings: Settings = USUAL) -> list[tuple[str, float]]:
    """Bouts of a track of so many seconds at each speed."""
    speed = np.concatenate([np.full(seconds, value) for value, seconds in speeds])
    return [(bout.kind, bout.seconds) for bout in bouts_of(track_of_speeds(speed), settings)]


def test_fast_begins_above_14_and_ends_below_13() -> None:
    """What rises to 13.4 m/s is canter, what falls to 13.6 stays fast (exercise-science 10: above 14, below 13)."""
    assert [kind for kind, _ in kinds([(9.0, 60), (13.4, 40), (9.0, 60)])] == ["canter"]
    found = kinds([(9.0, 60), (15.0, 30), (13.6, 20), (9.0, 61)])
    assert [kind for kind, _ in found] == ["canter", "fast", "canter"]
    assert found[1][1] == pytest.approx(50.0, abs=2.0)


def test_a_short_gap_does_not_end_fast_work() -> None:
    """Fast work with 3 s at 12 m/s in it is one bout, with 15 s it is two (exercise-science 10: gaps under 5 s)."""
    assert [kind for kind, _ in kinds([(9.0, 60), (15.5, 20), (12.0, 3), (15.5, 20), (9.0, 60)])].count("fast") == 1
    assert [kind for kind, _ in kinds([(9.0, 60), (15.5, 20), (12.0, 15), (15.5, 20), (9.0, 60)])].count("fast") == 2


def test_a_leap_of_one_second_is_no_bout() -> None:
    """One second at 15 m/s in a walk is a fault of the receiver and makes no bout."""
    assert [kind for kind, _ in kinds([(1.7, 60), (15.0, 1), (1.7, 60)])] == ["walk"]


def test_a_yard_may_split_elsewhere() -> None:
    """A canter of 13.6 m/s is fast where the yard splits at 13 m/s (Queensland: Crawford et al. 2021), not as usual."""
    work = [(8.0, 60), (13.6, 40), (8.0, 60)]
    queensland = faster_than(13.0, "Crawford et al. 2021, Animals 11:270")
    assert "fast" in [kind for kind, _ in kinds(work, queensland)]
    assert "fast" not in [kind for kind, _ in kinds(work)]


def test_a_gap_parts_bouts() -> None:
    """A walk on both sides of a gap is two bouts, neither of which reaches into it; no speed at all is none."""
    track = track_of_speeds(np.full(120, 1.7))
    time = track.time_s + np.where(np.arange(120) >= 60, 100.0, 0.0)
    parted = replace(track, time_s=time, stretch=(np.arange(120) >= 60).astype(np.int64))
    first, second = bouts_of(parted)
    assert (first.kind, second.kind) == ("walk", "walk")
    assert first.end_s == pytest.approx(time[59])
    assert second.start_s == pytest.approx(time[60])
    assert bouts_of(replace(track, speed_ms=np.full(120, np.nan))) == ()


def test_pieces_join_canter_and_fast_work() -> None:
    """Canter, fast, canter make one fast piece; a walk parts it from the next."""
    bouts = (
        Bout("trot", 0.0, 10.0, 1.0),
        Bout("canter", 10.0, 40.0, 0.9),
        Bout("fast", 40.0, 80.0, 0.8),
        Bout("canter", 80.0, 90.0, 0.9),
        Bout("walk", 90.0, 300.0, 1.0),
        Bout("canter", 300.0, 400.0, 1.0),
    )
    assert pieces_of(bouts) == (
        Bout("fast", 10.0, 90.0, pytest.approx(0.85)),  # type: ignore[arg-type]
        Bout("canter", 300.0, 400.0, 1.0),
    )


def test_a_canter_of_less_than_a_furlong_is_no_work() -> None:
    """A canter of 160 m beside one of 1,080 m is a bout and no work; fast work is one however short."""
    track = track_of_speeds(np.repeat([1.7, 8.0, 1.7, 9.0, 1.7, 16.0, 1.7], [60, 20, 60, 120, 60, 11, 60]))
    bouts = bouts_of(track)
    assert [one.kind for one in bouts if one.kind in {"canter", "fast"}] == ["canter", "canter", "fast"]
    told = measured(track)
    assert [one.kind for one in told.works] == ["canter", "fast"]
    assert told.works[0].metres == pytest.approx(1080.0, abs=30.0)
    assert [one.kind for one in told.bouts].count("canter") == 2


def test_mornings_are_told_as_they_were() -> None:
    """On simulated mornings more than 98.5 % of seconds have their true gait, and the model thinks about as many do."""
    right, thought, seconds = 0, 0.0, 0
    for each in clocked():
        for bout in bouts_of(each.track):
            middles = np.arange(bout.start_s + 0.5, bout.end_s)
            true = each.truth.gait[np.searchsorted(each.truth.time_s, middles).clip(max=each.truth.gait.size - 1)]
            right += int(np.count_nonzero(true == KINDS.index(bout.kind)))
            thought += bout.sure * middles.size
            seconds += middles.size
    assert right / seconds > 0.985
    assert thought / seconds == pytest.approx(right / seconds, abs=0.01)


def test_fast_work_is_found_where_it_was() -> None:
    """Every morning has as many fast bouts as it had, each beginning and ending within 2.5 s of the truth.

    Work that a gap of the receiver broke is left out.
    """
    checked = 0
    for each in clocked():
        on = np.concatenate([[False], each.truth.gait == FAST, [False]]).astype(np.int64)
        true = list(zip(np.flatnonzero(np.diff(on) == 1), np.flatnonzero(np.diff(on) == -1) - 1, strict=True))
        if any(each.broken(each.truth.time_s[a], each.truth.time_s[b]) for a, b in true):
            continue
        fast = [bout for bout in bouts_of(each.track) if bout.kind == "fast"]
        assert len(fast) == len(true)
        for bout, (a, b) in zip(fast, true, strict=True):
            checked += 1
            assert bout.start_s == pytest.approx(each.truth.time_s[a], abs=2.5)
            assert bout.end_s == pytest.approx(each.truth.time_s[b], abs=2.5)
    assert checked > 8


RECORDINGS = Path(os.environ.get("UPSIDES_SHARED", Path(__file__).parents[2].parent / "shared/data")) / "recordings"
ON_FOOT = ("run", "hike", "ski", "block_2013_06")


@pytest.mark.skipif(not RECORDINGS.exists(), reason="the shared recordings are not here")
def test_people_on_foot_never_work_fast() -> None:
    """In no recording of a run, a walk or a ski tour is there fast work, and less than 1 % of their time is canter.

    A runner's mile at 5 to 7 m/s (19 June 2013) looks like a slow canter by speed alone, and is left out for its speed.
    """
    canter, seconds, files = 0.0, 0.0, 0
    for path in sorted(
        path for path in RECORDINGS.rglob("*") if path.is_file() and any(w in str(path) for w in ON_FOOT)
    ):
        try:
            tracks = [track for recording in read_path(path) for track in tracks_of(recording)]
        except UpsidesError:
            continue
        for track in tracks:
            bouts = bouts_of(track)
            assert "fast" not in {bout.kind for bout in bouts}, path.name
            if not bouts or np.nanpercentile(track.speed_ms, 90) > 5.5:
                continue
            files += 1
            canter += sum(bout.seconds for bout in bouts if bout.kind == "canter")
            seconds += sum(bout.seconds for bout in bouts)
    assert files > 25
    assert canter / seconds < 0.01
