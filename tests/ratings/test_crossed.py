"""Race and horse levels: published fits, textbook likelihoods, simulated truth."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import null_space
from scipy.stats import multivariate_normal

from upsides.errors import CannotFitError
from upsides.ratings.crossed import CrossedFit, fit_crossed, solve_crossed

DATA = Path(__file__).parent / "data"


def penicillin() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    table = np.loadtxt(DATA / "penicillin.csv", delimiter=",", skiprows=2, dtype=str)
    return table[:, 0].astype(float), table[:, 1], table[:, 2]


def simulated(races: int, horses: int, seed: int, sds: tuple[float, float, float] = (5.8, 8.7, 9.4)):
    """Return y, race, horse and the true horse levels; horses meet those next to them in time."""
    rng = np.random.default_rng(seed)
    field, near = 10, max(10, horses // 5)
    first = np.linspace(0, horses - near, races).astype(int)
    chosen = np.argsort(rng.random((races, near)), axis=1)[:, :field]
    race, horse = np.repeat(np.arange(races), field), (first[:, None] + chosen).ravel()
    level, pace = rng.normal(0, sds[1], horses), rng.normal(0, sds[0], races)
    return 110 + level[horse] + pace[race] + rng.normal(0, sds[2], race.size), race, horse, level


def sds(fit: CrossedFit) -> np.ndarray:
    return np.array([fit.sd_race, fit.sd_horse, fit.sd_residual])


def dense_variance(race, horse, variances, weights) -> np.ndarray:
    return (
        variances[0] * (race[:, None] == race)
        + variances[1] * (horse[:, None] == horse)
        + variances[2] * np.diag(1 / weights)
    )


@pytest.mark.parametrize("swap", [False, True])
def test_penicillin_restricted(*, swap: bool) -> None:
    """The published restricted fit of the penicillin assay comes out, whichever factor is called the race.

    Davies & Goldsmith (1972); standard deviations, intercept and log likelihood as R's lme4 prints them.
    """
    y, plate, sample = penicillin()
    fit = fit_crossed(y, sample, plate) if swap else fit_crossed(y, plate, sample)
    plate_sd, sample_sd = (fit.sd_horse, fit.sd_race) if swap else (fit.sd_race, fit.sd_horse)
    assert [plate_sd, sample_sd, fit.sd_residual] == pytest.approx([0.846704, 1.931558, 0.549923], abs=1e-6)
    assert fit.beta == pytest.approx([22.972222], abs=1e-6)
    assert fit.beta_se == pytest.approx([0.808573], abs=1e-6)
    assert fit.deviance / -2 == pytest.approx(-165.430294, abs=1e-6)
    plates, samples = (fit.horse, fit.race) if swap else (fit.race, fit.horse)
    letters = [2.187058, -1.010476, 1.937900, -0.096895, -0.013842, -3.003744]
    assert samples == pytest.approx(letters, abs=1e-6)
    first = [0.804547, 0.804547, 0.181672, 0.337391, 0.025953, -0.441203]
    assert plates[:6] == pytest.approx(first, abs=1e-6)
    assert fit.converged
    assert fit.exact
    assert fit.deviance_mc == 0 == fit.sd_horse_mc


def test_penicillin_unrestricted() -> None:
    """The published maximum-likelihood fit of the same assay comes out, as R's lme4 prints it."""
    fit = fit_crossed(*penicillin(), reml=False)
    assert sds(fit) == pytest.approx([0.845572, 1.770646, 0.549932], abs=1e-6)
    assert fit.deviance / -2 == pytest.approx(-166.094174, abs=1e-6)


