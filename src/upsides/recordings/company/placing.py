"""Two, three or more horses of one piece of work in the order in which they finished."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from upsides.recordings.company.outcome import Outcome
from upsides.recordings.company.together import Company


@dataclass(frozen=True, slots=True)
class Placed:
    """A horse in the order.

    Attributes:
        member: place of its track among those given.
        behind_m: how far behind the first of the order it was, m.
        told: whether it can be told from the one before it: False where they were nearer than one standard deviation,
            or were not found beside each other; True for the first.
    """

    member: int
    behind_m: float
    told: bool


def placed(company: Company, outcomes: Sequence[Outcome]) -> tuple[Placed, ...]:
    """Return the order.

    Where three or more went together each pair was measured by itself; their places are those that agree best with all
    pairs, each by its error.

    Args:
        company: the horses.
        outcomes: of each of its pairs, in their order: how the pair's first stood to its second at the finish.
    """
    row = {member: number for number, member in enumerate(company.members)}
    away = np.zeros((len(outcomes), len(row)))
    for number, pair in enumerate(company.pairs):
        away[number, row[pair.first]], away[number, row[pair.second]] = 1.0, -1.0
    error = np.array([one.sd_m for one in outcomes])
    ahead = np.array([one.ahead_m for one in outcomes])
    where = np.linalg.lstsq(away / error[:, None], ahead / error, rcond=None)[0]
    order = np.argsort(-where, kind="stable")
    members = [company.members[number] for number in order]
    of_pair = {frozenset((p.first, p.second)): one for p, one in zip(company.pairs, outcomes, strict=True)}
    apart = [True] + [
        (one := of_pair.get(frozenset(both))) is not None and bool(one.front) for both in itertools.pairwise(members)
    ]
    behind = where[order[0]] - where[order]
    return tuple(
        Placed(member, float(metres), told) for member, metres, told in zip(members, behind, apart, strict=True)
    )
