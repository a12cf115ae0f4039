"""Slopes of races pooled over what races share: course, start, going, rail, meeting and so on.

    b_r = sum over k of z_rk u_k + c_r own_r + luck_r,    u_k ~ N(0, v_k),  own_r ~ N(0, v_race),  luck_r ~ N(0, s_r^2)

Groups cross each other; c_r says how restless the start of a race is. Given the spreads (roots of the v) the posterior
is exact. Some spreads are given; the others are found from the evidence, each with a half-normal prior, and what they
might be instead is averaged over, because a spread taken as known makes ranges too short where races are few.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import minimize
from scipy.sparse.linalg import SuperLU, splu
from scipy.stats import norm
from scipy.stats.qmc import Sobol

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LEAST, MOST = 1e-2, 50.0
"""Between which a spread is looked for, lb."""
LEAST_CURVATURE = 0.25
POINTS = 16
MOST_ASKED = 6_000
"""Races, the latest, from which spreads are found; effects come from all."""
TOLERANCE = 1e-8
STEP = 1e-3
"""Of the logs, by which slopes of the evidence are taken."""


@dataclass(frozen=True, slots=True)
class Group:
    """Effects of one kind.

    Attributes:
        name: what they are of.
        code: (races,) which of them acts on each race, -1 for none.
        labels: what each is called.
        times: (races,) what it is multiplied by.
        spread: standard deviation of the effects, lb; None to find it.
    """

    name: str
    code: Ints
    labels: tuple[str, ...]
    times: Floats | None = None
    spread: float | None = None


@dataclass(frozen=True, slots=True)
class _Table:
    slope: Floats
    by_luck: Floats
    restless: Floats
    Z: sparse.csr_array
    kind: Ints
    given: Floats
    prior_sd: float | None

    def latest(self, most: int) -> "_Table":
        """Return the table of the last so many races."""
        if self.slope.size <= most:
            return self
        Z = sparse.csr_array(self.Z[-most:])
        return _Table(
            self.slope[-most:], self.by_luck[-most:], self.restless[-most:], Z, self.kind, self.given, self.prior_sd
        )

    def spreads(self, log: Floats) -> Floats:
        """Return the spread of every group and, last, of races, with those that are found taken from their logs."""
        out = self.given.copy()
        out[np.isnan(out)] = np.exp(np.clip(log, np.log(LEAST), np.log(MOST)))
        return out

    def solve(self, spread: Floats) -> tuple[SuperLU, Floats, float]:
        """Return the factor, the effects and the log evidence at spreads."""
        record = self.by_luck + (self.restless * spread[-1]) ** 2
        prior = 1.0 / spread[:-1][self.kind] ** 2
        weighted = self.Z.T @ sparse.diags_array(1.0 / record)
        precision = sparse.csc_array(weighted @ self.Z + sparse.diags_array(prior))
        factor = splu(precision, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        right = weighted @ self.slope
        effects = factor.solve(right)
        value = np.log(prior).sum() - np.log(record).sum() - np.log(np.abs(factor.U.diagonal())).sum()
        return factor, effects, 0.5 * float(value - self.slope @ (self.slope / record) + right @ effects)

    def log_posterior(self, log: Floats) -> float:
        """Return the log posterior of the spreads' logs; the evidence alone without a prior."""
        evidence = self.solve(self.spreads(log))[2]
        if self.prior_sd is None:
            return evidence
        return evidence + float(log.sum() - 0.5 * (np.exp(log) ** 2).sum() / self.prior_sd**2)


@dataclass(frozen=True, slots=True)
class Pooled:
    """Pooled effects.

    Attributes:
        place: number of each effect by name of its group and label.
        spread: of each group and of "race", lb: root mean square over what they may be.
    """

    place: dict[tuple[str, str], int]
    spread: dict[str, float]
    _weight: Floats
    _factors: tuple[SuperLU, ...]
    _effects: tuple[Floats, ...]

    def joint(self, which: Sequence[int]) -> tuple[Floats, Floats]:
        """Return the mean (k,) and covariance (k, k) of some effects."""
        right = np.zeros((self._effects[0].size, len(which)))
        right[list(which), np.arange(len(which))] = 1.0
        means = np.array([right.T @ effects for effects in self._effects])
        within = np.array([right.T @ factor.solve(right) for factor in self._factors])
        mean = self._weight @ means
        off = means - mean
        return mean, np.einsum("p,pij->ij", self._weight, within + off[:, :, None] * off[:, None, :])


