"""Effect of the draw: slope and bend across the stalls by course, trip and surface, partially pooled.

A runner's place in the stalls is d = (k - 1) / (N - 1) - 1/2, k counted among the actual runners from the
side the course counts. Its logit is strength + slope d + bend (d^2 - 1/12), fitted to all finishing places
taken apart. Slopes and bends of a cell (say course, then trip and surface, then rail or going) are normal
about those of the cell above; how far they spread at each step is estimated, that estimate's own doubt
included. The likelihood of every cell enters through its own quadratic at the current estimate and is
expanded again until nothing moves.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import block_diag, csc_array
from scipy.stats import norm

from upsides.errors import CannotFitError
from upsides.ratings.choice import Stage, checked_offsets, slope_and_information, stages
from upsides.ratings.pooled_cells import (
    Path,
    Posterior,
    Spreads,
    Tree,
    fit_spreads,
    posterior_of,
    spread_points,
    tree_of,
)

_EVEN = 1.0 / 12.0
_ROUNDS = 30
_ESTIMATING_ROUNDS = 4
_SETTLED = 1e-8


def stall_place(stall: ArrayLike, offsets: ArrayLike) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return each starter's place by stall among its race's starters, 1 lowest, and their number.

    Args:
        stall: (rows,) stall drawn, starters only; two runners in one stall are refused.
        offsets: (races + 1,) where each race begins.
    """
    drawn = np.asarray(stall, dtype=np.float64)
    cut = checked_offsets(offsets, len(drawn))
    race = np.repeat(np.arange(len(cut) - 1), np.diff(cut))
    order = np.lexsort((drawn, race))
    same = (np.diff(drawn[order]) == 0) & (np.diff(race[order]) == 0)
    if not np.all(np.isfinite(drawn)) or same.any():
        raise CannotFitError(
            "draw", "a stall is missing or given twice in a race", "leave out races without a full draw"
        )
    place = np.empty(len(drawn), dtype=np.int64)
    place[order] = np.arange(len(drawn)) - cut[race[order]] + 1
    return place, np.diff(cut)[race]


def across(place: ArrayLike, runners: ArrayLike) -> NDArray[np.float64]:
    """Return d, from -1/2 for the lowest stall to 1/2 for the highest; 0 for a runner on its own."""
    k, n = np.asarray(place, dtype=np.float64), np.asarray(runners, dtype=np.float64)
    return np.asarray(np.where(n > 1, (k - 1) / np.maximum(n - 1, 1) - 0.5, 0.0))


def share_beaten(position: ArrayLike, runners: ArrayLike) -> NDArray[np.float64]:
    """Return the share of its rivals that a runner beat, (N - position) / (N - 1).

    Dead-heaters take the mean of the positions they cover, e.g. 2.5 for two sharing second.
    """
    n = np.asarray(runners, dtype=np.float64)
    return np.asarray((n - np.asarray(position, dtype=np.float64)) / (n - 1))


def share_beaten_variance(runners: ArrayLike) -> NDArray[np.float64]:
    """Return the variance of `share_beaten` when all orders are alike, (N + 1) / (12 (N - 1)); mean 1/2."""
    n = np.asarray(runners, dtype=np.float64)
    return np.asarray((n + 1) / (12 * (n - 1)))


def basis(d: ArrayLike, *, bend: bool = True) -> NDArray[np.float64]:
    """Return (rows, 2) slope and bend columns of d, or (rows, 1) without the bend."""
    x = np.asarray(d, dtype=np.float64)
    return np.column_stack([x, x**2 - _EVEN]) if bend else x[:, None]