def test_fixed_races_in_exact_fractions() -> None:
    """Three races of four horses, races fixed, give the exact fractions of the mixed-model equations.

    y is weight carried less pounds a length times lengths beaten; residual over horse variance is 1/2.
    """
    race = np.array([1, 1, 1, 2, 2, 2, 3, 3])
    horse = np.array(list("ABCBCDDA"))
    y = np.array([126, 124, 117, 130, 124.75, 121.75, 120, 125])
    fit = solve_crossed(y, race, horse, (0.0, 2.0, 1.0), races="fixed")
    races = [Fraction(17356, 143), Fraction(18082, 143), Fraction(5391, 44)]
    assert fit.race == pytest.approx(races, abs=1e-9)
    levels = [Fraction(813, 286), Fraction(136, 55), Fraction(-267, 110), Fraction(-413, 143)]
    assert fit.horse == pytest.approx(levels, abs=1e-9)
    told = [Fraction(81, 143), Fraction(32, 55), Fraction(32, 55), Fraction(81, 143)]
    assert fit.horse_reliability == pytest.approx(told, abs=1e-9)
    assert np.isnan(fit.sd_race)


@pytest.mark.parametrize("reml", [True, False])
@pytest.mark.parametrize("seed", [0, 1])
def test_deviance_is_that_of_the_normal_density(seed: int, *, reml: bool) -> None:
    """With covariates and weights, the deviance is SciPy's normal density of y, or of its error contrasts.

    The restricted likelihood is the density of contrasts K'y orthogonal to X (Patterson & Thompson 1971), up
    to the log determinant of X'X that lme4, like this package, adds.
    """
    y, race, horse, _ = simulated(9, 14, seed)
    rng = np.random.default_rng(seed)
    X, weights, variances = rng.normal(size=(y.size, 2)), rng.uniform(0.3, 3, y.size), (4.0, 50.0, 80.0)
    design = np.column_stack([np.ones(y.size), X])
    fit = solve_crossed(y, race, horse, variances, X, weights, reml=reml)
    V = dense_variance(race, horse, variances, weights)
    beta = np.linalg.solve(design.T @ np.linalg.solve(V, design), design.T @ np.linalg.solve(V, y))
    assert fit.beta == pytest.approx(beta, abs=1e-8)
    if reml:
        K = null_space(design.T)
        expected = -2 * multivariate_normal.logpdf(K.T @ y, None, K.T @ V @ K)
        expected += np.linalg.slogdet(design.T @ design)[1]
    else:
        expected = -2 * multivariate_normal.logpdf(y, design @ beta, V)
    assert fit.deviance == pytest.approx(expected, abs=1e-7)
    level = variances[1] * (horse[:, None] == fit.horses).T @ np.linalg.solve(V, y - design @ beta)
    assert fit.horse == pytest.approx(level, abs=1e-8)


@pytest.mark.parametrize("reml", [True, False])
def test_fixed_races_are_dummy_covariates(*, reml: bool) -> None:
    """With races fixed, the fit is that of a covariate a race in the normal density."""
    y, race, horse, _ = simulated(8, 10, 3)
    fit = fit_crossed(y, race, horse, races="fixed", reml=reml)
    design = (race[:, None] == np.arange(8)).astype(float)
    variances = (0.0, fit.sd_horse**2, fit.sd_residual**2)
    V = dense_variance(race, horse, variances, np.ones(y.size))
    beta = np.linalg.solve(design.T @ np.linalg.solve(V, design), design.T @ np.linalg.solve(V, y))
    K = null_space(design.T)
    expected = -2 * multivariate_normal.logpdf(y, design @ beta, V)
    if reml:
        expected = -2 * multivariate_normal.logpdf(K.T @ y, None, K.T @ V @ K)
        expected += np.linalg.slogdet(design.T @ design)[1]
    assert fit.deviance == pytest.approx(expected, abs=1e-7)
    assert fit.race == pytest.approx(beta, abs=1e-8)
    for factor in (0.98, 1.02):
        near = solve_crossed(y, race, horse, (0, variances[1] * factor, variances[2]), races="fixed", reml=reml)
        assert near.deviance > fit.deviance


