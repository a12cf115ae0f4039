"""Moving levels: the equations against brute force, the estimates and errors against simulated truth."""

import numpy as np
import pytest
from scipy.linalg import block_diag

from moving_worlds import TRUTH, world
from upsides.errors import CannotFitError
from upsides.ratings.levels import blocks, exact, iterative, posterior
from upsides.ratings.levels.estimate import estimate
from upsides.ratings.levels.record import Components, Record

SMALL = world(3, horses=25, races=30, field=6)


def dense(record: Record, v: Components) -> tuple[np.ndarray, np.ndarray]:
    """V and T = [E, X] written out in full."""
    parts = []
    for a, b in zip(record.start[:-1], record.start[1:], strict=True):
        gap = np.abs(record.day[a:b, None] - record.day[a:b])
        parts.append(v.lasting + v.passing * np.exp(-gap / v.tau) + v.residual * np.diag(record.scale[a:b]))
    T = np.zeros((record.y.size, record.races + record.X.shape[1]))
    T[np.arange(record.y.size), record.race] = 1.0
    T[:, record.races :] = record.X
    return block_diag(*parts), T


def brute(record: Record, v: Components) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """C, b, P and the restricted deviance by plain linear algebra (Searle, Casella & McCulloch 1992, ch. 7)."""
    V, T = dense(record, v)
    W = np.linalg.inv(V)
    prior = np.diag(np.concatenate([np.zeros(record.races), record.precision]))
    M = T.T @ W @ T + prior
    C = np.linalg.inv(M)
    P = W - W @ T @ C @ T.T @ W
    b = C @ T.T @ W @ record.y
    deviance = np.linalg.slogdet(V)[1] + np.linalg.slogdet(M)[1] + record.y @ P @ record.y
    return C, b, P, deviance


def test_exact_equations_equal_brute_force() -> None:
    """The solution, its covariance and the deviance are those of the written-out matrices, to 1e-10."""
    C, b, P, deviance = brute(SMALL.record, TRUTH)
    s = exact.solve(SMALL.record, TRUTH)
    np.testing.assert_allclose(s.C, C, rtol=1e-9, atol=1e-10)
    np.testing.assert_allclose(s.b, b, rtol=1e-10)
    np.testing.assert_allclose(s.u, P @ SMALL.record.y, atol=1e-10)
    assert s.deviance == pytest.approx(deviance, rel=1e-12)
    own = blocks.diagonal(SMALL.record.start, SMALL.record.block, exact.projected(SMALL.record, s))
    np.testing.assert_allclose(own, np.diag(P), rtol=1e-9)


def test_score_equals_numeric_derivative() -> None:
    """The score is minus half the deviance's slope in each log component, by central differences."""
    v = Components(50.0, 30.0, 100.0, 30.0)
    score, information = exact.score_and_information(SMALL.record, exact.solve(SMALL.record, v))
    for k in range(4):
        step = np.zeros(4)
        step[k] = 1e-4
        up, down = (exact.solve(SMALL.record, v.moved(sign * step)).deviance for sign in (1, -1))
        assert score[k] == pytest.approx(-(up - down) / 4e-4, abs=1e-5)
    assert np.all(np.linalg.eigvalsh(information) > 0)


def test_iteration_equals_exact() -> None:
    """Conjugate gradients give the exact solution; stochastic scores stay within four of their standard errors."""
    rng = np.random.default_rng(0)
    big = world(4).record
    s = exact.solve(big, TRUTH)
    score, information = exact.score_and_information(big, s)
    it = iterative.solve(big, TRUTH, rng.choice([-1.0, 1.0], size=(big.races + 1, 48)))
    np.testing.assert_allclose(it.b, s.b, rtol=1e-5)
    np.testing.assert_allclose(it.information, information, rtol=1e-4)
    assert np.all(np.abs(it.score - score) < 4 * it.score_error + 1e-4)
    assert it.variance[: big.races].mean() == pytest.approx(np.diag(s.C)[: big.races].mean(), rel=0.05)


def test_level_equals_conditioning_by_hand() -> None:
    """A level on any day, before, between and after runs, is what conditioning the written-out joint normal gives."""
    record, v = SMALL.record, TRUTH
    C, b, P, _ = brute(record, v)
    V, T = dense(record, v)
    solved = posterior.posterior(record, v, exact_below=10_000)
    days = np.array([-50.0, 321.0, 1100.0])
    found = posterior.level(record, solved, 4, days)
    a, end = record.start[4], record.start[5]
    for day, mean, sd in zip(days, found.mean, found.sd, strict=True):
        k = np.zeros(record.y.size)
        k[a:end] = v.lasting + v.passing * np.exp(-np.abs(record.day[a:end] - day) / v.tau)
        c = np.zeros(C.shape[0])
        c[record.races :] = record.X[a]
        d = c - T.T @ np.linalg.solve(V, k)
        assert mean == pytest.approx(c @ b + k @ P @ record.y, abs=1e-8)
        assert sd**2 == pytest.approx(v.lasting + v.passing - k @ np.linalg.solve(V, k) + d @ C @ d, rel=1e-8)


