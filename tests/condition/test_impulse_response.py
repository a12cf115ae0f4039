"""Impulse and response, against a worked example, its analytic times, and what makes it useless for one horse."""

import numpy as np
import pytest

from condition.impulse_response import Constants, faded, response

MORTON = Constants(500.0, 1.0, 2.0, 45.0, 15.0)
"""k and tau of Morton, Fitz-Clarke and Banister 1990; p0 is the example's."""
CLARKE = Constants(262.0, 0.18, 0.23, 36.0, 21.0)
"""Fitted to the teaching data of Clarke and Skiba 2013, as a published package gives it."""
WEEK = [40.0, 100.0, 40.0, 60.0, 110.0, 30.0, 0.0]
LOAD = np.array([*WEEK * 3, 20.0, 50.0, 20.0, 30.0, 55.0, 15.0, 0.0])


def test_the_times_are_the_analytic_ones() -> None:
    """With 45 and 15 days and gains of 1 and 2 a bout lowers the response for 15.596 days and helps most at 40.315."""
    assert MORTON.harmful_days == pytest.approx(15.596, abs=5e-4)
    assert MORTON.most_useful_days == pytest.approx(40.315, abs=5e-4)


@pytest.mark.parametrize(
    ("day", "constants", "printed"),
    [
        (2, MORTON, 464.2804), (8, MORTON, 277.9507), (15, MORTON, 217.4414), (22, MORTON, 246.8893),
        (28, MORTON, 386.1030), (29, MORTON, 434.0644), (2, CLARKE, 260.2306), (13, CLARKE, 246.3988),
        (29, CLARKE, 268.2257),
    ],
)  # fmt: skip
def test_the_worked_example_comes_out(day: int, constants: Constants, printed: float) -> None:
    """Three weeks of work, a lighter one, and day 29: every printed digit of the worked example."""
    assert response(LOAD, constants)[day - 1] == pytest.approx(printed, abs=5e-5)


def test_a_steady_load_comes_to_its_limit() -> None:
    """A load of 100 a day for ever leaves 100 / (exp(1/45) - 1) = 4450.19, and 4550.19 with the day's own."""
    left = faded(np.full(3000, 100.0), 45.0)[-1]
    assert left == pytest.approx(4450.19, abs=5e-3)
    assert left + 100.0 == pytest.approx(4550.19, abs=5e-3)
    assert left == pytest.approx(100.0 / np.expm1(1.0 / 45.0))


def test_a_seasons_races_cannot_tell_its_constants() -> None:
    """With seven races in a season the five constants leave directions in which nothing is known: the information
    matrix at the truth is worse conditioned than 1e5, though scaled to the constants' own size."""
    load = np.tile(LOAD, 9)
    races = np.linspace(60, load.size, 7).astype(int)
    names = ("p0", "k1", "k2", "tau1", "tau2")
    truth = {name: float(getattr(MORTON, name)) for name in names}

    def at(name: str, share: float) -> np.ndarray:
        return response(load, Constants(**(truth | {name: truth[name] * (1 + share)})))[races]

    J = np.column_stack([(at(name, 1e-4) - at(name, -1e-4)) / 2e-4 for name in names])
    assert np.linalg.cond(J.T @ J) > 1e5