def pool(
    slope: Floats,
    by_luck: Floats,
    groups: Sequence[Group],
    *,
    restless: Floats | None = None,
    prior_sd: float | None = 5.0,
    race: float | None = None,
) -> Pooled:
    """Pool slopes of races.

    Args:
        slope: (races,) lb, in order of time.
        by_luck: (races,) variance of each by luck, lb^2.
        groups: what races share.
        restless: (races,) what a race's own slope is multiplied by; 1 for all where not given.
        prior_sd: of the half-normal priors of the spreads, lb; None for none, and then the spreads are those of highest
            evidence and taken as known.
        race: spread of races beyond luck; None to find it.
    """
    table, place = _table(slope, by_luck, np.ones(slope.size) if restless is None else restless, groups, prior_sd, race)
    some = table.latest(MOST_ASKED)
    found = int(np.isnan(table.given).sum())
    centre = _mode(some, found)
    logs, weight = _points(some, centre) if prior_sd is not None and found else (centre[None], np.ones(1))
    spreads = np.array([table.spreads(log) for log in logs])
    solved = [table.solve(spread) for spread in spreads]
    typical = np.sqrt(weight @ spreads**2)
    names = [*(group.name for group in groups), "race"]
    return Pooled(
        place,
        dict(zip(names, typical.tolist(), strict=True)),
        weight,
        tuple(factor for factor, _, _ in solved),
        tuple(effects for _, effects, _ in solved),
    )


def _table(
    slope: Floats,
    by_luck: Floats,
    restless: Floats,
    groups: Sequence[Group],
    prior_sd: float | None,
    race: float | None,
) -> tuple[_Table, dict[tuple[str, str], int]]:
    place: dict[tuple[str, str], int] = {}
    parts, kinds, at = [], [], 0
    for number, group in enumerate(groups):
        rows = np.flatnonzero(group.code >= 0)
        times = np.ones(slope.size) if group.times is None else group.times
        shape = (slope.size, len(group.labels))
        parts.append(sparse.csr_array((times[rows], (rows, group.code[rows])), shape=shape))
        kinds.append(np.full(len(group.labels), number))
        place |= {(group.name, label): at + k for k, label in enumerate(group.labels)}
        at += len(group.labels)
    given = [group.spread for group in groups] + [race]
    known = np.array([np.nan if one is None else one for one in given], dtype=np.float64)
    return _Table(
        slope, by_luck, restless, sparse.csr_array(sparse.hstack(parts)), np.concatenate(kinds), known, prior_sd
    ), place


def _mode(table: _Table, found: int) -> Floats:
    if not found:
        return np.zeros(0)

    def downhill(log: Floats) -> tuple[float, Floats]:
        here = table.log_posterior(log)
        up = [table.log_posterior(log + move) for move in STEP * np.eye(found)]
        return -here, (here - np.array(up)) / STEP

    best = minimize(
        downhill,
        np.full(found, np.log(2.0)),
        jac=True,
        method="L-BFGS-B",
        bounds=[(np.log(LEAST), np.log(MOST))] * found,
        options={"ftol": TOLERANCE, "gtol": 1e-5},
    )
    return np.asarray(best.x, dtype=np.float64)


def _points(table: _Table, centre: Floats) -> tuple[Floats, Floats]:
    """Return log spreads and weights that stand for what they may be.

    Normal points with the curvature at the mode, weighted by posterior over normal density.
    """
    values, vectors = np.linalg.eigh(_curvature(table, centre))
    scale = vectors / np.sqrt(np.maximum(values, LEAST_CURVATURE))
    z = norm.ppf(Sobol(centre.size, scramble=False).random(POINTS) + 0.5 / POINTS)
    logs = centre + z @ scale.T
    log_weight = np.array([table.log_posterior(log) for log in logs]) + 0.5 * (z**2).sum(axis=1)
    weight = np.exp(log_weight - log_weight.max())
    return logs, weight / weight.sum()


def _curvature(table: _Table, at: Floats, step: float = 0.2) -> Floats:
    """Return the negative Hessian of the log posterior by differences."""
    move = step * np.eye(at.size)
    middle = table.log_posterior(at)
    up, down = ([table.log_posterior(at + sign * m) for m in move] for sign in (1, -1))
    H = np.diag([2 * middle - u - d for u, d in zip(up, down, strict=True)])
    for i in range(at.size):
        for j in range(i):
            H[i, j] = H[j, i] = up[i] + up[j] - middle - table.log_posterior(at + move[i] + move[j])
    return np.asarray(H / step**2)
