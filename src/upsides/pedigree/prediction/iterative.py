"""The equations solved by preconditioned conjugate gradients, nothing of them stored but the records.

The left side is applied, not built: records one way, the pedigree one pass (Stranden & Lidauer 1999, J Dairy Sci
82:2779). The preconditioner holds each animal's own t x t block and the whole block of the fixed effects.
Several right sides go together.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import cho_factor, cho_solve

from upsides.errors import CannotPredictError
from upsides.errors.wording import gettext as _
from upsides.pedigree.prediction.blocks import add_inner, times_blocks
from upsides.pedigree.prediction.equations import Equations
from upsides.pedigree.prediction.inverse import add_inverse_diagonal, add_inverse_times

Floats = NDArray[np.float64]
TOLERANCE = 1e-10
"""Of the residual's norm in the preconditioner's metric, relative to the right side's."""
ROUGHLY = 1e-7
"""The same for elements of the inverse, which then stand to about 1e-8 of themselves."""
TOGETHER = 8
"""Animals whose columns of the inverse are worked out together."""
STEPS = 3000
WHOLE_BLOCK = 2000
"""Fixed effects up to which their block is factored whole; beyond, its diagonal is used."""


@dataclass(slots=True)
class _Parts:
    """Unknowns or right sides: fixed (p, t, c), animals (n, t, c), permanent (k, t, c)."""

    fixed: Floats
    animals: Floats
    permanent: Floats

    def dot(self, other: "_Parts") -> Floats:
        """Return the c inner products."""
        total = np.zeros(self.fixed.shape[2])
        add_inner(self.fixed, other.fixed, total)
        add_inner(self.animals, other.animals, total)
        add_inner(self.permanent, other.permanent, total)
        return total

    def add(self, other: "_Parts", by: Floats) -> None:
        """Add `other` times one number a column."""
        self.fixed += other.fixed * by
        self.animals += other.animals * by
        self.permanent += other.permanent * by


class Iterated:
    """The equations as an operator.

    Args:
        laid: the equations.
    """

    def __init__(self, laid: Equations) -> None:
        self.laid = laid
        m, k = laid.y.shape[0], laid.recorded.size
        self.by_holder = sparse.csr_array((np.ones(m), (laid.holder, np.arange(m))), shape=(k, m))
        self.inverses = _Preconditioner(laid)
        self.steps = 0

    def solve(self) -> tuple[Floats, Floats, Floats]:
        """Return fixed effects (p, t), animals (n, t) and permanent effects (k, t)."""
        fixed, by_animal = self.laid.right_side()
        right = self._nothing(1)
        right.fixed[:, :, 0] = fixed
        right.animals[self.laid.recorded, :, 0] = by_animal
        if self.laid.sizes[2]:
            right.permanent[:, :, 0] = by_animal
        found = self._descend(right)
        return found.fixed[:, :, 0], found.animals[:, :, 0], found.permanent[:, :, 0]

    def columns(self, animals: NDArray[np.integer]) -> Floats:
        """Return the blocks (a, t, t) of the inverse that belong to some animals."""
        t = self.laid.traits
        out = np.empty((len(animals), t, t))
        for low in range(0, len(animals), TOGETHER):
            some = np.asarray(animals[low : low + TOGETHER])
            right = self._nothing(t * some.size)
            for i, animal in enumerate(some):
                right.animals[animal, :, i * t : (i + 1) * t] = np.eye(t)
            found = self._descend(right, ROUGHLY).animals[some].reshape(some.size, t, some.size, t)
            out[low : low + TOGETHER] = found[np.arange(some.size), :, np.arange(some.size)]
        return out

    def _nothing(self, columns: int) -> _Parts:
        p, n, k = self.laid.sizes
        t = self.laid.traits
        return _Parts(np.zeros((p, t, columns)), np.zeros((n, t, columns)), np.zeros((k, t, columns)))

    def _times(self, x: _Parts) -> _Parts:
        """Return the left side times x."""
        laid = self.laid
        c, (_, n, k) = x.fixed.shape[2], laid.sizes
        per_animal = x.animals[laid.recorded] + (x.permanent if k else 0.0)
        fitted = _rows(laid.model.fixed, x.fixed) + per_animal[laid.holder]
        pulled = times_blocks(laid.weight, fitted)
        back = _rows(self.by_holder, pulled)
        out = self._nothing(c)
        out.fixed = _rows(laid.model.fixed.T, pulled) * laid.used[:, :, None]
        prior = times_blocks(laid.genetic_inverse[None], x.animals).reshape(n, -1)
        flat = out.animals.reshape(n, -1)
        add_inverse_times(laid.model.graph.sire, laid.model.graph.dam, laid.precision, prior, flat)
        out.animals[laid.recorded] += back
        if k:
            out.permanent = back + times_blocks(laid.permanent_inverse[None], x.permanent)
        return out

    def _descend(self, right: _Parts, tolerance: float = TOLERANCE) -> _Parts:
        """Solve for all columns at once.

        Raises:
            CannotPredictError: it did not settle within STEPS steps.
        """
        x, r = self._nothing(right.fixed.shape[2]), right
        z = self.inverses.times(r)
        p, norm = z, r.dot(z)
        goal = tolerance**2 * norm
        self.steps = 0
        while (norm > goal).any():
            if self.steps >= STEPS:
                reason = _("they did not settle in {steps} steps", steps=STEPS)
                raise CannotPredictError(_("the equations"), reason, _("look whether two fixed effects say the same"))
            q = self._times(p)
            bend = p.dot(q)
            alpha = np.divide(norm, bend, out=np.zeros_like(norm), where=bend > 0)
            x.add(p, alpha)
            r.add(q, -alpha)
            z = self.inverses.times(r)
            after = r.dot(z)
            z.add(p, np.divide(after, norm, out=np.zeros_like(norm), where=norm > 0))
            p, norm = z, after
            self.steps += 1
        return x


