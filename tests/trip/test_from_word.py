"""What riders said of the trip: by the model's own words, and how far it may move an answer."""

from dataclasses import replace
from datetime import date
from math import erf, sqrt

import numpy as np
import pytest

from upsides.trip.case import Case, Known
from upsides.trip.defaults import defaults
from upsides.trip.from_word import ABOUT, HEARD, Word, log_likelihood
from upsides.trip.population import Population
from upsides.trip.pulls import best_furlongs
from upsides.trip.runs import UNASKED, Runs
from upsides.trip.scale import GRID
from upsides.trip.shape import unlearned

P, GIVEN = Population(), defaults(date(2026, 6, 1))


def runs_over(trips: list[float], figures: list[float]) -> Runs:
    """Return one horse's runs over trips in furlongs, a month apart."""
    n = len(trips)
    return Runs(["a"], np.array([0, n]), np.array(figures, dtype=np.float64), np.full(n, 30.0),
                np.log2(np.array(trips, dtype=np.float64)), np.zeros(n), 30.0 * np.arange(n), np.full(n, np.nan),
                np.array([False]), np.array([""]))  # fmt: skip


NONE = runs_over([], [])
SPRINTING = runs_over([5, 6, 6, 7, 8], [80, 81, 79, 73, 62])


def case(runs: Runs, *words: Word) -> Case:
    return Case(P, GIVEN, (P.ability, P.trip), Known(words=words), runs, 400.0, unlearned(GIVEN))


def normal(x: float) -> float:
    return 0.5 * (1.0 + erf(x / sqrt(2.0)))


def test_each_word_has_its_chance() -> None:
    """At every trip the three words add up to 1, and each is the share of 200 000 drawn errors that would say it."""
    rng = np.random.default_rng(3)
    at, errors = 3.0, HEARD * rng.standard_normal(200_000)
    for trip in (2.4, 2.9, 3.0, 3.3, 4.0):
        grid = np.array([trip])
        told = {wants: float(np.exp(log_likelihood([Word(at, wants)], grid))[0])
                for wants in ("shorter", "right", "further")}  # type: ignore[arg-type]  # fmt: skip
        heard = trip - at + errors
        drawn = {"further": np.mean(heard > ABOUT), "shorter": np.mean(heard < -ABOUT)}
        assert sum(told.values()) == pytest.approx(1.0, abs=1e-12)
        assert told["further"] == pytest.approx(normal((trip - at - ABOUT) / HEARD), abs=1e-12)
        for wants, share in drawn.items():
            assert abs(told[wants] - share) < 4 * sqrt(share * (1 - share) / errors.size) + 1e-9


def test_all_words_together_count_as_two_at_most() -> None:
    """Ten times the same word says what two say, and nothing said is nothing."""
    word = Word(3.0, "further")
    two, ten = (log_likelihood([word] * count, GRID) for count in (2, 10))
    np.testing.assert_allclose(two, ten, atol=1e-12)
    assert not log_likelihood([], GRID).any()


def test_words_move_the_trip_their_way() -> None:
    """A horse that wants further is thought to want a longer trip than without the word, and shorter a shorter one; the
    word is one of its measures, and without them it is gone."""
    plain = best_furlongs(case(SPRINTING).answer())
    told = {wants: case(SPRINTING, Word(np.log2(6.0), wants)) for wants in ("shorter", "right", "further")}
    best = {wants: best_furlongs(one.answer()) for wants, one in told.items()}
    assert best["shorter"] < plain < best["further"]
    assert "measures" in told["further"].available
    without = told["further"].answer(set(told["further"].available) - {"measures"})
    assert best_furlongs(without) == pytest.approx(plain, abs=1e-12)


def test_a_run_that_was_not_asked_says_less() -> None:
    """Runs of days on which the horse was not asked have a larger error and no word on how it finished."""
    day = float(SPRINTING.day[2])
    less = SPRINTING.unasked([day])
    assert less.variance[2] == UNASKED * SPRINTING.variance[2]
    assert np.isnan(less.z[2])
    kept = [0, 1, 3, 4]
    np.testing.assert_array_equal(less.variance[kept], SPRINTING.variance[kept])
    assert NONE.unasked([day]) is NONE
    assert SPRINTING.unasked([]) is SPRINTING
    assert replace(case(SPRINTING), runs=less).answer().variance.size
