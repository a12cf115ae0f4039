"""Variance components by restricted maximum likelihood, any number of random parts, by Henderson's equations.

    y = X b + sum_k Z_k u_k + e,   u_k ~ N(0, v_k Q_k^-1),   e_i ~ N(0, v_e + s_i^2)

with s_i the known standard error of a record. With R the variances of e, W = [X Z_1 ...] and G those of all u,

    -2 l = sum log R + sum_k (q_k log v_k - log|Q_k|) + log|W'R^-1 W + G^-1| + y'Py + (n - p) log 2 pi

(Harville 1977, J. Am. Stat. Assoc. 72:320). The equations are solved sparsely, so that a part may be a walk over time.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
WHAT: Final = _("variance components")
LEAST: Final = 1e-10
"""A component is never smaller than this share of the records' own variance; as small as that it is nought."""
STEPS: Final = 200
NEAR: Final = 1e-4
"""Differences of logarithms by which derivatives are taken."""
FLAT: Final = 1e-5
LEVEL: Final = 1e-2
SAME: Final = 1e-9
"""The search ends where -2 l is so flat, or less flat than the second and changes by less than the third."""
FARTHEST: Final = 3.0
"""No component changes by more than this in one step, in logarithms."""
EVEN: Final = 1e-8
"""Added to the information, which is nought for a component of nought."""
MOST_DAMPING: Final = 1e8


@dataclass(frozen=True, slots=True)
class Part:
    """One random part.

    Attributes:
        name: what it is of.
        incidence: (n, q) which record has how much of which level (Z), sparse.
        precision: (q, q) precision of the levels over their variance (Q), sparse; the identity for levels that have
            nothing to do with each other.
    """

    name: str
    incidence: Any
    precision: Any


def coded(values: Sequence[Any]) -> tuple[Ints, list[Any]]:
    """Return the place of each value among the known ones, -1 for None, and those in order."""
    known = sorted({one for one in values if one is not None})
    place = {one: number for number, one in enumerate(known)}
    return np.array([-1 if one is None else place[one] for one in values], dtype=np.int64), known


def levels(name: str, codes: Ints, count: int) -> Part:
    """Return a part of unrelated levels; a record with the code -1 has none of them."""
    rows = np.flatnonzero(codes >= 0)
    Z = sparse.csr_array((np.ones(rows.size), (rows, codes[rows])), shape=(codes.size, count))
    return Part(name, Z, sparse.eye_array(count, format="csr"))


def walks(name: str, owner: Ints, time: Floats) -> Part:
    """Return a part in which each owner's level walks at random from its first record on, where it is nought.

    Args:
        name: what it is of.
        owner: (n,) whose record it is; a record with -1 is nobody's and has no level.
        time: (n,) when, in the unit of time after which the variance of a step is the component.

    Each record but an owner's first, and those of the same time, has a level of its own.
    """
    known = np.flatnonzero(owner >= 0)
    if known.size < owner.size:
        part = walks(name, owner[known], time[known])
        into = sparse.csr_array((np.ones(known.size), (known, np.arange(known.size))), shape=(owner.size, known.size))
        return Part(name, sparse.csr_array(into @ part.incidence), part.precision)
    order = np.lexsort((time, owner))
    first = np.r_[True, owner[order][1:] != owner[order][:-1]]
    later = ~first & np.r_[False, np.diff(time[order]) > 0]
    number = np.cumsum(later) - 1
    step = np.r_[0.0, np.diff(time[order])][later]
    begins = _first_of_owner(first, later)
    D = sparse.eye_array(step.size, format="csr") - sparse.csr_array(
        (np.ones(np.count_nonzero(~begins)), (np.flatnonzero(~begins), np.flatnonzero(~begins) - 1)),
        shape=(step.size, step.size),
    )
    start = np.maximum.accumulate(np.where(first, np.arange(order.size), 0))
    moved = number >= np.r_[0, np.cumsum(later)][start]
    rows = order[moved]
    Z = sparse.csr_array((np.ones(rows.size), (rows, number[moved])), shape=(owner.size, step.size))
    return Part(name, Z, sparse.csr_array(D.T @ sparse.diags_array(1.0 / step) @ D))


