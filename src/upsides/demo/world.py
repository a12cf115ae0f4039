"""A world while it is raced: what stays the same and what every race changes."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from upsides.demo.breeding import breed
from upsides.demo.condition import Condition, prepare
from upsides.demo.horses import Horses
from upsides.demo.record import Record, blank_record
from upsides.demo.sizes import Size
from upsides.demo.trainers import People, hire


@dataclass(frozen=True, slots=True)
class World:
    """A world.

    Args:
        size: how many of what.
        horses: the truth.
        people: trainers and riders.
        slopes: by course and distance, what a full width of the stalls is worth in lb in a field of 16.
        record: what the world knows of each horse, changed by every race.
        condition: how horses stand, changed by every race.
    """

    size: Size
    horses: Horses
    people: People
    slopes: dict[tuple[str, int], float]
    record: Record
    condition: Condition


def new_world(
    rng: np.random.Generator, size: Size, trainers: list[str], riders: list[str], first: date, today: date
) -> World:
    """Make a world before its first race."""
    people = hire(rng, trainers, riders)
    horses = breed(rng, size, first, today)
    slopes = {
        (course.name, trip.distance_m): float(rng.normal(0, 1.5)) for course in size.courses for trip in course.trips
    }
    record = blank_record(rng, horses)
    return World(size, horses, people, slopes, record, prepare(rng, horses, people.habits, first, today))
