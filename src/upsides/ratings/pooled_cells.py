"""Coefficients of cells pooled towards the cell above, from each cell's quadratic log-likelihood.

Cells form a tree: the whole, its parts, their parts. A cell's coefficients are those of the cell above plus
a step that is normal with a spread common to all cells of that depth. With each narrowest cell's likelihood
given as a quadratic the posterior is exact given the spreads. Those are found from the evidence (empirical
Bayes), and what they might be instead is averaged over, because a spread taken as known makes the intervals
too short.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.sparse import csc_array, csr_array, diags_array, eye_array, kron
from scipy.sparse.linalg import SuperLU, splu
from scipy.stats import norm
from scipy.stats.qmc import Sobol

Path = tuple[str, ...]
"""A cell from the widest to the narrowest label, e.g. (course, trip and surface, going); () is the whole."""

_LEAST_SD, _MOST_SD = 1e-3, 3.0
_PRIOR_SD = 0.5
_LEAST_CURVATURE = 0.25
_POINTS = 32


@dataclass(frozen=True, slots=True)
class Tree:
    """All cells, narrowest first; `above` (narrowest cells, all cells) marks each one's line of descent."""

    paths: list[Path]
    depth: NDArray[np.int64]
    above: csr_array


def tree_of(leaves: list[Path]) -> Tree:
    """Return the tree above the narrowest cells, which all have one depth."""
    nodes = {leaf[:depth] for leaf in leaves for depth in range(len(leaf) + 1)}
    paths = sorted(nodes, key=lambda path: (-len(path), path))
    number = {path: i for i, path in enumerate(paths)}
    line = [[number[leaf[:depth]] for depth in range(len(leaf), -1, -1)] for leaf in leaves]
    columns = np.array(line).ravel()
    starts = np.arange(0, len(columns) + 1, len(line[0]))
    above = csr_array((np.ones(len(columns)), columns, starts), shape=(len(leaves), len(paths)))
    return Tree(paths, np.array([len(path) for path in paths]), above)


@dataclass(frozen=True, slots=True)
class Posterior:
    """Steps between cells (cells x columns,), their factorised precision, and the spreads' log evidence."""

    steps: NDArray[np.float64]
    solver: SuperLU
    log_evidence: float


def posterior_of(tree: Tree, J: csc_array, linear: NDArray[np.float64], spread: NDArray[np.float64]) -> Posterior:
    """Solve for the steps from each cell to the one above, given the (depths + 1, columns) spreads."""
    prior = 1.0 / spread[tree.depth].ravel() ** 2
    design = kron(tree.above, eye_array(spread.shape[1])).tocsr()
    precision = csc_array(design.T @ J @ design + diags_array(prior))
    solver = splu(precision, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    right = design.T @ linear.ravel()
    steps = solver.solve(right)
    determinant = float(np.log(np.abs(solver.U.diagonal())).sum())
    return Posterior(steps, solver, 0.5 * float(np.log(prior).sum() - determinant + right @ steps))


@dataclass(frozen=True, slots=True)
class Spreads:
    """What the spreads may be: (points, depths + 1, columns) values and their (points,) posterior weights."""

    value: NDArray[np.float64]
    weight: NDArray[np.float64]

    def typical(self) -> NDArray[np.float64]:
        """Return the root mean square of the spreads, (depths + 1, columns)."""
        return np.asarray(np.sqrt(np.einsum("p,pdc->dc", self.weight, self.value**2)))


@dataclass(frozen=True, slots=True)
class _Evidence:
    """Log posterior of the spreads below the whole, as a function of their logs; the whole's own is kept.

    Each spread has a half-normal prior with `_PRIOR_SD`, ours and weak: a logit of half across the stalls.
    """

    tree: Tree
    J: csc_array
    linear: NDArray[np.float64]
    whole: NDArray[np.float64]

    def spread(self, log_spread: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return all spreads, (depths + 1, columns)."""
        below = np.exp(np.clip(log_spread, np.log(_LEAST_SD), np.log(_MOST_SD)))
        return np.vstack([self.whole, below.reshape(-1, self.whole.shape[1])])

    def __call__(self, log_spread: NDArray[np.float64]) -> float:
        spread = self.spread(log_spread)
        prior = float(log_spread.sum() - 0.5 * (np.exp(log_spread) ** 2).sum() / _PRIOR_SD**2)
        return posterior_of(self.tree, self.J, self.linear, spread).log_evidence + prior

    def curvature(self, at: NDArray[np.float64], step: float = 0.2) -> NDArray[np.float64]:
        """Return the negative Hessian by differences."""
        size = len(at)
        move = step * np.eye(size)
        middle = self(at)
        up, down = ([self(at + sign * m) for m in move] for sign in (1, -1))
        H = np.diag([2 * middle - u - d for u, d in zip(up, down, strict=True)])
        for i in range(size):
            for j in range(i):
                H[i, j] = H[j, i] = up[i] + up[j] - middle - self(at + move[i] + move[j])
        return np.asarray(H / step**2)


def fit_spreads(
    tree: Tree, J: csc_array, linear: NDArray[np.float64], start: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the most probable spreads (depths + 1, columns), the whole's own as in `start`."""
    evidence = _Evidence(tree, J, linear, start[:1])
    centre: NDArray[np.float64] = np.log(start[1:].ravel())
    simplex = np.vstack([centre, centre + np.eye(len(centre))])

    def loss(log_spread: NDArray[np.float64]) -> float:
        return -evidence(log_spread)

    found = minimize(
        loss,
        centre,
        method="Nelder-Mead",
        options={"xatol": 0.01, "fatol": 0.001, "initial_simplex": simplex},
    )
    return evidence.spread(found.x)


def spread_points(tree: Tree, J: csc_array, linear: NDArray[np.float64], mode: NDArray[np.float64]) -> Spreads:
    """Return points that stand for the posterior of the spreads about their mode.

    Evenly spread normal points with the mode's curvature, weighted by posterior over normal density.
    """
    evidence = _Evidence(tree, J, linear, mode[:1])
    centre = np.log(mode[1:].ravel())
    values, vectors = np.linalg.eigh(evidence.curvature(centre))
    scale = vectors / np.sqrt(np.maximum(values, _LEAST_CURVATURE))
    z = norm.ppf(Sobol(len(centre), scramble=False).random(_POINTS) + 0.5 / _POINTS)
    logs = centre + z @ scale.T
    log_weight = np.array([evidence(x) for x in logs]) + 0.5 * (z**2).sum(axis=1)
    weight = np.exp(log_weight - log_weight.max())
    return Spreads(np.array([evidence.spread(x) for x in logs]), weight / weight.sum())
