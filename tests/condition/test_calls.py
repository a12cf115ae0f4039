"""Scores of calls against hand-computed values and scores made another way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from upsides.condition.calls import Call, brier, ran_after, scored
from upsides.errors import ConditionRefusedError


def test_parts_by_hand() -> None:
    """Five calls at 0.8 of which four came and five at 0.4 of which one came have the parts that pencil and paper give.

    Score (4 x 0.04 + 0.64 + 0.36 + 4 x 0.16) / 10 = 0.18; calibration (5 x 0 + 5 x 0.04) / 10 = 0.02; resolution
    (5 x 0.09 + 5 x 0.09) / 10 = 0.09; uncertainty 0.5 x 0.5 = 0.25; Murphy 1973: 0.02 - 0.09 + 0.25 = 0.18.
    """
    found = brier([0.8] * 5 + [0.4] * 5, [1, 1, 1, 1, 0, 1, 0, 0, 0, 0])
    assert found.score == pytest.approx(0.18, abs=1e-12)
    assert found.calibration == pytest.approx(0.02, abs=1e-12)
    assert found.resolution == pytest.approx(0.09, abs=1e-12)
    assert found.uncertainty == pytest.approx(0.25, abs=1e-12)
    assert found.within == pytest.approx(0.0, abs=1e-12)
    assert (found.said, found.counts) == (pytest.approx((0.4, 0.8)), (5, 5))
    assert found.came == pytest.approx((0.2, 0.8))


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=60))
def test_parts_add_up(calls: list[tuple[float, bool]]) -> None:
    """Calibration less resolution plus uncertainty is the score, up to what putting chances into tenths leaves over.

    What is left over is worked out from within the groups (Stephenson, Coelho and Jolliffe 2008, Weather Forecast.
    23:752): the variance of chances in a group less twice their covariance with outcomes.
    """
    p, y = np.array([one for one, _ in calls]), np.array([float(came) for _, came in calls])
    found = brier(p, y)
    assert found.score == pytest.approx(np.mean((p - y) ** 2), abs=1e-12)
    different = np.unique(p)
    group = np.searchsorted(different, p) if different.size <= 10 else np.minimum((p * 10).astype(int), 9)
    left = sum(
        np.sum((p[group == k] - p[group == k].mean()) ** 2)
        - 2 * np.sum((p[group == k] - p[group == k].mean()) * (y[group == k] - y[group == k].mean()))
        for k in np.unique(group)
    )
    assert found.within == pytest.approx(left / p.size, abs=1e-10)
    assert min(found.calibration, found.resolution, found.uncertainty) >= 0.0


def test_a_truthful_chance_scores_least() -> None:
    """Of all chances that could be said, the true one has the least expected score: nobody gains by saying another."""
    true, said = 0.3, np.linspace(0.0, 1.0, 101)
    expected = true * (said - 1.0) ** 2 + (1.0 - true) * said**2
    assert said[np.argmin(expected)] == pytest.approx(true)
    came = np.r_[np.ones(3), np.zeros(7)]
    scores = [brier(np.full(10, one), came).score for one in said]
    assert said[int(np.argmin(scores))] == pytest.approx(true)


def test_person_beside_tool() -> None:
    """On the same shown calls the difference of scores and its standard error are those of paired differences."""
    calls = [Call("first four", p, q, came) for p, q, came in (
        (0.9, 0.6, True), (0.2, 0.5, False), (0.7, 0.5, False), (0.6, 0.4, True))]  # fmt: skip
    found = scored([*calls, Call("fit", 0.1, 0.1, True)], "first four")
    apart = np.array([0.16 - 0.01, 0.25 - 0.04, 0.25 - 0.49, 0.36 - 0.16])
    assert found.better == pytest.approx(apart.mean())
    assert found.error == pytest.approx(apart.std(ddof=1) / 2)
    assert (found.shown, found.open) == (4, 0)
    assert found.least == found.most == pytest.approx(found.person.score if found.person else np.nan)


def test_a_tool_that_said_nothing_is_not_scored() -> None:
    """The tool is scored, and held beside the person, on those calls only on which it said something."""
    calls = [Call("fit", 0.9, None, True), Call("fit", 0.9, 0.5, True), Call("fit", 0.3, 0.5, False)]
    found = scored(calls, "fit")
    assert found.person is not None
    assert found.person.score == pytest.approx((0.01 + 0.01 + 0.09) / 3)
    assert found.tool is not None
    assert (found.tool.score, found.beside) == (pytest.approx(0.25), 2)
    assert found.alike is not None
    assert found.alike.score == pytest.approx((0.01 + 0.09) / 2)
    assert found.better == pytest.approx(found.tool.score - found.alike.score)
    assert found.better == pytest.approx(0.25 - 0.05)
    silent = scored(calls[:1], "fit")
    assert (silent.alike, silent.tool, silent.beside) == (None, None, 0)
    assert np.isnan(silent.better)


def test_open_calls_are_bounded_not_scored() -> None:
    """A call that nothing has shown leaves the score alone and widens the ends to both of its outcomes."""
    shown = [Call("fit", 0.9, 0.5, True), Call("fit", 0.3, 0.5, False)]
    found = scored([*shown, Call("fit", 0.2, 0.5, None)], "fit")
    assert found.person is not None
    assert found.person.score == pytest.approx((0.01 + 0.09) / 2)
    assert found.least == pytest.approx((0.01 + 0.09 + 0.04) / 3)
    assert found.most == pytest.approx((0.01 + 0.09 + 0.64) / 3)
    nothing = scored([Call("fresh", 0.2, 0.5, None)], "fresh")
    assert (nothing.person, nothing.shown, nothing.open) == (None, 0, 1)
    assert (nothing.least, nothing.most) == pytest.approx((0.04, 0.64))


def test_would_run_is_never_scored() -> None:
    """Whether it would run is refused a score, and told as shares with a range instead."""
    calls = [Call("would run", 0.9, 0.5, True)] * 7 + [Call("would run", 0.8, 0.5, False)]
    calls += [Call("would run", 0.1, 0.5, False)] * 3 + [Call("would run", 0.2, 0.5, None)]
    with pytest.raises(ConditionRefusedError, match="decides it"):
        scored(calls, "would run")
    yes, no = ran_after(calls)
    assert (yes.said, yes.calls, yes.ran) == ("would run", 8, 7)
    assert (no.said, no.calls, no.ran) == ("would not run", 4, 0)
    assert yes.share == pytest.approx(8 / 10)
    assert (yes.low, yes.high) == pytest.approx(beta(8, 2).interval(0.9))


@pytest.mark.parametrize(
    ("chances", "came", "word"),
    [([], [], "calls"), ([1.2], [1], "chance"), ([float("nan")], [0], "chance"), ([0.5], [1, 0], "outcomes")],
)
def test_what_cannot_be_is_refused(chances: list[float], came: list[int], word: str) -> None:
    """No calls, a chance that is none and a missing outcome are named and refused."""
    with pytest.raises(ConditionRefusedError, match=word):
        brier(chances, came)
