"""Trainers of the invented country, each with a stated habit of training and of entering horses."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Habit:
    """How a trainer goes about it; every habit is a bias that a reader of results must live with.

    Args:
        name: what it is called here.
        gap_days: fewest days between two runs.
        keenness: how readily an entry is made, 1 being ordinary.
        above_lb: how far above its mark a horse is tried in better company.
        trip: pedigree (keep to the sire's trip), last_good (go back where it was placed),
            further_when_beaten, shorter_when_beaten.
        likes_synthetic: appetite for synthetic courses, 1 being ordinary.
        fast_days: days of fast work a week, of three that there could be.
        rest_month, rest_weeks: when horses are let down for a while each year, and for how long.
        ready_weeks: weeks of work after that before a horse is entered again.
        waits: how far a horse that gets over its races slowly is given longer between them: 0 not at all, 1 in
            proportion.
    """

    name: str
    gap_days: int
    keenness: float
    above_lb: float
    trip: str
    likes_synthetic: float
    fast_days: float
    rest_month: int
    rest_weeks: int
    ready_weeks: int
    waits: float


HABITS = (
    Habit("by the pedigree, fresh", 21, 1.0, 2.0, "pedigree", 0.8, 2.0, 11, 7, 5, 1.0),
    Habit("often, where it last ran well", 11, 1.6, 0.0, "last_good", 1.2, 1.0, 1, 4, 2, 0.0),
    Habit("seldom and high", 35, 0.8, 8.0, "pedigree", 0.5, 2.5, 10, 10, 8, 1.0),
    Habit("further when beaten", 16, 1.2, 0.0, "further_when_beaten", 1.0, 1.5, 12, 6, 3, 0.0),
    Habit("shorter when beaten", 16, 1.2, 0.0, "shorter_when_beaten", 1.0, 2.5, 12, 6, 4, 0.5),
    Habit("winter on the synthetic", 13, 1.3, -2.0, "last_good", 2.5, 1.5, 6, 8, 3, 0.0),
)


@dataclass(frozen=True, slots=True)
class People:
    """Trainers and riders of races; trainer 0 is the invented yard's.

    Args:
        trainers: names.
        habits: index into `HABITS`, one a trainer, shape (trainers,).
        riders: names.
        claims: weight claimed in lb, one a rider, shape (riders,).
        rider_lb: what the rider is truly worth in lb, shape (riders,).
    """

    trainers: list[str]
    habits: NDArray[np.int64]
    riders: list[str]
    claims: NDArray[np.float64]
    rider_lb: NDArray[np.float64]


def hire(rng: np.random.Generator, trainers: list[str], riders: list[str]) -> People:
    """Give trainers a habit each, every habit to about as many, and riders a claim and a worth."""
    others = rng.permutation(np.arange(1, len(trainers)) % len(HABITS))
    claims = rng.choice([0.0, 0.0, 0.0, 0.0, 3.0, 5.0, 7.0], len(riders))
    skill = rng.normal(0, 1.0, len(riders)) - 0.35 * claims
    return People(trainers, np.concatenate([[0], others]), riders, claims, skill)


def of_habit(field: str) -> NDArray[np.float64]:
    """Return one field of every habit, in the order of `HABITS`, as numbers."""
    return np.array([float(getattr(habit, field)) for habit in HABITS])
