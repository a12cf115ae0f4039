"""What truly makes each run of a race of the invented country."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from upsides.demo.condition import fit_lb, fresh_lb
from upsides.demo.country import Ground, growth_gap
from upsides.demo.courses import Course, Trip
from upsides.demo.horses import Floats, Ints, age_years, level_on, trip_loss
from upsides.demo.world import World

STANDARD_LB = 133.0
"""Weight that a horse of level 100 carries when it runs the country's par time."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What truly made each starter's run, pounds unless said otherwise, each of shape (n,)."""

    level: Floats
    fit: Floats
    fresh: Floats
    trip: Floats
    going: Floats
    surface: Floats
    draw: Floats
    rider: Floats
    luck: Floats
    growth_gap: Floats
    eased_lengths: Floats

    def figure(self) -> Floats:
        """Return what each run was truly worth in lb, weight for age allowed, before easing."""
        horse = self.level + self.fit + self.fresh
        return horse + self.trip + self.going + self.surface + self.draw + self.rider + self.luck


def true_run(
    rng: np.random.Generator,
    world: World,
    which: Ints,
    course: Course,
    trip: Trip,
    day: date,
    ground: Ground,
    started_from: Ints,
    rider: Ints,
) -> Truth:
    """Draw what makes each run.

    Args:
        rng: source of chance.
        world: the world so far.
        which: the starters, shape (n,).
        course: where.
        trip: the start.
        day: when.
        ground: of the day.
        started_from: place in the stalls from 1 (lowest) to n, shape (n,).
        rider: index of each rider, shape (n,).

    Returns:
        The truth, eased lengths still 0.
    """
    horses, count = world.horses, which.size
    baulked = np.where(rng.random(count) < 0.06, rng.exponential(7.0, count), 0.0)
    synthetic = course.surface == "synthetic"
    across = (started_from - 1) / (count - 1) - 0.5
    return Truth(
        level=level_on(horses, which, day),
        fit=fit_lb(horses, world.condition, which, day),
        fresh=fresh_lb(horses, world.condition, which, day),
        trip=-trip_loss(horses, which, trip.distance_m),
        going=np.zeros(count) if synthetic else horses.soft_lb[which] * ground.softness,
        surface=horses.synthetic_lb[which] * (1.0 if synthetic else -1.0) / 2,
        draw=world.slopes[course.name, trip.distance_m] * across * min(1.0, count / 16),
        rider=world.people.rider_lb[rider],
        luck=rng.normal(0, 5.0, count) - baulked,
        growth_gap=growth_gap(age_years(horses, which, day), trip.distance_m),
        eased_lengths=np.zeros(count),
    )