def test_joint_levels_agree_with_single_ones() -> None:
    """The joint posterior has the single levels' means and variances, and a positive definite covariance."""
    record = SMALL.record
    solved = posterior.posterior(record, TRUTH, exact_below=10_000)
    horses = np.array([2, 7, 11])
    both = posterior.joint(record, solved, horses, 400.0)
    for k, horse in enumerate(horses):
        one = posterior.level(record, solved, int(horse), np.array([400.0]))
        assert both.mean[k] == pytest.approx(one.mean[0], abs=1e-9)
        assert both.covariance[k, k] == pytest.approx(one.sd[0] ** 2, rel=1e-9)
    assert np.all(np.linalg.eigvalsh(both.covariance) > 0)


def test_expectation_is_the_refit_without_the_run() -> None:
    """What all other runs expect of a run equals a fit that leaves that run out."""
    record = SMALL.record
    solved = posterior.posterior(record, TRUTH, exact_below=10_000)
    expected, variance = posterior.expectation(record, solved)
    scale = record.scale.copy()
    scale[10] = 1e9
    without = Record(
        record.y, record.race, record.day, record.start, scale, record.extra, record.X, record.precision, record.races
    )
    far = exact.solve(without, TRUTH)
    fitted = far.b[record.race[10]] + record.X[10] @ far.b[record.races :]
    V, _ = dense(without, TRUTH)
    level = (V[10] - np.eye(record.y.size)[10] * TRUTH.residual * 1e9) @ far.u
    assert expected[10] == pytest.approx(fitted + level, abs=1e-4)
    assert variance[10] > 0


@pytest.mark.parametrize("exact_below", [10_000, 0])
def test_estimates_recover_the_truth(exact_below: int) -> None:
    """Components of a simulated world come back within three standard errors, exactly and by iteration."""
    record = world(5, horses=300, races=420).record
    found = estimate(record, Components(30.0, 30.0, 300.0, 60.0), exact_below=exact_below)
    assert found.converged
    assert found.exact == (exact_below > 0)
    truth = np.log([TRUTH.lasting, TRUTH.passing, TRUTH.tau, TRUTH.residual])
    v = found.components
    got = np.log([v.lasting, v.passing, v.tau, v.residual])
    assert np.all(np.abs(got - truth) < 3 * found.log_se)
    assert np.all(found.log_monte_carlo < 0.5 * found.log_se)


def test_intervals_cover_what_they_say() -> None:
    """80 % intervals of the level at each horse's last run cover 80 +- 3 % over simulated worlds."""
    inside, total = 0, 0
    for seed in range(8):
        made = world(100 + seed)
        record = made.record
        found = estimate(record, Components(40.0, 40.0, 200.0, 40.0))
        solved = posterior.posterior(record, found.components, exact_below=10_000)
        shift = made.race_effect.mean() - solved.b[: record.races].mean()
        for horse in range(record.start.size - 1):
            last = record.start[horse + 1] - 1
            level = posterior.level(record, solved, horse, record.day[[last]])
            inside += abs(level.mean[0] - shift - made.level[last]) < 1.2816 * level.sd[0]
            total += 1
    assert 0.77 < inside / total < 0.83


def test_a_component_without_evidence_goes_to_nothing() -> None:
    """Where levels do not move the fit still converges, and the lasting part takes all of their spread."""
    record = world(9, v=Components(60.0, 1e-9, 100.0, 36.0)).record
    found = estimate(record, Components(40.0, 20.0, 200.0, 40.0))
    assert found.converged
    assert found.components.lasting == pytest.approx(60.0, rel=0.35)


def test_a_covariate_that_races_explain_is_refused() -> None:
    """A covariate without prior that is the same for all is refused with the reason."""
    record = SMALL.record
    same = Record(
        record.y, record.race, record.day, record.start, record.scale, record.extra,
        np.ones_like(record.X), np.zeros(1), record.races,
    )  # fmt: skip
    with pytest.raises(CannotFitError, match="told apart"):
        exact.solve(same, TRUTH)
