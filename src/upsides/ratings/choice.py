"""Conditional logit for races: who wins, and who fills the places, given numbers about each runner.

Rows are runners and stand race by race; `offsets` (races + 1,) marks where each race begins, its last entry
being the number of rows. A ranking is taken apart stage by stage: the runner in position s was chosen among
all whose position is s or worse (Bolton & Chapman 1986). Dead-heaters in position s are m choices of weight
1/m each from the same field.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import LinAlgError, cho_factor, cho_solve
from scipy.sparse import csr_array

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _

_HALVINGS = 30


@dataclass(frozen=True, slots=True)
class ChoiceFit:
    """A fitted conditional logit.

    Attributes:
        coefficients: (columns,) logit per unit of each column.
        covariance: (columns, columns) inverse of the negative Hessian, prior included.
        log_likelihood: at the coefficients, without the prior.
        null_log_likelihood: every runner still in the race equally likely.
        log_posterior: log-likelihood less half the prior's weighted squares (constants left out).
        steps: Newton steps taken.
    """

    coefficients: NDArray[np.float64]
    covariance: NDArray[np.float64]
    log_likelihood: float
    null_log_likelihood: float
    log_posterior: float
    steps: int

    @property
    def standard_errors(self) -> NDArray[np.float64]:
        """Return the (columns,) square roots of the covariance's diagonal."""
        return np.sqrt(np.diag(self.covariance))


@dataclass(frozen=True, slots=True)
class Stage:
    """One choice in every race.

    Attributes:
        chosen: (rows,) weight with which each runner was chosen.
        at_risk: (rows,) who could have been.
        total: (races,) sum of `chosen` in each race.
        power: exponent of the chances at this place; below 1 where places follow ability less than wins do.
    """

    chosen: NDArray[np.float64]
    at_risk: NDArray[np.bool_]
    total: NDArray[np.float64]
    power: float = 1.0


def checked_offsets(offsets: ArrayLike, rows: int) -> NDArray[np.int64]:
    """Return `offsets` (races + 1,) as integers, if they cut `rows` rows into races that are not empty."""
    cut = np.asarray(offsets, dtype=np.int64)
    if cut.ndim != 1 or len(cut) < 2 or cut[0] != 0 or cut[-1] != rows or np.any(np.diff(cut) < 1):
        raise CannotFitError(
            _("race offsets"),
            _("they must rise from 0 to the number of rows ({rows}) without an empty race", rows=rows),
            _("sort the rows by race and count them"),
        )
    return cut


def stages(
    position: ArrayLike,
    offsets: ArrayLike,
    place_weights: Sequence[float] = (1.0,),
    race_weight: ArrayLike | None = None,
    place_powers: Sequence[float] = (),
) -> list[Stage]:
    """Take rankings apart into choices.

    Args:
        position: (rows,) finishing position, dead-heaters sharing one; NaN or 0 for a runner that did not
            finish, which counts as behind all that did.
        offsets: (races + 1,) where each race begins.
        place_weights: weight of the choice of the first, the second, ...; 0 leaves a stage out.
        race_weight: (races,) weight of each race, default 1.
        place_powers: exponent of the chances at each place, default 1 (Lo & Bacon-Shone's discounts).

    Returns:
        One stage for each place with a weight.
    """
    place = np.asarray(position, dtype=np.float64)
    cut = checked_offsets(offsets, len(place))
    place = np.where(np.isfinite(place) & (place > 0), place, np.inf)
    races = len(cut) - 1
    weight = np.ones(races) if race_weight is None else np.asarray(race_weight, dtype=np.float64)
    race_of = np.repeat(np.arange(races), np.diff(cut))
    built = []
    powers = [*place_powers, *[1.0] * len(place_weights)]
    for s, (place_weight, power) in enumerate(zip(place_weights, powers, strict=False), start=1):
        if place_weight == 0:
            continue
        here = place == s
        count = np.add.reduceat(here.astype(np.float64), cut[:-1])
        total = np.where(count > 0, weight * place_weight, 0.0)
        chosen = np.where(here, total[race_of] / np.maximum(count[race_of], 1.0), 0.0)
        built.append(Stage(chosen, (place >= s) & (total[race_of] > 0), total, power))
    return built