class _Preconditioner:
    """Blocks of the left side's diagonal, inverted."""

    def __init__(self, laid: Equations) -> None:
        self.laid = laid
        diagonal = np.zeros(laid.model.graph.size)
        add_inverse_diagonal(laid.model.graph.sire, laid.model.graph.dam, laid.precision, diagonal)
        animals = diagonal[:, None, None] * laid.genetic_inverse
        animals[laid.recorded] += laid.weight_of_animals
        self.animals: Floats = np.asarray(np.linalg.inv(animals))
        self.permanent: Floats | None = None
        if laid.sizes[2]:
            self.permanent = np.asarray(np.linalg.inv(laid.weight_of_animals + laid.permanent_inverse))
        self.whole = cho_factor(laid.fixed_block) if 0 < laid.used.size <= WHOLE_BLOCK else None
        diagonals = np.einsum("mii->mi", laid.weight)
        squares = laid.model.fixed.power(2).T @ diagonals if self.whole is None else np.ones(laid.used.shape)
        self.fixed = np.divide(1.0, squares, out=np.zeros_like(squares), where=squares > 0) * laid.used

    def times(self, r: _Parts) -> _Parts:
        """Return the preconditioned residual."""
        fixed = r.fixed * self.fixed[:, :, None]
        if self.whole is not None:
            flat = cho_solve(self.whole, r.fixed.reshape(-1, r.fixed.shape[2]))
            fixed = flat.reshape(r.fixed.shape) * self.laid.used[:, :, None]
        permanent = r.permanent if self.permanent is None else times_blocks(self.permanent, r.permanent)
        return _Parts(np.ascontiguousarray(fixed), times_blocks(self.animals, r.animals), permanent)


def _rows(matrix: Any, values: Floats) -> Floats:
    """Return a sparse matrix times values (n, t, c)."""
    flat = np.asarray(matrix @ values.reshape(values.shape[0], -1))
    return flat.reshape(-1, *values.shape[1:])