def test_summit_and_curvature() -> None:
    """The fit is a summit of the likelihood, and standard errors are those of its curvature."""
    y, race, horse, _ = simulated(60, 50, 5)
    fit = fit_crossed(y, race, horse)
    step = 1e-3

    def deviance(moved: np.ndarray) -> float:
        return solve_crossed(y, race, horse, tuple(sds(fit) ** 2 * np.exp(step * moved))).deviance

    unit = np.eye(3)
    slope = [(deviance(u) - deviance(-u)) / (2 * step) for u in unit]
    assert slope == pytest.approx([0, 0, 0], abs=1e-3)
    hessian = np.array(
        [[deviance(u + v) - deviance(u - v) - deviance(v - u) + deviance(-u - v) for v in unit] for u in unit]
    ) / (8 * step**2)
    assert (np.linalg.eigvalsh(hessian) > 0).all()
    errors = sds(fit) / 2 * np.sqrt(np.diag(np.linalg.inv(hessian)))
    assert [fit.sd_race_se, fit.sd_horse_se, fit.sd_residual_se] == pytest.approx(errors, rel=1e-3)


def test_a_variance_may_be_nothing() -> None:
    """Where races differ less than luck alone would have it, their variance is 0 and nothing else breaks."""
    y, race, horse, _ = simulated(40, 60, 2)
    y = y - (np.bincount(race, y) / 10)[race]
    fit = fit_crossed(y, race, horse)
    assert fit.sd_race == 0.0
    assert fit.converged
    assert np.isnan(fit.sd_race_se)
    assert (fit.race == 0).all()
    more = solve_crossed(y, race, horse, (0.05, fit.sd_horse**2, fit.sd_residual**2))
    assert more.deviance > fit.deviance


def test_both_variances_may_be_nothing() -> None:
    """Figures without any race or horse in them give the mean and its usual standard error."""
    race, horse = np.repeat(np.arange(10), 10), np.tile(np.arange(10), 10)
    y = np.random.default_rng(0).permuted(np.tile(np.linspace(-1, 1, 10), (10, 1)), axis=1).ravel()
    y = y.reshape(10, 10) - y.reshape(10, 10).mean(axis=0)
    fit = fit_crossed(y.ravel(), race, horse)
    assert fit.sd_race == 0.0 == fit.sd_horse
    assert fit.sd_residual == pytest.approx(y.std(ddof=1))
    assert fit.beta_se == pytest.approx([y.std(ddof=1) / 10])
    assert (fit.horse_reliability == 0).all()


def test_order_and_labels_do_not_matter() -> None:
    """Rows shuffled and labels renamed, the same horses get the same levels."""
    y, race, horse, _ = simulated(50, 60, 4)
    mixed = np.random.default_rng(1).permutation(y.size)
    plain = fit_crossed(y, race, horse)
    named = np.array([f"h{999 - code}" for code in horse])
    other = fit_crossed(y[mixed], race[mixed].astype(str), named[mixed])
    assert sds(other) == pytest.approx(sds(plain), rel=1e-6)
    where = np.searchsorted(other.horses, [f"h{999 - code}" for code in plain.horses])
    assert other.horse[where] == pytest.approx(plain.horse, abs=1e-4)
    assert other.horse_se[where] == pytest.approx(plain.horse_se, rel=1e-4)


def test_iterative_agrees_with_exact() -> None:
    """Above the exact size, variances and deviance are within 4 of the Monte Carlo errors they come with.

    Levels at given variances agree with the exact ones, and their standard errors to 3 %.
    """
    y, race, horse, _ = simulated(500, 450, 6)
    exact, rough = fit_crossed(y, race, horse), fit_crossed(y, race, horse, exact_below=0)
    assert exact.exact
    assert not rough.exact
    assert rough.converged
    chance = np.array([rough.sd_race_mc, rough.sd_horse_mc, rough.sd_residual_mc])
    assert (chance > 0).all()
    assert (chance < 0.02 * sds(exact)).all()
    assert (np.abs(sds(rough) - sds(exact)) < 4 * chance).all()
    assert abs(rough.deviance - exact.deviance) < 4 * rough.deviance_mc
    same = solve_crossed(y, race, horse, tuple(sds(exact) ** 2), exact_below=0)
    assert same.horse == pytest.approx(exact.horse, abs=1e-5)
    assert same.beta_se == pytest.approx(exact.beta_se, rel=1e-5)
    assert same.horse_se == pytest.approx(exact.horse_se, rel=0.03)
    assert same.race_se == pytest.approx(exact.race_se, rel=0.03)


