"""What a genetic prediction is made from: records, fixed effects, a pedigree and variances.

    y = X b + Z u + Z p + e,   var(u) = A x G,   var(p) = I x P,   var(e) = I x R

for t traits at once; u is what an animal has from its ancestors, p what stays with it besides (with repeated
records), e what is new each time (Henderson 1976; Mrode 2014, Linear Models, chapters 3 to 5).
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from upsides.errors import CannotPredictError
from upsides.errors.wording import gettext as _
from upsides.pedigree.graph import Graph

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Variances:
    """Variances and covariances between t traits.

    Args:
        genetic: (t, t) G; a number for one trait.
        residual: (t, t) R.
        permanent: (t, t) P, or None where records are not repeated.

    Raises:
        CannotPredictError: one of them is no covariance matrix, or they differ in size.
    """

    genetic: Floats
    residual: Floats
    permanent: Floats | None = None

    def __post_init__(self) -> None:
        for name in ("genetic", "residual", "permanent"):
            if (value := getattr(self, name)) is not None:
                object.__setattr__(self, name, _covariance(name, np.asarray(value, dtype=np.float64)))
        sizes = {m.shape for m in (self.genetic, self.residual, self.permanent) if m is not None}
        if len(sizes) > 1:
            raise CannotPredictError("variances", _("they are not all of as many traits"), _("give (t, t) of each"))

    @property
    def traits(self) -> int:
        """Number of traits."""
        return int(self.genetic.shape[0])


def _covariance(name: str, value: Floats) -> Floats:
    matrix = np.atleast_2d(value)
    square = matrix.ndim == 2 and matrix.shape[0] == matrix.shape[1]
    if not square or not np.allclose(matrix, matrix.T) or np.linalg.eigvalsh(matrix).min() <= 0:
        reason = _("it is no covariance matrix: not symmetric, or not positive")
        raise CannotPredictError(
            _("the {name} variance", name=name), reason, _("give variances above nought, correlations below 1")
        )
    return matrix


@dataclass(frozen=True)
class Model:
    """Records of the animals of a pedigree.

    Args:
        graph: the pedigree.
        animal: (m,) whose record each is, by its place in the graph.
        y: (m, t) records, NaN where a trait was not recorded; (m,) for one trait.
        fixed: (m, p) fixed effects, dense or sparse, of full rank: drop the levels that are set to nought.
        variances: G, R and P.
        precision: (m, t, t) inverse residual covariance of each record, where records are not equally sure; else all
            have that of `variances`.
        applies: (p, t) which effect acts on which trait; None for all on all. An effect that no record of a
            trait has is left out by itself.

    Raises:
        CannotPredictError: shapes do not fit, nothing was recorded, or a value is infinite.
    """

    graph: Graph
    animal: NDArray[np.integer]
    y: Floats
    fixed: Any
    variances: Variances
    applies: NDArray[np.bool_] | None = None
    precision: Floats | None = None

    def __post_init__(self) -> None:
        y = np.asarray(self.y, dtype=np.float64)
        object.__setattr__(self, "y", y[:, None] if y.ndim == 1 else y)
        object.__setattr__(self, "fixed", sparse.csr_array(self.fixed, dtype=np.float64))
        m, t = self.y.shape
        if self.animal.shape != (m,) or self.fixed.shape[0] != m or t != self.variances.traits:
            reason = _(
                "{size} animals, {shape} rows of effects, records of shape {value}",
                size=self.animal.size,
                shape=self.fixed.shape[0],
                value=(m, t),
            )
            raise CannotPredictError("records", reason, _("give one row a record and one column a trait"))
        if self.precision is not None and self.precision.shape != (m, t, t):
            reason = _(
                "precisions of shape {shape} for records of shape {value}", shape=self.precision.shape, value=(m, t)
            )
            raise CannotPredictError("records", reason, _("give one (t, t) matrix a record"))
        if np.isinf(self.y).any() or not np.isfinite(self.fixed.data).all() or np.isnan(self.y).all():
            reason = _("a value is infinite, an effect is missing, or nothing was recorded at all")
            raise CannotPredictError("records", reason, _("leave such records out"))
        if m and (self.animal.min() < 0 or self.animal.max() >= self.graph.size):
            raise CannotPredictError(
                "records", _("a record is of no animal of the pedigree"), _("add the animal to it")
            )