@dataclass(frozen=True, slots=True)
class DrawEffects:
    """Fitted effects of the draw.

    Attributes:
        mean: slope (and bend) by cell, at every depth; () is the whole.
        covariance: of the same.
        races: races behind each cell.
        spread: (depths, columns) sd of a cell's slope (and bend) about the cell above.
    """

    mean: dict[Path, NDArray[np.float64]]
    covariance: dict[Path, NDArray[np.float64]]
    races: dict[Path, int]
    spread: NDArray[np.float64]

    def at(self, path: Path) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return mean and covariance for a cell; for one never seen those of the cell above, spread added."""
        known = path
        while known not in self.mean:
            known = known[:-1]
        added = (self.spread[len(known) : len(path)] ** 2).sum(axis=0)
        return self.mean[known], self.covariance[known] + np.diag(added)


@dataclass(frozen=True, slots=True)
class StallWorth:
    """Worth of each stall in pounds against the field's average stall, each (runners,), lowest first."""

    lb: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


def stall_worth(effects: DrawEffects, path: Path, runners: int, logit_per_lb: float, cover: float = 0.8) -> StallWorth:
    """Return what each stall is worth in pounds, with an interval of chance `cover`.

    Args:
        effects: fitted effects.
        path: the cell; a longer path than was ever seen is answered by the cell above, less surely.
        runners: field size.
        logit_per_lb: what a pound adds to the logit in the model that gave the strengths.
        cover: of the interval.
    """
    mean, covariance = effects.at(path)
    x = basis(across(np.arange(1, runners + 1), runners), bend=len(mean) == 2)
    x = (x - x.mean(axis=0)) / logit_per_lb
    lb = x @ mean
    half = norm.ppf(0.5 + cover / 2) * np.sqrt(np.einsum("ij,jk,ik->i", x, covariance, x))
    return StallWorth(lb, lb - half, lb + half)


@dataclass(frozen=True, slots=True)
class _Cell:
    """The races of one narrowest cell."""

    X: NDArray[np.float64]
    strength: NDArray[np.float64]
    offsets: NDArray[np.int64]
    choices: list[Stage]


def _cells(
    X: NDArray[np.float64],
    strength: NDArray[np.float64],
    position: NDArray[np.float64],
    offsets: NDArray[np.int64],
    race_cell: NDArray[np.int64],
    place_weights: Sequence[float],
    race_weight: NDArray[np.float64],
) -> list[_Cell]:
    """Gather the races of each narrowest cell."""
    cells = []
    sizes = np.diff(offsets)
    for number in range(int(race_cell.max()) + 1):
        races = np.flatnonzero(race_cell == number)
        rows = np.concatenate([np.arange(offsets[r], offsets[r + 1]) for r in races])
        cut = np.concatenate([[0], np.cumsum(sizes[races])])
        choices = stages(position[rows], cut, place_weights, race_weight[races])
        cells.append(_Cell(X[rows], strength[rows], cut, choices))
    return cells


def _quadratics(cells: list[_Cell], at: NDArray[np.float64]) -> tuple[list[NDArray[np.float64]], NDArray[np.float64]]:
    """Expand each cell's log-likelihood about its row of `at`: information J and J at + gradient."""
    information, linear = [], []
    for cell, b in zip(cells, at, strict=True):
        gradient, J = slope_and_information(cell.X, cell.strength + cell.X @ b, cell.offsets, cell.choices)
        information.append(J)
        linear.append(J @ b + gradient)
    return information, np.array(linear)