def test_same_seed_same_bits() -> None:
    """Two iterative fits from one seed agree to the last bit."""
    y, race, horse, _ = simulated(200, 150, 7)
    one, two = (fit_crossed(y, race, horse, exact_below=0, seed=3) for _ in range(2))
    assert (one.horse == two.horse).all()
    assert one.deviance == two.deviance


@pytest.mark.parametrize("exact_below", [10_000, 0])
def test_truth_is_recovered_with_its_uncertainty(exact_below: int) -> None:
    """Simulated standard deviations lie within 4 standard errors, and 80 % intervals cover 80 +- 3 %."""
    covered = []
    for seed in range(4):
        y, race, horse, level = simulated(1500, 1000, 10 + seed)
        fit = fit_crossed(y, race, horse, exact_below=exact_below)
        errors = np.array([fit.sd_race_se, fit.sd_horse_se, fit.sd_residual_se])
        assert (np.abs(sds(fit) - [5.8, 8.7, 9.4]) < 4 * errors).all()
        covered.append(np.abs(fit.horse - level[fit.horses]) < 1.2815515655 * fit.horse_se)
    assert 0.77 < np.concatenate(covered).mean() < 0.83


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"y": np.array([1.0, np.nan, 2, 3])}, "y is not a finite number in row 1"),
        ({"weights": np.array([1.0, 1, 0, 1])}, "row 2 has no weight"),
        ({"y": np.arange(3.0)}, "differ in length"),
        ({"horse": np.arange(4)}, "no horse ran twice"),
        ({"race": np.arange(4)}, "no race has two runners"),
        ({"race": np.zeros(4)}, "at least two of each"),
        ({"X": np.ones((4, 1))}, "the covariates are not independent"),
        ({"X": np.array([[1.0], [1], [3], [3]]), "races": "fixed"}, "covariate 0 says nothing"),
        ({"X": np.full((4, 1), np.inf)}, "X holds values that are not finite"),
    ],
)
def test_refusals_name_the_fault_and_the_remedy(change: dict[str, object], words: str) -> None:
    """Tables that cannot carry the model are refused in words that name the row or the lack, and a remedy."""
    table = {"y": np.array([1.0, 5, 2, 9]), "race": np.array([1, 1, 2, 2]), "horse": np.array([1, 2, 1, 2])}
    with pytest.raises(CannotFitError, match=words) as refused:
        fit_crossed(**(table | change))
    assert refused.value.remedy


def test_figures_without_luck_are_refused() -> None:
    """Where race and horse explain every run to the last digit, no variance can be told, and this is said."""
    _, race, horse, level = simulated(30, 40, 8)
    with pytest.raises(CannotFitError, match="explain every run"):
        fit_crossed(level[horse] + race % 7, race, horse)


def test_given_variances_must_make_sense() -> None:
    """Negative variances, or none for the run itself, are refused."""
    for variances in ((-1.0, 1.0, 1.0), (1.0, 1.0, 0.0), (1.0, np.inf, 1.0)):
        with pytest.raises(CannotFitError, match="variances"):
            solve_crossed(*penicillin(), variances)


def test_progress_is_told() -> None:
    """Each look at the likelihood is told in words."""
    told: list[str] = []
    fit = fit_crossed(*penicillin(), progress=told.append)
    assert len(told) == fit.iterations
    assert told[-1] == "levels: sd race 0.8467, horse 1.9316, residual 0.5499"
