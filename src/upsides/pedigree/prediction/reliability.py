"""How far a predicted value can be relied on: 1 less its error variance over the genetic variance.

For many animals the error variances come from information that is handed along the pedigree. That is an
approximation: relatives met on two ways are counted on both, so that it is a little too sure where families are
large and mated among themselves; docs/pedigree.md states by how much in trials.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from upsides.pedigree.inbreeding import inbreeding, mendelian_share
from upsides.pedigree.prediction.equations import Equations
from upsides.pedigree.prediction.passing import sweep

Floats = NDArray[np.float64]
SWEEPS = 12
SETTLED = 1e-5
FEW_EFFECTS = 500
"""Fixed effects up to which leverages are exact; beyond, each effect counts by itself."""
AT_ONCE = 20_000


def passed_errors(laid: Equations) -> Floats:
    """Return approximate prediction error (co)variances of every animal, (n, t, t)."""
    graph, genetic = laid.model.graph, np.ascontiguousarray(laid.model.variances.genetic)
    n, t = graph.size, laid.traits
    share = mendelian_share(graph, inbreeding(graph))
    prior = np.zeros((n, t, t))
    total = np.zeros((n, t, t))
    total[laid.recorded] = _own_information(laid)
    founders = np.linalg.inv(genetic)
    prior += founders
    total += founders
    told = np.zeros((n, 2, t, t))
    for _ in range(SWEEPS):
        if sweep(graph.sire, graph.dam, share, genetic, total, told, prior) < SETTLED:
            break
    return np.asarray(np.linalg.inv(total))


def _own_information(laid: Equations) -> Floats:
    """Return what its own records say of each recorded animal, (k, t, t), besides fixed and permanent effects.

    What estimating the fixed effects takes away is each record's leverage in a fit of these alone.
    """
    weight = laid.weight * _left_over(laid)[:, None, None]
    total = np.zeros_like(laid.weight_of_animals)
    np.add.at(total, laid.holder, weight)
    permanent = laid.model.variances.permanent
    if permanent is None:
        return total
    eye = np.eye(laid.traits)
    return np.asarray(total @ np.linalg.inv(eye + permanent @ total))


def _left_over(laid: Equations) -> Floats:
    """Return (m,) the share of each record that fixed effects leave: 1 less its leverage, a mean over its traits."""
    traits = np.maximum((np.einsum("mii->mi", laid.weight) > 0).sum(axis=1), 1)
    if laid.used.size > FEW_EFFECTS:
        weights = np.einsum("mii->mi", laid.weight)
        squares = laid.model.fixed.power(2)
        total = np.asarray(squares.T @ weights)
        shares = squares @ np.divide(1.0, total, out=np.zeros_like(total), where=total > 0)
        return _within(1.0 - (weights * shares).sum(axis=1) / traits)
    inverse = np.linalg.inv(laid.fixed_block)
    columns, weighed = laid.fixed_by_trait, sparse.csr_array(laid.weights @ laid.fixed_by_trait)
    leverage = np.empty(laid.y.size)
    for low in range(0, leverage.size, AT_ONCE):
        rows = slice(low, low + AT_ONCE)
        leverage[rows] = np.asarray(weighed[rows].multiply(columns[rows] @ inverse).sum(axis=1)).ravel()
    return _within(1.0 - leverage.reshape(-1, laid.traits).sum(axis=1) / traits)


def _within(shares: Floats) -> Floats:
    return np.asarray(np.clip(shares, 0.0, 1.0))


def reliability_of(errors: Floats, f: Floats, genetic: Floats) -> Floats:
    """Return (a, t) reliabilities `1 - PEV / ((1 + F) sigma^2)`.

    Args:
        errors: (a, t, t) prediction error variances.
        f: (a,) inbreeding; its part of the prior variance is the animal's own.
        genetic: (t, t) G.
    """
    prior = (1.0 + f)[:, None] * np.diag(genetic)
    return np.asarray(1.0 - np.einsum("nii->ni", errors) / prior)
