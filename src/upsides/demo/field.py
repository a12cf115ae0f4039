"""The field of a race once declared: draw, withdrawals, weights, riders, marks."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.demo.country import allowance
from upsides.demo.programme import Conditions
from upsides.demo.running import STANDARD_LB
from upsides.demo.world import World

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FEWEST = 5
_TOP_LB, _BOTTOM_LB = 137.0, 114.0
_SEX_LB, _PENALTY_LB = 3.0, 6.0


@dataclass(frozen=True, slots=True)
class Field:
    """The declared horses; arrays of shape (n,).

    Args:
        horse: indices into the population.
        draw: stall.
        started_from: place among the actual starters in order of draw, 0 when withdrawn.
        rider: index of the rider.
        weight_lb: allotted weight, before the claim.
        claim_lb: the rider's claim.
        mark: handicap mark on the day, NaN for none.
    """

    horse: Ints
    draw: Ints
    started_from: Ints
    rider: Ints
    weight_lb: Floats
    claim_lb: Floats
    mark: Floats

    def starters(self) -> Ints:
        """Return positions in the field of the horses that started."""
        return np.flatnonzero(self.started_from)


def declare(rng: np.random.Generator, world: World, race: Conditions, day: date, entered: Ints) -> Field:
    """Declare the horses entered: draw the stalls, book riders, set weights, lose a few on the morning."""
    draw = rng.permutation(entered.size) + 1
    out = rng.random(entered.size) < 0.03
    if (~out).sum() < FEWEST:
        out[:] = False
    started = np.zeros(entered.size, dtype=np.int64)
    started[~out] = np.argsort(np.argsort(draw[~out])) + 1
    rider = rng.choice(len(world.people.riders), entered.size, replace=False)
    may_claim = race.kind != "stakes"
    claim = world.people.claims[rider] * (1.0 if may_claim else 0.0)
    weight = _weights(world, race, day, entered)
    return Field(entered, draw, started, rider, weight, claim, world.record.mark[entered].copy())


def _weights(world: World, race: Conditions, day: date, entered: Ints) -> Floats:
    ages = day.year - world.horses.foaled[entered]
    due = {int(age): allowance(int(age), day, race.trip.distance_m) for age in np.unique(ages)}
    young = np.array([due[int(age)] for age in ages]) - min(due.values())
    mark = world.record.mark[entered]
    if race.band is not None:
        return np.maximum(_BOTTOM_LB, _TOP_LB - (race.band[1] - mark)) - young
    filly = np.where(world.horses.sex[entered] == "filly", _SEX_LB, 0.0)
    penalty = np.where((race.kind == "novice") & (world.record.wins[entered] > 0), _PENALTY_LB, 0.0)
    return STANDARD_LB - young - filly + penalty
