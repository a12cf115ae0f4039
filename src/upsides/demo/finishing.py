"""How a race of the invented country ends, and what is published of it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.demo.clock import Splits, judged, par_seconds, splits
from upsides.demo.country import Ground, pounds_per_length
from upsides.demo.courses import Course, Trip
from upsides.demo.horses import Floats, Ints
from upsides.demo.running import STANDARD_LB, Truth

_MISHAPS = (("pulled_up", 0.004), ("unseated", 0.001), ("left_at_start", 0.0007), ("fell", 0.0004))
_DISQUALIFIED = 0.0006


@dataclass(frozen=True, slots=True)
class Finish:
    """What came of a race.

    Args:
        outcome: one word of the schema's outcomes a starter, shape (n,).
        position: finishing positions, 0 for none, shape (n,).
        dead_heat: shared a position, shape (n,).
        lengths: published lengths behind the winner, NaN for none, shape (n,).
        margins: to the horse in front, as written.
        times: s, NaN for none, shape (n,).
        placing: indices of the finishers in order of finish.
        splits: of the finishers in order of finish.
    """

    outcome: list[str]
    position: Ints
    dead_heat: NDArray[np.bool_]
    lengths: Floats
    margins: list[str]
    times: Floats
    placing: Ints
    splits: Splits


def finish(
    rng: np.random.Generator,
    truth: Truth,
    carried_lb: Floats,
    front: Floats,
    course: Course,
    trip: Trip,
    ground: Ground,
) -> Finish:
    """Run the race and publish it; eased lengths are written into `truth`.

    Args:
        rng: source of chance.
        truth: of the starters, shape (n,).
        carried_lb: weight carried, claim taken off, shape (n,).
        front: running styles, shape (n,).
        course: where.
        trip: the start.
        ground: of the day.
    """
    early = float(rng.normal())
    outcome = _mishaps(rng, carried_lb.size)
    score = truth.figure() - truth.growth_gap - carried_lb
    alive = np.flatnonzero([word == "finished" for word in outcome])
    behind = (score[alive].max() - score[alive]) / pounds_per_length(trip.distance_m) * np.exp(0.13 * early)
    eased = _eased(rng, behind)
    truth.eased_lengths[alive] = eased
    shown = behind + eased
    shown -= shown.min()
    order = np.argsort(shown, kind="stable")
    lengths, margins = judged(shown[order])
    best = score[alive[order[0]]] + STANDARD_LB
    winning = _winning_time(rng, best, early, float(truth.eased_lengths[alive[order[0]]]), course, trip, ground)
    times = np.round(winning + lengths / ground.lengths_per_second, 2)
    placing = alive[order]
    return _published(rng, outcome, placing, lengths, margins, times, early, front, trip, ground)


def _published(
    rng: np.random.Generator,
    outcome: list[str],
    placing: Ints,
    lengths: Floats,
    margins: list[str],
    times: Floats,
    early: float,
    front: Floats,
    trip: Trip,
    ground: Ground,
) -> Finish:
    count = len(outcome)
    ranks = 1 + np.searchsorted(lengths, lengths, side="left")
    position, shared = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.bool_)
    position[placing] = ranks
    shared[placing] = np.isin(ranks, [rank for rank in ranks if (ranks == rank).sum() > 1])
    own_lengths, own_times = np.full(count, np.nan), np.full(count, np.nan)
    own_lengths[placing], own_times[placing] = lengths, times
    words = [""] * count
    for horse, text in zip(placing, margins, strict=True):
        words[horse] = text
    for rank in np.flatnonzero((ranks > 1) & ~shared[placing] & (rng.random(ranks.size) < _DISQUALIFIED)):
        outcome[placing[rank]] = "disqualified"
        position[position > ranks[rank]] -= 1
        position[placing[rank]] = 0
    way = splits(rng, times, trip.distance_m, early, front[placing], ground)
    return Finish(outcome, position, shared, own_lengths, words, own_times, placing, way)


def _mishaps(rng: np.random.Generator, count: int) -> list[str]:
    words = ["finished", *(word for word, _ in _MISHAPS)]
    odds = np.array([1 - sum(chance for _, chance in _MISHAPS), *(chance for _, chance in _MISHAPS)])
    drawn = [words[i] for i in rng.choice(len(words), count, p=odds)]
    return drawn if drawn.count("finished") >= 2 else ["finished"] * count


def _eased(rng: np.random.Generator, behind: Floats) -> Floats:
    eased = np.where(
        (behind > 6) & (rng.random(behind.size) < 0.35), rng.exponential(1.0, behind.size) * 0.3 * behind, 0.0
    )
    winner = int(np.argmin(behind))
    lead = float(np.partition(behind, 1)[1])
    if lead > 2.5 and rng.random() < 0.7:
        eased[winner] = lead * rng.uniform(0.2, 0.5)
    return eased


def _winning_time(
    rng: np.random.Generator,
    score_lb: float,
    early: float,
    eased: float,
    course: Course,
    trip: Trip,
    ground: Ground,
) -> float:
    per_lb = 1 / (pounds_per_length(trip.distance_m) * 6.0)
    par = par_seconds(trip.distance_m, course.seconds_per_km)
    ground_s = 0.011 * ground.softness * par if course.surface == "turf" else 0.004 * ground.softness * par
    pace_s = par * (0.0025 * early**2 - 0.003 * min(0.0, early))
    chance_s = float(rng.normal(0, 0.0015)) * par
    slower = (100 - score_lb) * per_lb + eased / ground.lengths_per_second
    return float(np.round(par + ground_s + pace_s + chance_s + slower, 2))