def shares(
    logit: NDArray[np.float64], offsets: NDArray[np.int64], at_risk: NDArray[np.bool_] | None = None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return each runner's share of exp(logit) in its race (rows,) and the log of each race's sum (races,).

    Rows not `at_risk` get 0; a race with none at risk gets shares 0 and log-sum 0.
    """
    masked = logit if at_risk is None else np.where(at_risk, logit, -np.inf)
    top = np.maximum.reduceat(masked, offsets[:-1])
    top = np.where(np.isfinite(top), top, 0.0)
    sizes = np.diff(offsets)
    raised = np.exp(masked - np.repeat(top, sizes))
    total = np.add.reduceat(raised, offsets[:-1])
    total = np.where(total > 0, total, 1.0)
    return raised / np.repeat(total, sizes), top + np.log(total)


def choice_probabilities(
    X: ArrayLike, offsets: ArrayLike, coefficients: ArrayLike, offset: ArrayLike | None = None
) -> NDArray[np.float64]:
    """Return each runner's chance of winning its race (rows,), summing to 1 in each race.

    Args:
        X: (rows, columns) numbers about each runner.
        offsets: (races + 1,) where each race begins.
        coefficients: (columns,) logit per unit.
        offset: (rows,) logit added with coefficient 1.
    """
    table = np.asarray(X, dtype=np.float64)
    logit = table @ np.asarray(coefficients, dtype=np.float64)
    if offset is not None:
        logit = logit + np.asarray(offset, dtype=np.float64)
    return shares(logit, checked_offsets(offsets, len(table)))[0]


def log_likelihood(logit: NDArray[np.float64], offsets: NDArray[np.int64], choices: Sequence[Stage]) -> float:
    """Return the weighted log-likelihood of the choices for `logit` (rows,)."""
    value = 0.0
    for stage in choices:
        raised = stage.power * logit
        _, log_sum = shares(raised, offsets, stage.at_risk)
        value += float(stage.chosen @ raised - stage.total @ log_sum)
    return value


def slope_and_information(
    X: NDArray[np.float64], logit: NDArray[np.float64], offsets: NDArray[np.int64], choices: Sequence[Stage]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the gradient (columns,) and negative Hessian (columns, columns) of the log-likelihood."""
    rows, columns = X.shape
    residual = np.zeros(rows)
    spread = np.zeros(rows)
    between = np.zeros((columns, columns))
    for stage in choices:
        share, _ = shares(stage.power * logit, offsets, stage.at_risk)
        weighted = share * np.repeat(stage.total, np.diff(offsets))
        residual += stage.power * (stage.chosen - weighted)
        spread += stage.power**2 * weighted
        root = stage.power * share * np.repeat(np.sqrt(stage.total), np.diff(offsets))
        mean = np.asarray(csr_array((root, np.arange(rows), offsets), shape=(len(offsets) - 1, rows)) @ X)
        between += mean.T @ mean
    scaled = np.sqrt(spread)[:, None] * X
    return X.T @ residual, scaled.T @ scaled - between


def _checked_table(X: ArrayLike, base: ArrayLike | None) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    table = np.ascontiguousarray(X, dtype=np.float64)
    added = np.zeros(len(table)) if base is None else np.asarray(base, dtype=np.float64)
    bad = np.argwhere(~np.isfinite(table))
    if len(bad):
        row, column = bad[0]
        raise CannotFitError(
            _("conditional logit, row {row}, column {column}", row=row, column=column),
            _("the value is missing or infinite"),
            _("fill it in or leave the runner out"),
        )
    if not np.all(np.isfinite(added)):
        raise CannotFitError(_("conditional logit offset"), _("it has missing or infinite values"), _("fill them in"))
    return table, added


def _inverse(information: NDArray[np.float64], precision: NDArray[np.float64]) -> NDArray[np.float64]:
    """Invert the information, refusing a column that the races cannot tell."""
    flat = np.flatnonzero((np.diag(information) < 1e-12) & (precision == 0))
    if len(flat) == 0:
        try:
            return np.asarray(cho_solve(cho_factor(information), np.eye(len(information))))
        except LinAlgError:
            pass
    why = _("some columns repeat each other")
    if len(flat):
        why = _("column {flat} does not differ within any race", flat=flat[0])
    raise CannotFitError(_("conditional logit"), why, _("drop the column or give it a prior precision"))


def _shortened(
    posterior: Callable[[NDArray[np.float64]], float],
    beta: NDArray[np.float64],
    value: float,
    move: NDArray[np.float64],
) -> tuple[NDArray[np.float64], float, bool]:
    """Return the point, its log-posterior and whether it moved, halving `move` until nothing is lost."""
    for halving in range(_HALVINGS):
        tried = beta + move * 0.5**halving
        reached = posterior(tried)
        if reached >= value:
            return tried, reached, True
    return beta, value, False


def fit_choice(
    X: ArrayLike,
    offsets: ArrayLike,
    position: ArrayLike,
    *,
    place_weights: Sequence[float] = (1.0,),
    place_powers: Sequence[float] = (),
    race_weight: ArrayLike | None = None,
    prior_precision: ArrayLike = 0.0,
    prior_mean: ArrayLike = 0.0,
    offset: ArrayLike | None = None,
    start: ArrayLike | None = None,
    max_steps: int = 60,
    tolerance: float = 1e-11,
) -> ChoiceFit:
    """Fit a conditional logit by Newton's method, with normal priors on the coefficients if wanted.

    Args:
        X: (rows, columns) numbers about each runner, race by race.
        offsets: (races + 1,) where each race begins.
        position: (rows,) finishing position; NaN or 0 for a non-finisher. For a plain winner model 1 marks
            the winner.
        place_weights: weight of each place's choice; (1.0,) uses winners alone.
        place_powers: exponent of the chances at each place, default 1.
        race_weight: (races,) weight of each race.
        prior_precision: (columns,) or one number, 1 / variance of each coefficient's normal prior; 0 for
            none.
        prior_mean: (columns,) or one number.
        offset: (rows,) logit added with coefficient 1.
        start: (columns,) where Newton starts, default the prior mean.
        max_steps: Newton steps allowed.
        tolerance: stop when a step promises less than this share of the log-posterior.

    Raises:
        CannotFitError: a value is missing, a column says nothing, or a coefficient runs away.
    """
    table, base = _checked_table(X, offset)
    cut = checked_offsets(offsets, len(table))
    choices = stages(position, cut, place_weights, race_weight, place_powers)
    shape = table.shape[1:]
    precision = np.broadcast_to(np.asarray(prior_precision, dtype=np.float64), shape)
    centre = np.broadcast_to(np.asarray(prior_mean, dtype=np.float64), shape)
    first = np.array(np.broadcast_to(centre if start is None else start, shape), dtype=np.float64)
    problem = _Problem(table, base, cut, choices, precision, centre)
    return _newton(problem, first, max_steps, tolerance)


@dataclass(frozen=True, slots=True)
class _Problem:
    """Table, offset, races, choices and prior of one fit."""

    table: NDArray[np.float64]
    base: NDArray[np.float64]
    cut: NDArray[np.int64]
    choices: list[Stage]
    precision: NDArray[np.float64]
    centre: NDArray[np.float64]

    def penalty(self, beta: NDArray[np.float64]) -> float:
        """Return half the prior's weighted squares."""
        return 0.5 * float(self.precision @ (beta - self.centre) ** 2)

    def posterior(self, beta: NDArray[np.float64]) -> float:
        """Return the log-posterior."""
        return log_likelihood(self.base + self.table @ beta, self.cut, self.choices) - self.penalty(beta)


def _newton(problem: _Problem, beta: NDArray[np.float64], max_steps: int, tolerance: float) -> ChoiceFit:
    """Climb the log-posterior from `beta`."""
    precision = problem.precision
    value = problem.posterior(beta)
    told_at_start = np.zeros_like(beta)
    for step in range(1, max_steps + 1):
        logit = problem.base + problem.table @ beta
        gradient, information = slope_and_information(problem.table, logit, problem.cut, problem.choices)
        told = np.diag(information).copy()
        told_at_start = told if step == 1 else told_at_start
        information[np.diag_indices_from(information)] += precision
        gradient -= precision * (beta - problem.centre)
        covariance = _inverse(information, precision)
        move = covariance @ gradient
        if np.any((told < 1e-7 * told_at_start) & (precision == 0)):
            break
        near = 0.5 * float(gradient @ move) < tolerance * (1.0 + abs(value))
        beta, value, moved = _shortened(problem.posterior, beta, value, move)
        if near:
            null = log_likelihood(np.zeros(len(logit)), problem.cut, problem.choices)
            return ChoiceFit(beta, covariance, value + problem.penalty(beta), null, value, step)
        if not moved:
            break
    raise CannotFitError(
        _("conditional logit"),
        _("no convergence: a column may separate winners from losers completely"),
        _("give that column a prior precision"),
    )
