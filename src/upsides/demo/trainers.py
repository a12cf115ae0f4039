"""Trainers of the invented country, each with a stated habit of entering horses."""

from dataclasses import dataclass

import numpy as np

from upsides.demo.names import person_names

TRAINERS = 30
RIDERS = 45


@dataclass(frozen=True, slots=True)
class Habit:
    """How a trainer enters horses; every habit is a bias that a reader of results must live with.

    Args:
        name: what it is called here.
        gap_days: fewest days between two runs.
        keenness: how readily an entry is made, 1 being ordinary.
        above_lb: how far above its mark a horse is tried in better company.
        trip: pedigree (keep to the sire's trip), last_good (go back where it was placed),
            further_when_beaten, shorter_when_beaten.
        likes_synthetic: appetite for synthetic courses, 1 being ordinary.
    """

    name: str
    gap_days: int
    keenness: float
    above_lb: float
    trip: str
    likes_synthetic: float


HABITS = (
    Habit("by the pedigree, fresh", 21, 1.0, 2.0, "pedigree", 0.8),
    Habit("often, where it last ran well", 11, 1.6, 0.0, "last_good", 1.2),
    Habit("seldom and high", 35, 0.8, 8.0, "pedigree", 0.5),
    Habit("further when beaten", 16, 1.2, 0.0, "further_when_beaten", 1.0),
    Habit("shorter when beaten", 16, 1.2, 0.0, "shorter_when_beaten", 1.0),
    Habit("winter on the synthetic", 13, 1.3, -2.0, "last_good", 2.5),
)


@dataclass(frozen=True, slots=True)
class People:
    """Trainers and riders; trainer 0 is the invented yard's.

    Args:
        trainers: names.
        habits: index into `HABITS`, one a trainer.
        riders: names.
        claims: weight claimed in lb, one a rider.
        rider_lb: what the rider is truly worth in lb.
    """

    trainers: list[str]
    habits: tuple[int, ...]
    riders: list[str]
    claims: tuple[int, ...]
    rider_lb: tuple[float, ...]


def hire(rng: np.random.Generator) -> People:
    """Make the people."""
    names = person_names(rng, TRAINERS + RIDERS)
    claims = rng.choice([0, 0, 0, 0, 3, 5, 7], RIDERS)
    skill = rng.normal(0, 1.0, RIDERS) - 0.35 * claims
    return People(
        names[:TRAINERS],
        tuple(int(h) for h in (0, *rng.integers(len(HABITS), size=TRAINERS - 1))),
        names[TRAINERS:],
        tuple(int(claim) for claim in claims),
        tuple(float(lb) for lb in skill),
    )
