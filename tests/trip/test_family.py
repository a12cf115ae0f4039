"""What relatives say of a horse's trip, its own runs taken out."""

from datetime import date

import numpy as np
import pytest

from upsides.pedigree import Graph, graph_of
from upsides.trip.defaults import defaults
from upsides.trip.family import Family, family, foal_of, foal_runs, kin_runs, sprint_and_stay
from upsides.trip.own_word import own_words
from upsides.trip.population import Population
from upsides.trip.prior import Relatives, covariance_of, genetic, relatives_from
from upsides.trip.runs import Runs

GIVEN = defaults(date(2026, 1, 1))
P = Population(trip=2.95, trip_sd=0.35, ability=70.0, ability_sd=9.0, short=0.3, long=0.35, noise=0.9, passing=15.0)
SIRES, DAMS, FOALS = 60, 150, 450


def _world(seed: int) -> tuple[Graph, np.ndarray, Runs, np.ndarray, np.ndarray]:
    """Return a pedigree, where each foal stands in it, its runs, its true ability and trip, and the genetic part."""
    rng = np.random.default_rng(seed)
    sire = np.concatenate([np.full(SIRES + DAMS, -1), rng.integers(SIRES, size=FOALS)])
    dam = np.concatenate([np.full(SIRES + DAMS, -1), SIRES + rng.integers(DAMS, size=FOALS)])
    graph, order = graph_of(sire, dam)
    place = np.argsort(order)
    G, root = genetic(P, GIVEN), np.linalg.cholesky(genetic(P, GIVEN))
    u = np.zeros((sire.size, 2))
    u[: SIRES + DAMS] = rng.standard_normal((SIRES + DAMS, 2)) @ root.T
    for i in range(SIRES + DAMS, sire.size):
        u[i] = (u[sire[i]] + u[dam[i]]) / 2 + rng.standard_normal(2) @ root.T * np.sqrt(0.5)
    rest = np.linalg.cholesky(covariance_of(P) - G)
    true = u + rng.standard_normal((sire.size, 2)) @ rest.T + [P.ability, P.trip]
    foals = np.arange(SIRES + DAMS, sire.size)
    count = rng.integers(1, 9, FOALS)
    owner = np.repeat(np.arange(FOALS), count)
    x = np.clip(true[foals][owner, 1] + rng.normal(0, 0.25, owner.size), 2.3, 4.0)
    off = x - true[foals][owner, 1]
    y = true[foals][owner, 0] - 3 * (off / np.where(off < 0, P.short, P.long)) ** 2 + rng.normal(0, 6, owner.size)
    start = np.concatenate([[0], np.cumsum(count)]).astype(np.int64)
    keys = [f"h{i}" for i in range(FOALS)]
    unknown, males = np.full(y.size, np.nan), np.zeros(FOALS, dtype=bool)
    runs = Runs(keys, start, y, np.full(y.size, 36.0), x, unknown, np.arange(y.size) * 20.0, unknown, males,
                np.full(FOALS, ""))  # fmt: skip
    return graph, place[foals], runs, true[foals], u[foals]


def _family(graph: Graph, place: np.ndarray, runs: Runs) -> Family:
    words = own_words(runs, P, np.tile([P.ability, P.trip], (runs.size, 1)))
    return family(graph, place, runs, words, P, GIVEN)


def test_own_runs_are_taken_out() -> None:
    """What others say of a horse is what prediction gives when its own runs are left out of the data.

    The fixed effects move a little when a horse is left out, so the two agree to a twentieth of the spread.
    """
    graph, place, runs, _, _ = _world(1)
    whole = _family(graph, place, runs)
    for horse in (0, 17, 101):
        rest = np.array([h for h in range(runs.size) if h != horse])
        without = _family(graph, place[rest], runs.of(rest))
        at = place[horse]
        spread = np.sqrt(np.diag(whole.G))
        assert np.abs(whole.others[at] - without.value[at]).max() < 0.05 * spread.max()
        assert np.abs((whole.others[at] - without.value[at]) / spread).max() < 0.05
        assert whole.others_error[at] / np.outer(spread, spread) == pytest.approx(
            without.error[at] / np.outer(spread, spread), abs=0.02
        )


