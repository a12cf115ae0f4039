"""The door of genetic prediction: from a model to every animal's value and how far it can be relied on."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.inbreeding import inbreeding
from upsides.pedigree.prediction.direct import Factored
from upsides.pedigree.prediction.equations import Equations, equations_of
from upsides.pedigree.prediction.iterative import Iterated
from upsides.pedigree.prediction.model import Model
from upsides.pedigree.prediction.reliability import passed_errors, reliability_of

Floats = NDArray[np.float64]
FACTORED = 30_000
"""Unknowns up to which the equations are factored; how full a factor gets depends on how the animals were mated."""
OPERATIONS = 5e8
"""Operations up to which the inverse's own elements are worked out for reliabilities."""
How = Literal["exact", "approximate", "none"]


@dataclass(frozen=True, slots=True)
class Prediction:
    """What was found.

    Args:
        fixed: (p, t) fixed effects; 0 for those that are not estimated.
        fixed_se: (p, t) their standard errors, NaN where not worked out.
        value: (n, t) predicted genetic values.
        permanent: (k, t) permanent effects of the animals in `recorded`; empty without such.
        recorded: (k,) animals with records.
        errors: (n, t, t) prediction error (co)variances, `var(u - predicted u)`; empty where not asked for.
        reliability: (n, t); empty where not asked for.
        how: how the reliabilities were had: from the inverse itself ("exact"), or from information handed along
            the pedigree ("approximate").
        steps: steps of the conjugate gradients, 0 where the equations were factored.
    """

    fixed: Floats
    fixed_se: Floats
    value: Floats
    permanent: Floats
    recorded: NDArray[np.int64]
    errors: Floats
    reliability: Floats
    how: How
    steps: int


def predict(
    model: Model, *, reliabilities: bool = True, factored_below: int = FACTORED, operations: float = OPERATIONS
) -> Prediction:
    """Predict the genetic values of all animals of a pedigree.

    Args:
        model: records, effects, pedigree, variances.
        reliabilities: whether to work out prediction errors of all animals; for a few of them exactly, at any size,
            see `prediction_errors`.
        factored_below: unknowns up to which a sparse factor solves; conjugate gradients beyond.
        operations: how much work errors from the inverse itself may take; beyond it, and where the equations are
            iterated, they are approximate.

    Raises:
        CannotPredictError: fixed effects say the same, or the iteration does not settle.
    """
    laid = equations_of(model)
    size = sum(laid.sizes) * laid.traits
    solver = Factored(laid) if size <= factored_below else Iterated(laid)
    fixed, value, permanent = solver.solve()
    steps = solver.steps if isinstance(solver, Iterated) else 0
    errors, fixed_se = np.empty((0, laid.traits, laid.traits)), np.full(fixed.shape, np.nan)
    how: How = "none"
    blocks = solver.own_blocks(operations) if reliabilities and isinstance(solver, Factored) else None
    if blocks is not None:
        errors, fixed_se, how = blocks[0], np.sqrt(blocks[1]), "exact"
    elif reliabilities:
        errors, how = passed_errors(laid), "approximate"
    relied = reliability_of(errors, inbreeding(model.graph), model.variances.genetic) if reliabilities else errors[:, 0]
    return Prediction(fixed, fixed_se, value, permanent, laid.recorded, errors, relied, how, steps)


def prediction_errors(model: Model, animals: NDArray[np.integer], *, factored_below: int = FACTORED) -> Floats:
    """Return the exact prediction error (co)variances (a, t, t) of some animals, at any size."""
    laid: Equations = equations_of(model)
    small = sum(laid.sizes) * laid.traits <= factored_below
    return (Factored(laid) if small else Iterated(laid)).columns(animals)
