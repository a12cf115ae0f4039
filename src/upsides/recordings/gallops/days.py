"""What a day did to the speeds on a gallop, told from horses, goings and riders; and how fast a horse is there.

    log speed = pace + distance + direction + horse + going + day + rider + error

The pace (canter or fast work), the logarithm of the distance and the direction are fixed effects; horses, goings, days
of the gallop and riders are partially pooled levels (`upsides.ratings.components`), and each speed brings its own known
error. The variance from day to day has a prior that keeps it from nought: few works cannot tell it from nought, and
nought would say that days certainly did nothing. What is left when going and day are taken out is how fast a horse went
as if the ground had been that of a usual day. Nothing here ranks horses.
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

ALIKE = 0.02
"""Distances whose logarithms differ by less are one distance; own choice."""

TINY = 1e-8
"""Horses whose logarithms of speed vary by less do not differ; own choice."""

LEAST_RELIABILITY = 0.05
"""What is known of a horse with less says nothing; own choice."""


@dataclass(frozen=True, slots=True)
class Gone:
    """A work on the gallop.

    Attributes:
        horse: its number.
        day: when.
        speed_ms: its mean speed, above nought.
        sd_ms: the standard error of that; 0 where it is not known.
        fast: whether it was fast work.
        metres: over how far.
        going, rider: how the ground was, and who rode; None where it is not known.
        forward: whether it went up the gallop's line; rise and bends are others the other way.
    """

    horse: int
    day: date
    speed_ms: float
    sd_ms: float
    fast: bool
    metres: float
    going: str | None
    rider: Hashable
    forward: bool = True


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


@dataclass(frozen=True, slots=True)
class Faster:
    """By how much a horse goes faster than horses usually do there, in standard deviations from horse to horse.

    Attributes:
        horse: its number.
        by: how much, as its own works alone say it; below nought it is slower.
        error: standard deviation of that.
    """

    horse: int
    by: float
    error: float


@dataclass(frozen=True, slots=True, eq=False)
class _Fitted:
    found: "Components"
    horses: list[int]
    day: NDArray[np.int64]
    days: list[date]
    going: NDArray[np.int64] | None


def days_of(works: Sequence[Gone]) -> dict[date, Day]:
    """Return what each day did.

    Raises:
        CannotFitError: the works do not tell.
    """
    fit = _fitted(works)
    effect, sd = _effects(fit.found, fit.day, fit.going, len(fit.days))
    told = zip(effect.tolist(), sd.tolist(), np.bincount(fit.day, minlength=len(fit.days)).tolist(), strict=True)
    return {when: Day(*one) for when, one in zip(fit.days, told, strict=True)}


def faster_of(works: Sequence[Gone]) -> tuple[Faster, ...]:
    """Return how fast each horse is, those left out of which the works say next to nothing.

    With r the reliability of a horse's pooled effect u, its own works alone say u / r, with variance (1 - r) / r of
    that from horse to horse.

    Raises:
        CannotFitError: the works do not tell.
    """
    from scipy import sparse

    fit = _fitted(works)
    count, apart = len(fit.horses), float(fit.found.variances[0])
    if apart <= TINY:
        return ()
    total = fit.found.fixed.size + sum(one.size for one in fit.found.random)
    rows = sparse.eye_array(count, total, k=fit.found.starts[0], format="csr")
    reliability = 1.0 - fit.found.variance_of(rows) / apart
    effect = fit.found.random[0]
    return tuple(
        Faster(horse, float(u / (r * apart**0.5)), float(((1.0 - r) / r) ** 0.5))
        for horse, u, r in zip(fit.horses, effect, reliability, strict=True)
        if r > LEAST_RELIABILITY
    )


def _fitted(works: Sequence[Gone]) -> _Fitted:
    from upsides.ratings.components import coded, fit_components, levels  # pages read what a worker found with it

    y = np.log([one.speed_ms for one in works])
    own = np.array([one.sd_ms / one.speed_ms for one in works]) ** 2
    told = [np.array([one.fast for one in works], dtype=np.float64), np.log([one.metres for one in works])]
    told.append(np.array([one.forward for one in works], dtype=np.float64))
    X = np.column_stack([np.ones(y.size), *(column - column.mean() for column in told if np.ptp(column) > ALIKE)])
    horse, horses = coded([one.horse for one in works])
    going, goings = coded([one.going for one in works])
    day, days = coded([one.day for one in works])
    rider, riders = coded([one.rider for one in works])
    parts = [levels("horse", horse, len(horses)), levels("day", day, len(days))]
    parts += [levels("going", going, len(goings))] if goings else []
    parts += [levels("rider", rider, len(riders))] if riders else []
    found = fit_components(y, X, parts, known=own, lifted=("day",))
    return _Fitted(found, list(horses), day, list(days), going if goings else None)


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