def _first_of_owner(first: NDArray[np.bool_], later: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which of the levels are the first of their owner."""
    whose = np.cumsum(first)[later]
    return np.asarray(np.r_[True, whose[1:] != whose[:-1]][: whose.size], dtype=np.bool_)


@dataclass(frozen=True, slots=True)
class Components:
    """What was found.

    Attributes:
        variances: (k,) of the parts, in their order.
        residual: of what remains, beyond the records' known errors.
        log_likelihood: restricted.
        fixed: (p,) fixed effects.
        random: one (q,) array of levels a part.
        starts: where each part's levels begin among all effects; the fixed ones stand first.
        factor: of the equations, for `variance_of`.
        converged: whether the search ended by itself.
    """

    variances: Floats
    residual: float
    log_likelihood: float
    fixed: Floats
    random: tuple[Floats, ...]
    starts: tuple[int, ...]
    factor: Any
    converged: bool

    def variance_of(self, contrasts: Any) -> Floats:
        """Return the prediction error variances of contrasts of all effects, given as (m, p + q) rows."""
        rows = sparse.csr_array(contrasts).toarray()
        return np.asarray(np.einsum("ij,ji->i", rows, self.factor.solve(rows.T)))


@dataclass(frozen=True, slots=True)
class _Table:
    y: Floats
    W: Any
    known: Floats
    parts: Sequence[Part]
    fixed: int
    log_precisions: tuple[float, ...]
    lifted: Floats
    equations: "_Equations"


@dataclass(frozen=True, slots=True)
class _Equations:
    """The left side of the equations, W'R^-1 W + G^-1, whose places never change: only what stands in them.

    They stand in the order in which they are factored, which is looked for once.

    Attributes:
        order: (p + q,) which effect stands at each place.
        indices, indptr: where something stands, by columns.
        by_record: (m, n) what a record brings to each place, over its variance.
        by_part: (m, k) what the precision of a part brings, over its component.
    """

    order: Ints
    indices: Ints
    indptr: Ints
    by_record: Any
    by_part: Floats

    def at(self, weights: Floats, precisions: Floats) -> Any:
        """Return the left side.

        Args:
            weights: (n,) one over the variance of each record.
            precisions: (k,) one over each component.
        """
        size = self.indptr.size - 1
        data = self.by_record @ weights + self.by_part @ precisions
        return sparse.csc_array((data, self.indices, self.indptr), shape=(size, size))


def _equations(W: Any, fixed: int, parts: Sequence[Part]) -> _Equations:
    """Lay out the equations of records W with `fixed` fixed effects."""
    size, records = W.shape[1], W.shape[0]
    starts = np.cumsum([fixed, *(part.precision.shape[0] for part in parts)])
    entries = [sparse.coo_array(part.precision) for part in parts]
    i, j = _pairs(W)
    record = np.repeat(np.arange(records), np.diff(W.indptr) ** 2)
    value = W.data[i] * W.data[j]
    rows = np.concatenate([W.indices[i], *(one.row + start for one, start in zip(entries, starts, strict=False))])
    columns = np.concatenate([W.indices[j], *(one.col + start for one, start in zip(entries, starts, strict=False))])
    there = np.unique(columns.astype(np.int64) * size + rows)
    pattern = sparse.csc_array((np.ones(there.size), (there % size, there // size)), shape=(size, size))
    place_of = _factored(pattern + sparse.diags_array(np.full(size, float(size))), "MMD_AT_PLUS_A").perm_c
    places, place = np.unique(place_of[columns].astype(np.int64) * size + place_of[rows], return_inverse=True)
    ends = np.cumsum([value.size, *(one.nnz for one in entries)])
    by_record = sparse.csr_array((value, (place[: ends[0]], record)), shape=(places.size, records))
    by_part = np.zeros((places.size, len(parts)))
    for number, one in enumerate(entries):
        by_part[place[ends[number] : ends[number + 1]], number] = one.data
    indptr = np.searchsorted(places, np.arange(size + 1) * size)
    order = np.argsort(place_of)
    return _Equations(order, (places % size).astype(np.int32), indptr.astype(np.int32), by_record, by_part)


def _factored(left: Any, ordering: Literal["NATURAL", "MMD_AT_PLUS_A"]) -> Any:
    """Return the factor of a symmetric positive left side."""
    return splu(sparse.csc_array(left), permc_spec=ordering, options={"SymmetricMode": True}, diag_pivot_thresh=0.0)


@dataclass(frozen=True, slots=True)
class _Factor:
    """A factor of equations that stand in an order of their own; what goes in and comes out is in that of the effects.

    Attributes:
        of: SciPy's factor.
        order: as of the equations.
    """

    of: Any
    order: Ints

    def solve(self, right: Floats) -> Floats:
        """Return the solution of one right side (p + q,), or of several (p + q, m)."""
        told = np.empty_like(right)
        told[self.order] = self.of.solve(np.ascontiguousarray(right[self.order]))
        return told


def _pairs(W: Any) -> tuple[Ints, Ints]:
    """Return all pairs of entries of the same row, as two arrays of their places in `W.data`."""
    counts = np.diff(W.indptr)
    first = np.repeat(np.arange(W.data.size), np.repeat(counts, counts))
    begin = np.repeat(W.indptr[:-1], counts**2)
    within = np.arange(first.size) - np.repeat(np.cumsum(counts**2) - counts**2, counts**2)
    return first, begin + within % np.repeat(counts, counts**2)


def fit_components(
    y: Floats, X: Floats, parts: Sequence[Part], known: Floats | None = None, lifted: Collection[str] = ()
) -> Components:
    """Find the variances that make the records most likely, and the effects at them.

    Args:
        y: (n,) records.
        X: (n, p) fixed effects of full rank, the intercept among them.
        parts: the random parts.
        known: (n,) known variance of each record, None for none.
        lifted: names of parts whose standard deviation has a prior in proportion to itself, which keeps it from nought
            where few records cannot tell it from nought (Chung et al. 2013, Psychometrika 78:685). A component of
            nought would say that nothing can have changed. The likelihood that is told is without that prior.

    Raises:
        CannotFitError: too few records, or two effects say the same.
    """
    if y.size <= X.shape[1] + 1:
        raise CannotFitError(
            WHAT,
            _("{size} records for {shape} fixed effects", size=y.size, shape=X.shape[1]),
            _("wait for more records"),
        )
    table = _table(y, X, parts, known, lifted)
    whole = float(np.var(y - X @ np.linalg.lstsq(X, y, rcond=None)[0])) or 1.0
    start = np.log(np.full(len(parts) + 1, whole / (len(parts) + 1)))
    at, converged = _search(table, start, np.log(whole * LEAST), np.log(whole * 10))
    return _told(table, at, converged=converged)


def components_at(
    y: Floats, X: Floats, parts: Sequence[Part], tried: Sequence[Floats], known: Floats | None = None
) -> list[Components]:
    """Return the effects and the likelihood at variances that are given, without looking for better ones.

    Args:
        y: (n,) records.
        X: (n, p) fixed effects of full rank.
        parts: the random parts.
        tried: each (k + 1,): the variances of the parts, then of what remains.
        known: (n,) known variance of each record, None for none.
    """
    table = _table(y, X, parts, known)
    return [_told(table, np.log(one), converged=True) for one in tried]


def _table(y: Floats, X: Floats, parts: Sequence[Part], known: Floats | None, lifted: Collection[str] = ()) -> _Table:
    W = sparse.csr_array(sparse.hstack([sparse.csr_array(X), *(part.incidence for part in parts)]))
    known = np.zeros(y.size) if known is None else known
    weight = np.array([float(part.name in lifted) for part in parts] + [0.0])
    precisions = tuple(_log_determinant(part.precision) for part in parts)
    return _Table(y, W, known, parts, X.shape[1], precisions, weight, _equations(W, X.shape[1], parts))


def _search(table: _Table, start: Floats, low: float, high: float) -> tuple[Floats, bool]:
    """Return the logarithms of the variances at which -2 l is least, and whether the search ended by itself.

    Newton's method with the average of observed and expected information (Gilmour, Thompson and Cullis 1995,
    Biometrics 51:1440) in place of the second derivatives, which needs no inverse; damped where a step does not help.
    """
    at, damping = start, 0.0
    value = _penalised(table, at)
    for _turn in range(STEPS):
        slope = _slope(table, at)
        free = ~((at <= low) & (slope > 0)) & ~((at >= high) & (slope < 0))
        if np.abs(slope[free]).max(initial=0.0) < FLAT:
            return at, True
        information = _information(table, at)[np.ix_(free, free)]
        while True:
            diagonal = np.diag(np.diag(information) * damping + EVEN)
            step = np.linalg.solve(information + diagonal, -slope[free])
            tried = at.copy()
            tried[free] = np.clip(at[free] + np.clip(step, -FARTHEST, FARTHEST), low, high)
            found = _penalised(table, tried)
            if found <= value:
                break
            if damping > MOST_DAMPING:
                return at, np.abs(slope[free]).max() < LEVEL
            damping = max(4 * damping, 0.25)
        still = value - found < SAME and np.abs(slope[free]).max() < LEVEL
        at, value, damping = tried, found, damping / 4 if damping > 0.1 else 0.0
        if still:
            return at, True
    return at, False


def _penalised(table: _Table, at: Floats) -> float:
    return _looked(table, at)[0] - float(table.lifted @ at)


def _slope(table: _Table, at: Floats) -> Floats:
    """Return the derivatives of -2 l by central differences."""
    ways = np.eye(at.size) * NEAR
    return np.array([(_penalised(table, at + way) - _penalised(table, at - way)) / (2 * NEAR) for way in ways])


def _information(table: _Table, at: Floats) -> Floats:
    """Return F'PF, with the columns of F the derivatives of V by the logarithms of variances, times Py."""
    _value, factor, solution = _looked(table, at)
    residual = np.exp(at[-1]) + table.known
    left_over = (table.y - table.W @ solution) / residual  # Py
    bounds = np.cumsum([table.fixed, *(part.precision.shape[0] for part in table.parts)])
    columns = [part.incidence @ u for part, u in zip(table.parts, np.split(solution, bounds[:-1])[1:], strict=True)]
    F = np.column_stack([*columns, np.exp(at[-1]) * left_over])
    weighted = F / residual[:, None]
    PF = weighted - (table.W @ factor.solve(np.asarray(table.W.T @ weighted))) / residual[:, None]
    return np.asarray(F.T @ PF)


