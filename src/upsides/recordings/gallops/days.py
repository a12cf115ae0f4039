"""What a day did to the speeds on a gallop, told from horses, goings and riders.

    log speed = pace + horse + going + day + rider + error

The pace (canter or fast work) is a fixed effect; horses, goings, days of the gallop and riders are partially pooled
levels (`upsides.ratings.components`), and each speed brings its own known error. What is left when going and day are
taken out is how fast a horse went as if the ground had been that of a usual day. Nothing here ranks horses.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from upsides.ratings.components import Components

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gone:
    """A work on the gallop.

    Attributes:
        horse: its number.
        day: when.
        speed_ms: its mean speed, above nought.
        sd_ms: the standard error of that; 0 where it is not known.
        fast: whether it was fast work.
        going, rider: how the ground was, and who rode; None where it is not known.
    """

    horse: int
    day: date
    speed_ms: float
    sd_ms: float
    fast: bool
    going: str | None
    rider: Hashable


@dataclass(frozen=True, slots=True)
class Day:
    """What a day did.

    Attributes:
        effect: to the logarithm of speed, going and day together.
        sd: its standard error.
        works: by how many.
    """

    effect: float
    sd: float
    works: int


def days_of(works: Sequence[Gone]) -> dict[date, Day]:
    """Return what each day did.

    Raises:
        CannotFitError: the works do not tell.
    """
    from upsides.ratings.components import coded, fit_components, levels  # pages read what a worker found with it

    y = np.log([one.speed_ms for one in works])
    own = np.array([one.sd_ms / one.speed_ms for one in works]) ** 2
    fast = np.array([one.fast for one in works], dtype=np.float64)
    X = np.c_[np.ones(y.size), fast] if 0 < fast.sum() < y.size else np.ones((y.size, 1))
    horse, horses = coded([one.horse for one in works])
    going, goings = coded([one.going for one in works])
    day, days = coded([one.day for one in works])
    rider, riders = coded([one.rider for one in works])
    parts = [levels("horse", horse, len(horses)), levels("day", day, len(days))]
    parts += [levels("going", going, len(goings))] if goings else []
    parts += [levels("rider", rider, len(riders))] if riders else []
    found = fit_components(y, X, parts, known=own)
    effect, sd = _effects(found, day, going if goings else None, len(days))
    told = zip(effect.tolist(), sd.tolist(), np.bincount(day, minlength=len(days)).tolist(), strict=True)
    return {when: Day(*one) for when, one in zip(days, told, strict=True)}


def _effects(
    found: "Components", day: NDArray[np.int64], going: NDArray[np.int64] | None, days: int
) -> tuple[Floats, Floats]:
    """Return day and going together by day, and the standard error of that."""
    from scipy import sparse

    total = found.fixed.size + sum(one.size for one in found.random)
    rows = sparse.lil_array((days, total))
    effect = found.random[1].copy()
    for number in range(days):
        rows[number, found.starts[1] + number] = 1.0
        if going is not None:
            level = int(going[day == number][0])
            if level >= 0:
                rows[number, found.starts[2] + level] = 1.0
                effect[number] += found.random[2][level]
    return effect, np.sqrt(np.maximum(found.variance_of(rows.tocsr()), 0.0))
