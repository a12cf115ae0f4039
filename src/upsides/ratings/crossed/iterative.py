"""The inner factor's equations solved by conjugate gradients, for tables too large for a dense factor."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.crossed import kernels
from upsides.ratings.crossed.curvature import Probes, Spread
from upsides.ratings.crossed.equations import Scales
from upsides.ratings.crossed.table import CrossedTable

Floats = NDArray[np.float64]
THREADS = 2
SWEEPS = 10  # message passing settles in three to five
TOLERANCE = 1e-8  # of the residual's norm, in the preconditioner's metric
STEPS = 1000


class IterativeReduced:
    """S with its own diagonal as preconditioner; columns are shared among threads.

    Args:
        table: the runs.
        s: the scales of the variances.
        memory: solutions of an earlier call at nearby variances, in order of asking, from which to start;
            replaced.
        finish: whether `spread` gives the log determinant and the diagonals as well.
    """

    def __init__(self, table: CrossedTable, s: Scales, memory: dict[int, Floats], *, finish: bool) -> None:
        self.table, self.s, self.memory, self.finish, self.asked = table, s, memory, finish, 0
        self.diagonal = s.inner_diagonal.copy()
        kernels.pair_diagonal(table.start, table.inner, table.weight, -s.pull, self.diagonal)

    def solve(self, right: Floats) -> Floats:
        """Return `S^-1 right`, (inner, c)."""
        guess = self.memory.get(self.asked)
        guesses = [None] * THREADS if guess is None else _shared(guess)
        with ThreadPoolExecutor(THREADS) as pool:
            parts = pool.map(self._descend, _shared(right), guesses)
            solution = np.hstack([x for x, _ in parts])
        self.memory[self.asked] = solution
        self.asked += 1
        return solution

    def spread(self, probes: Probes, solved: tuple[Floats, ...]) -> Spread:
        """Return the traces from the probes and, to finish, the log determinant and the diagonals.

        The diagonals come from message passing along the runs, scaled so that their sums are the probed
        traces.
        """
        samples = (probes.outer * solved[0]).sum(axis=0), (probes.inner * solved[3]).sum(axis=0)
        traces = [float(sample.sum()) * share for sample, share in zip(samples, probes.shares, strict=True)]
        noise = [0.0 if probes.exact else float(sample.var(ddof=1)) / sample.size for sample in samples]
        if not self.finish:
            return Spread(np.nan, np.empty(0), np.empty(0), traces[0], traces[1], np.array([0.0, *noise]))
        logs = self._log_determinants(probes.inner)
        outer, inner = self._message_diagonals()
        outer, inner = outer * (traces[0] / outer.sum()), inner * (traces[1] / inner.sum())
        spread = 0.0 if probes.exact else float(logs.var(ddof=1)) / logs.size
        return Spread(float(logs.mean()), outer, inner, traces[0], traces[1], np.array([spread, *noise]))

    def _message_diagonals(self) -> tuple[Floats, Floats]:
        table, s = self.table, self.s
        outer, inner = np.empty(s.outer_diagonal.size), np.empty(s.inner_diagonal.size)
        ridges = s.outer_ridge, s.inner_ridge
        kernels.pass_messages(table.start, table.inner, table.weight, s.outer, s.inner, *ridges, SWEEPS, outer, inner)
        return 1.0 / outer, 1.0 / inner

    def _log_determinants(self, signs: Floats) -> Floats:
        """Return estimates of log |S|, one a probe of signs (inner, k), by Lanczos quadrature.

        Golub & Meurant 1994; Ubaru, Chen & Saad 2017 (SIAM J Matrix Anal 38:1075).
        """
        right = signs * np.sqrt(self.diagonal)[:, None]
        with ThreadPoolExecutor(THREADS) as pool:
            parts = pool.map(self._descend, _shared(right), [None] * THREADS)
            steps = [step for _, (alphas, betas) in parts for step in zip(alphas.T, betas.T, strict=True)]
        plain = float(np.log(self.diagonal).sum())
        return np.array([plain + self.diagonal.size * _log_quadrature(a, b) for a, b in steps])

    def _descend(self, right: Floats, guess: Floats | None) -> tuple[Floats, tuple[Floats, Floats]]:
        """Solve for a block of columns at once; return them and the steps (iterations, c)."""
        table, s, inverse = self.table, self.s, 1.0 / self.diagonal
        x = np.zeros_like(right) if guess is None else guess.copy()
        r, q = right.copy(), np.empty_like(right)
        if guess is not None:
            kernels.reduced_times(table.start, table.inner, table.weight, s.pull, s.inner_diagonal, x, q)
            r -= q
        p = r * inverse[:, None]
        norm = np.einsum("ij,ij->j", r, p)
        goal = TOLERANCE**2 * np.einsum("ij,ij,i->j", right, right, inverse)
        alphas: list[Floats] = []
        betas: list[Floats] = []
        while (norm > goal).any() and len(alphas) < STEPS:
            kernels.reduced_times(table.start, table.inner, table.weight, s.pull, s.inner_diagonal, p, q)
            bend = np.einsum("ij,ij->j", p, q)
            alpha = np.divide(norm, bend, out=np.zeros_like(norm), where=bend > 0)
            after = np.empty_like(norm)
            kernels.advance(x, r, p, q, inverse, alpha, after)
            beta = np.divide(after, norm, out=np.zeros_like(norm), where=norm > 0)
            kernels.redirect(p, r, inverse, beta)
            alphas.append(alpha)
            betas.append(beta)
            norm = after
        shape = (len(alphas), right.shape[1])
        return x, (np.array(alphas).reshape(shape), np.array(betas).reshape(shape))


def _log_quadrature(alpha: Floats, beta: Floats) -> float:
    """Return `e' log(T) e` for the Lanczos matrix T of conjugate-gradient steps, e the first unit vector."""
    used = alpha > 0
    alpha, beta = alpha[used], beta[used]
    diagonal = 1.0 / alpha
    diagonal[1:] += beta[:-1] / alpha[:-1]
    beside = np.sqrt(beta[:-1]) / alpha[:-1]
    values, vectors = np.linalg.eigh(np.diag(diagonal) + np.diag(beside, 1) + np.diag(beside, -1))
    return float(vectors[0] ** 2 @ np.log(values))


def _shared(values: Floats) -> list[Floats]:
    """Return the columns, shared among the threads."""
    return [np.ascontiguousarray(part) for part in np.array_split(values, THREADS, axis=1)]