def _looked(table: _Table, at: Floats) -> tuple[float, Any, Floats]:
    """Return -2 l at logarithms of variances, with the factor of the equations and their solution."""
    residual = np.exp(at[-1]) + table.known
    left = table.equations.at(1.0 / residual, np.exp(-at[:-1]))
    right = np.asarray(table.W.T @ (table.y / residual))
    try:
        factor = _Factor(_factored(left, "NATURAL"), table.equations.order)
    except RuntimeError:
        raise CannotFitError(WHAT, _("two effects say the same"), _("drop one level of each fixed effect")) from None
    solution = np.asarray(factor.solve(right))
    quadratic = float(table.y @ (table.y / residual) - right @ solution)
    shapes = [part.precision.shape[0] for part in table.parts]
    value = float(np.log(residual).sum()) + float(np.log(np.abs(factor.of.U.diagonal())).sum()) + quadratic
    value += sum(q * v - d for q, v, d in zip(shapes, at[:-1], table.log_precisions, strict=True))
    return value + (table.y.size - table.fixed) * float(np.log(2 * np.pi)), factor, solution


def _told(table: _Table, at: Floats, *, converged: bool) -> Components:
    value, factor, solution = _looked(table, at)
    sizes = [table.fixed, *(part.precision.shape[0] for part in table.parts)]
    bounds = np.cumsum(sizes)
    pieces = np.split(solution, bounds[:-1])
    return Components(
        np.exp(at[:-1]), float(np.exp(at[-1])), -value / 2, pieces[0], tuple(pieces[1:]),
        tuple(int(b) for b in bounds[:-1]), factor, converged,
    )  # fmt: skip


def _log_determinant(precision: Any) -> float:
    if not precision.shape[0]:
        return 0.0
    return float(np.log(np.abs(splu(sparse.csc_array(precision)).U.diagonal())).sum())
