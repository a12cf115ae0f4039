"""The equations built and factored: exact, for as many animals as a sparse factor holds."""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from upsides.errors import CannotPredictError
from upsides.errors.wording import gettext as _
from upsides.pedigree.prediction import selected
from upsides.pedigree.prediction.equations import Equations
from upsides.pedigree.prediction.inverse import relationship_inverse

Floats = NDArray[np.float64]


class Factored:
    """The factor of the equations.

    Args:
        laid: the equations.
    """

    def __init__(self, laid: Equations) -> None:
        self.laid = laid
        self.left, self.right, self.kept = _build(laid)
        try:
            self.factor = splu(
                self.left, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
            )
        except RuntimeError:
            reason = _("they have no single solution")
            raise CannotPredictError(_("the equations"), reason, _("drop one level of each fixed effect")) from None

    def solve(self) -> tuple[Floats, Floats, Floats]:
        """Return fixed effects (p, t), animals (n, t) and permanent effects (k, t)."""
        return self._parted(np.asarray(self.factor.solve(self.right)))

    def columns(self, animals: NDArray[np.integer]) -> Floats:
        """Return the blocks (a, t, t) of the inverse that belong to some animals."""
        t, place = self.laid.traits, np.flatnonzero(self.kept)
        first = self.laid.sizes[0] * t
        where = np.searchsorted(place, first + np.asarray(animals)[:, None] * t + np.arange(t))
        out = np.empty((where.shape[0], t, t))
        for i, own in enumerate(where):
            right = np.zeros((place.size, t))
            right[own, np.arange(t)] = 1.0
            out[i] = np.asarray(self.factor.solve(right))[own]
        return out

    def own_blocks(self, most: float) -> tuple[Floats, Floats] | None:
        """Return the inverse's blocks of every animal (n, t, t) and the variances of the fixed effects (p, t).

        None where that would take more than about `most` operations.
        """
        n, t, p = self.left.shape[0], self.laid.traits, self.laid.sizes[0]
        upper = sparse.csc_array(sparse.triu(self._ordered(), format="csc"))
        upper.sort_indices()
        start, row = upper.indptr.astype(np.int64), upper.indices.astype(np.int32)
        parent, count = np.empty(n, dtype=np.int64), np.empty(n, dtype=np.int64)
        selected.count_columns(start, row, parent, count)
        if float(np.square(count, dtype=np.float64).sum()) > most:
            return None
        begin = np.concatenate([[0], np.cumsum(count)]).astype(np.int64)
        below, lower, diagonal = np.empty(begin[-1], dtype=np.int32), np.empty(begin[-1]), np.empty(n)
        if selected.factor(start, row, upper.data, parent, begin, below, lower, diagonal) >= 0:
            return None
        inverse, on_diagonal = np.empty_like(lower), np.empty(n)
        selected.invert_selected(begin, below, lower, diagonal, inverse, on_diagonal)
        place = np.asarray(self.factor.perm_c, dtype=np.int64)
        first = int(self.kept[: p * t].sum())
        fixed = np.full(p * t, np.nan)
        fixed[self.kept[: p * t]] = on_diagonal[place[:first]]
        where = place[first : first + self.laid.sizes[1] * t].reshape(-1, t)
        blocks = np.empty((where.shape[0], t, t))
        selected.pick_blocks(begin, below, inverse, on_diagonal, np.ascontiguousarray(where), blocks)
        return blocks, fixed.reshape(p, t)

    def _ordered(self) -> Any:
        """Return the left side in the factor's order, each animal's own block in it even where it is nought."""
        t, place = self.laid.traits, np.asarray(self.factor.perm_c, dtype=np.int64)
        first = int(self.kept[: self.laid.sizes[0] * t].sum())
        own = first + np.arange(self.laid.sizes[1])[:, None] * t + np.arange(t)
        whole = self.left.tocoo()
        rows = np.concatenate([whole.coords[0], np.repeat(own, t, axis=1).ravel()])
        columns = np.concatenate([whole.coords[1], np.tile(own, t).ravel()])
        values = np.concatenate([whole.data, np.zeros(own.size * t)])
        return sparse.csc_array((values, (place[rows], place[columns])), shape=self.left.shape)

    def _parted(self, solution: Floats) -> tuple[Floats, Floats, Floats]:
        whole = np.zeros(self.kept.size)
        whole[self.kept] = solution
        t = self.laid.traits
        p, n, _ = self.laid.sizes
        fixed, animals, permanent = np.split(whole, [p * t, (p + n) * t])
        return fixed.reshape(-1, t), animals.reshape(-1, t), permanent.reshape(-1, t)


def _build(laid: Equations) -> tuple[Any, Floats, NDArray[np.bool_]]:
    """Return the left side, the right side and which of the unknowns are estimated."""
    t, (p, n, k) = laid.traits, laid.sizes
    m, eye = laid.y.shape[0], sparse.eye_array(t)
    records = np.arange(m)
    animals = sparse.csr_array((np.ones(m), (records, laid.model.animal)), shape=(m, n))
    parts = [laid.fixed_by_trait, sparse.kron(animals, eye)]
    inverse = relationship_inverse(laid.model.graph, laid.precision)
    priors = [sparse.csr_array((p * t, p * t)), sparse.kron(inverse, laid.genetic_inverse)]
    if k:
        holders = sparse.csr_array((np.ones(m), (records, laid.holder)), shape=(m, k))
        parts.append(sparse.kron(holders, eye))
        priors.append(sparse.kron(sparse.eye_array(k), laid.permanent_inverse))
    design = sparse.csr_array(sparse.hstack(parts))
    left = sparse.csr_array(design.T @ laid.weights @ design + sparse.block_diag(priors))
    right = np.asarray(design.T @ (laid.weights @ laid.y.ravel()))
    kept = np.ones(right.size, dtype=np.bool_)
    kept[: p * t] = laid.used.ravel()
    return sparse.csc_array(left[kept][:, kept]), right[kept], kept
