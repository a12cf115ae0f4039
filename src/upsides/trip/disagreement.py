"""Where what a horse was bred and made for, and what it does, point at different trips."""

from dataclasses import dataclass

import numpy as np

from upsides.trip.case import Case
from upsides.trip.kinds import kind_chances, likeliest
from upsides.trip.posterior import Posterior
from upsides.trip.pulls import best_furlongs, range_furlongs
from upsides.trip.scale import GRID

SOMETHING_F = 0.25
"""Furlongs by which a piece must move or narrow what is thought of any horse to say anything of this one."""

APART = 1.0
"""Standard deviations between two pieces' trips from which they are said to disagree: our own choice."""

SIDES = (("family", ("family",)), ("gene", ("gene",)), ("shape", ("shape",)), ("runs", ("runs", "sections")),
         ("entries", ("entries",)), ("measures", ("measures",)))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Two pieces that disagree: the one that points shorter and the kind it points at, the other likewise."""

    shorter: str
    shorter_kind: str
    longer: str
    longer_kind: str


def disagreements(case: Case) -> list[Disagreement]:
    """Return which pieces disagree, each read alone beside the population, the widest apart first."""
    alone = {name: case.answer(pieces) for name, pieces in SIDES if any(piece in case.available for piece in pieces)}
    plain = case.answer(())
    alone = {name: post for name, post in alone.items() if _says(post, plain)}
    told = {name: (*_moments(post), likeliest(kind_chances(post, case.given))) for name, post in alone.items()}
    found = []
    for one, (mean, sd, kind) in told.items():
        for other, (more, other_sd, other_kind) in told.items():
            apart = (more - mean) / np.hypot(sd, other_sd)
            if apart > APART and kind != other_kind:
                found.append((apart, Disagreement(one, kind, other, other_kind)))
    return [each for _, each in sorted(found, key=lambda pair: -pair[0])]


def _says(post: Posterior, plain: Posterior) -> bool:
    """Return whether a piece says anything: it moves the population's best trip, or narrows its range."""
    (less, more), (low, high) = range_furlongs(post, 0.9), range_furlongs(plain, 0.9)
    narrows = (high - low) - (more - less)
    return abs(best_furlongs(post) - best_furlongs(plain)) >= SOMETHING_F or narrows >= SOMETHING_F


def _moments(post: Posterior) -> tuple[float, float]:
    weight = post.density
    mean = float(weight @ GRID)
    return mean, float(np.sqrt(weight @ (GRID - mean) ** 2))
