"""A model laid out for solving: weights of records, effects that are estimated, who has records."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import lapack

from upsides.errors import CannotPredictError
from upsides.errors.wording import gettext as _
from upsides.pedigree.prediction.inverse import mendelian_precision
from upsides.pedigree.prediction.model import Model

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]
RANK_CHECKED = 3000
"""Fixed effects up to which it is looked whether two say the same."""
NEGLIGIBLE = 1e-9


@dataclass(frozen=True)
class Equations:
    """Henderson's equations, not yet built.

    Unknowns stand in this order: fixed effects (p, t), animals (n, t), permanent effects of the k animals with
    records (k, t).

    Args:
        model: what was asked.
        weight: (m, t, t) each record's inverse residual covariance, nought where a trait was not recorded.
        y: (m, t) records, nought where not recorded.
        used: (p, t) fixed effects that are estimated.
        precision: (n,) inverse Mendelian variances.
        recorded: (k,) animals with records, and
        holder: (m,) each record's place among them.
    """

    model: Model
    weight: Floats
    y: Floats
    used: NDArray[np.bool_]
    precision: Floats
    recorded: Codes
    holder: Codes

    @property
    def traits(self) -> int:
        """Number of traits."""
        return self.model.variances.traits

    @property
    def sizes(self) -> tuple[int, int, int]:
        """Fixed effects, animals, permanent effects; each a trait."""
        permanent = self.recorded.size if self.model.variances.permanent is not None else 0
        return self.model.fixed.shape[1], self.model.graph.size, permanent

    @cached_property
    def genetic_inverse(self) -> Floats:
        """G^-1 (t, t)."""
        return np.ascontiguousarray(np.linalg.inv(self.model.variances.genetic))

    @cached_property
    def permanent_inverse(self) -> Floats:
        """P^-1 (t, t), nought where there are no permanent effects."""
        permanent = self.model.variances.permanent
        return np.zeros((self.traits, self.traits)) if permanent is None else np.asarray(np.linalg.inv(permanent))

    @cached_property
    def fixed_block(self) -> Floats:
        """X'WX (p t, p t), with 1 on the diagonal of effects that are not estimated."""
        columns = self.fixed_by_trait
        block = np.asarray((columns.T @ self.weights @ columns).toarray())
        unused = ~self.used.ravel()
        block[unused, unused] = 1.0
        return block

    @cached_property
    def fixed_by_trait(self) -> Any:
        """X (m t, p t), sparse, its unused columns empty."""
        whole = sparse.kron(self.model.fixed, sparse.eye_array(self.traits), format="csr")
        return sparse.csr_array(whole @ sparse.diags_array(self.used.ravel().astype(np.float64)))

    @cached_property
    def weights(self) -> Any:
        """W (m t, m t), sparse, one block a record."""
        m = self.y.shape[0]
        blocks = self.weight, np.arange(m), np.arange(m + 1)
        return sparse.csr_array(sparse.bsr_array(blocks, shape=(m * self.traits,) * 2))

    @cached_property
    def weight_of_animals(self) -> Floats:
        """(k, t, t) the summed weights of each recorded animal's records."""
        total = np.zeros((self.recorded.size, self.traits, self.traits))
        np.add.at(total, self.holder, self.weight)
        return total

    def right_side(self) -> tuple[Floats, Floats]:
        """Return X'Wy (p, t) and Z'Wy of the recorded animals (k, t)."""
        weighed = np.einsum("mij,mj->mi", self.weight, self.y)
        by_animal = np.zeros((self.recorded.size, self.traits))
        np.add.at(by_animal, self.holder, weighed)
        return (self.model.fixed.T @ weighed) * self.used, by_animal


def equations_of(model: Model) -> Equations:
    """Lay a model out.

    Raises:
        CannotPredictError: two fixed effects say the same.
    """
    seen = ~np.isnan(model.y)
    filled = (abs(model.fixed).T @ seen.astype(np.float64)) > 0
    used = filled if model.applies is None else filled & model.applies
    recorded, holder = np.unique(model.animal, return_inverse=True)
    laid = Equations(
        model,
        _weights(model.variances.residual, seen) if model.precision is None else _seen_only(model.precision, seen),
        np.where(seen, model.y, 0.0),
        used,
        mendelian_precision(model.graph),
        recorded.astype(np.int64),
        holder.astype(np.int64),
    )
    _check_rank(laid)
    return laid


def _weights(residual: Floats, seen: NDArray[np.bool_]) -> Floats:
    """Return the inverse of R's part of the traits that each record has, (m, t, t)."""
    m, t = seen.shape
    out = np.zeros((m, t, t))
    patterns, which = np.unique(seen, axis=0, return_inverse=True)
    for place, pattern in enumerate(patterns):
        held = np.flatnonzero(pattern)
        inverse = np.zeros((t, t))
        inverse[np.ix_(held, held)] = np.linalg.inv(residual[np.ix_(held, held)])
        out[which.ravel() == place] = inverse
    return out


def _seen_only(precision: Floats, seen: NDArray[np.bool_]) -> Floats:
    """Return precisions without what was not recorded."""
    return np.where(seen[:, :, None] & seen[:, None, :], precision, 0.0)


def _check_rank(laid: Equations) -> None:
    p = laid.model.fixed.shape[1]
    if not 0 < p * laid.traits <= RANK_CHECKED:
        return
    block = laid.fixed_block
    scale = 1.0 / np.sqrt(np.diag(block))
    _factor, pivots, rank, _info = lapack.dpstrf(block * scale[:, None] * scale, tol=NEGLIGIBLE)
    if rank < block.shape[0]:
        column = int(pivots[rank] - 1) // laid.traits
        reason = _("column {column} says what others say already", column=column)
        raise CannotPredictError(_("fixed effects"), reason, _("drop one level of each effect after the first"))