def test_a_horse_without_runs_has_nothing_to_take_out() -> None:
    """A parent that did not run is told of by others exactly as by all."""
    graph, place, runs, _, _ = _world(2)
    found = _family(graph, place, runs)
    parents = np.setdiff1d(np.arange(graph.size), place)
    assert found.others[parents] == pytest.approx(found.value[parents], abs=1e-8)


def test_relatives_foretell_the_trip() -> None:
    """In six simulated worlds what relatives say of the genetic trip goes with the truth, and errs as far as stated."""
    told, true, claimed = [], [], []
    for seed in range(6):
        graph, place, runs, _, u = _world(10 + seed)
        found = _family(graph, place, runs)
        told.append(found.others[place, 1])
        true.append(u[:, 1])
        claimed.append(found.others_error[place, 1, 1])
    told_, true_, claimed_ = (np.concatenate(part) for part in (told, true, claimed))
    assert np.corrcoef(told_, true_)[0, 1] > 0.25
    slope = np.polyfit(told_, true_, 1)[0]
    assert 0.5 < slope < 1.5
    assert np.mean((told_ - true_) ** 2 / claimed_) == pytest.approx(1.0, abs=0.35)


def test_sprint_and_stay_ability_correlate() -> None:
    """Over families' values, sprint and stay ability correlate, but not wholly.

    Values of sires for 1,200 m and 1,800 m had a rank correlation of 0.350 over 34 sires in Japan; genetic correlations
    between 1,000 m and beyond 1,800 m were 0.54 to 0.98 in Poland (Sobczynska 2006, Czech Journal of Animal Science
    51:523). Widths and spread here are what the Hong Kong library teaches.
    """
    p = Population(trip=2.84, trip_sd=0.3, ability=70.5, ability_sd=6.1, ridge=3.8, short=0.77, long=0.46)
    rng, G = np.random.default_rng(0), genetic(p, GIVEN)
    drawn = rng.multivariate_normal(np.zeros(2), G, 4000)
    both = np.array([sprint_and_stay(p, Relatives(u, G, np.zeros(2), 0)) for u in drawn])
    assert 0.2 < np.corrcoef(both.T)[0, 1] < 0.98
    longer, shorter = (sprint_and_stay(P, Relatives(np.array([0.0, d]), G, np.zeros(2), 0)) for d in (0.2, -0.2))
    assert longer[0] < 0 < longer[1]
    assert shorter[1] < 0 < shorter[0]


def test_two_parents_are_worth_half_a_foal() -> None:
    """A foal of two parents known for certain has half the genetic variance left, of one three quarters (Mendel)."""
    G = genetic(P, GIVEN)
    sure = [Relatives(np.array([4.0, d]), np.zeros((2, 2)), np.ones(2), 9) for d in (0.2, -0.1)]
    for parents, left in ((sure, 0.5), (sure[:1], 0.75), ([], 1.0)):
        told = foal_of(G, parents, 5)
        assert told.covariance == pytest.approx(left * G)
        assert told.mean == pytest.approx([2.0 * len(parents), sum(parent.mean[1] for parent in parents) / 2])
        assert told.reliability == pytest.approx([1 - left] * 2)
        assert told.records == 5


def test_kin_counts_full_relatives_once() -> None:
    """A horse's kin are the runs of its sire's and its dam's other foals, a full brother's counted once."""
    graph, order = graph_of(np.array([-1, -1, -1, 0, 0, 0]), np.array([-1, -1, -1, 1, 1, 2]))
    place = np.argsort(order)
    own = np.zeros(6, dtype=np.int64)
    own[place[[3, 4, 5]]] = [10, 4, 7]
    found = kin_runs(graph, own)[place]
    assert found[[3, 4, 5]].tolist() == [11, 17, 14]
    assert foal_runs(graph, own)[place].tolist() == [21, 14, 7, 0, 0, 0]


def test_what_relatives_say_is_read_out() -> None:
    """Reliability is the share of the genetic variance that is known, between nothing and all."""
    graph, place, runs, _, _ = _world(6)
    found = _family(graph, place, runs)
    at = int(place[0])
    told = relatives_from(found.others[at], found.others_error[at], found.G, int(found.kin[at]))
    assert told.reliability == pytest.approx(1.0 - np.diag(told.covariance) / np.diag(found.G))
    assert ((told.reliability > 0.0) & (told.reliability < 1.0)).all()