def fit_draw(
    d: ArrayLike,
    offsets: ArrayLike,
    position: ArrayLike,
    paths: Sequence[Path],
    *,
    strength: ArrayLike | None = None,
    place_weights: Sequence[float] = (1.0, 1.0, 1.0),
    race_weight: ArrayLike | None = None,
    whole_sd: float = 1.0,
    spread: ArrayLike | None = None,
    bend: bool = True,
) -> DrawEffects:
    """Fit the effect of the draw, cells pooled towards the ones above.

    Args:
        d: (rows,) place across the stalls, see `across`.
        offsets: (races + 1,) where each race begins.
        position: (rows,) finishing position; NaN or 0 for a non-finisher.
        paths: (races,) the cell of each race, all of the same depth; () pools everything.
        strength: (rows,) logit of each runner before the draw, default equal.
        place_weights: weight of each place's choice.
        race_weight: (races,) e.g. less for older races, because rails move and watering changes.
        whole_sd: prior sd of the overall slope and bend.
        spread: (depths, columns) to fix the spreads instead of estimating them.
        bend: False for a slope alone.

    Raises:
        CannotFitError: paths differ in depth or do not match the races, or nothing settles.
    """
    X = basis(d, bend=bend)
    cut = checked_offsets(offsets, len(X))
    if len(paths) != len(cut) - 1 or len({len(path) for path in paths}) != 1:
        raise CannotFitError("draw", "each race needs one cell, all of one depth", "fill the labels in")
    leaves = sorted(set(paths))
    number = {leaf: i for i, leaf in enumerate(leaves)}
    race_cell = np.array([number[path] for path in paths])
    weight = np.ones(len(paths)) if race_weight is None else np.asarray(race_weight, dtype=np.float64)
    base = np.zeros(len(X)) if strength is None else np.asarray(strength, dtype=np.float64)
    place = np.asarray(position, dtype=np.float64)
    cells = _cells(X, base, place, cut, race_cell, place_weights, weight)
    tree = tree_of(leaves)
    depths, columns = len(leaves[0]), X.shape[1]
    below = np.full((depths, columns), 0.3) if spread is None else np.broadcast_to(spread, (depths, columns))
    spreads = np.vstack([np.full((1, columns), whole_sd), below])
    estimate = spread is None and depths > 0
    J, linear, spreads = _settle(cells, tree, spreads, estimate=estimate)
    maybe = Spreads(spreads[None], np.ones(1))
    if estimate:
        maybe = spread_points(tree, J, linear, spreads)
    return _effects(tree, [posterior_of(tree, J, linear, point) for point in maybe.value], maybe, race_cell)


def _settle(
    cells: list[_Cell], tree: Tree, spread: NDArray[np.float64], *, estimate: bool
) -> tuple[csc_array, NDArray[np.float64], NDArray[np.float64]]:
    """Expand and solve in turn until no cell moves; spreads are estimated in the first rounds, then held."""
    columns = spread.shape[1]
    at = np.zeros((len(cells), columns))
    for round_ in range(_ROUNDS):
        information, linear = _quadratics(cells, at)
        J = csc_array(block_diag(information))
        if estimate and round_ < _ESTIMATING_ROUNDS:
            spread = fit_spreads(tree, J, linear, spread)
        moved = tree.above @ posterior_of(tree, J, linear, spread).steps.reshape(-1, columns)
        change, at = np.abs(moved - at).max(), moved
        if change < _SETTLED and (not estimate or round_ >= _ESTIMATING_ROUNDS):
            return J, linear, spread
    raise CannotFitError("draw", "the effects do not settle", "hold the spreads or use fewer cells")


def _effects(tree: Tree, posteriors: list[Posterior], spreads: Spreads, race_cell: NDArray[np.int64]) -> DrawEffects:
    """Sum the steps from the whole down to every cell, averaged over what the spreads may be."""
    columns = spreads.value.shape[2]
    number = {path: i for i, path in enumerate(tree.paths)}
    raced = tree.above.T @ np.bincount(race_cell, minlength=tree.above.shape[0])
    mean, covariance, races = {}, {}, {}
    for path in tree.paths:
        line = [number[path[:depth]] for depth in range(len(path) + 1)]
        right = np.zeros((len(tree.paths) * columns, columns))
        for node in line:
            right[node * columns + np.arange(columns), np.arange(columns)] = 1.0
        means = np.array([right.T @ p.steps for p in posteriors])
        within = np.array([right.T @ p.solver.solve(right) for p in posteriors])
        mean[path] = spreads.weight @ means
        off = means - mean[path]
        covariance[path] = np.einsum("p,pij->ij", spreads.weight, within + off[:, :, None] * off[:, None, :])
        races[path] = int(raced[number[path]])
    return DrawEffects(mean, covariance, races, spreads.typical()[1:])
