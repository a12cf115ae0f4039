"""A field's chances from joint draws of its horses' levels, the weights that they carry, and the error of a run."""

import numpy as np
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.levels import posterior as posteriors
from upsides.ratings.levels.debut import Debut
from upsides.ratings.levels.fitting import BASE_LB, Levels
from upsides.ratings.orders import NO_DISCOUNT, Chances, chances_from_draws

Floats = NDArray[np.float64]


def field_chances(
    levels: Levels,
    horse_keys: list[str],
    day: float,
    carried_lb: Floats,
    *,
    draws: int = 2000,
    seed: int = 0,
    discounts: tuple[float, float] = NO_DISCOUNT,
) -> Chances:
    """Return the chances of a field to win and to be placed.

    Args:
        levels: the fit.
        horse_keys: the runners, each once.
        day: day of the race, days since 1970-01-01.
        carried_lb: (runners,) weight that each carries, lb; it counts for what the fit found a pound to be worth.
        draws: joint draws of the levels; the Monte Carlo error comes with the answer.
        seed: of the draws.
        discounts: powers of the win chance for the second and the third place.

    Raises:
        CannotFitError: a runner is named twice, or has no run in the fit.
    """
    if len(set(horse_keys)) != len(horse_keys):
        raise CannotFitError("field", _("a runner is named twice"), _("name each once"))
    numbers = {key: number for number, key in enumerate(levels.horse_keys)}
    unknown = [key for key in horse_keys if key not in numbers]
    if unknown:
        raise CannotFitError(
            "field", _("{unknown} has no run with a margin", unknown=unknown[0]), _("leave it out, or use the forecast")
        )
    found = posteriors.joint(
        levels.record, levels.posterior, np.array([numbers[key] for key in horse_keys], dtype=np.int64), day
    )
    rng = np.random.default_rng(seed)
    drawn = rng.multivariate_normal(
        found.mean - levels.weight_worth[0] * carried_lb, found.covariance, size=draws, method="eigh"
    )
    return chances_from_draws(drawn, float(np.sqrt(levels.residual)), discounts=discounts)


def debut_of(levels: Levels) -> Debut:
    """Return what a fit says of horses that have not run, on the scale of `level_curves`."""
    record, found = levels.record, levels.posterior
    q = np.arange(record.races + record.run_covariates, record.races + record.X.shape[1])
    v = found.components
    return Debut(levels.before, found.b[q], found.covariance(q, q), v.lasting + v.passing, BASE_LB)
