"""What each piece of evidence does to the answer: left out, and averaged over the orders in which pieces can come.

The average over orders is the only division of the whole among pieces that overlap in which each gets what it adds on
average, and that adds up (Shapley 1953, Contributions to the Theory of Games 2:307).
"""

from dataclasses import dataclass
from itertools import combinations
from math import factorial

from upsides.trip.case import Case
from upsides.trip.posterior import Posterior
from upsides.trip.scale import furlongs, quantile


@dataclass(frozen=True, slots=True)
class Pull:
    """What one piece does, furlongs.

    Attributes:
        name: the piece.
        pull: how far the best trip would stand from where it does without the piece: with it less without it.
        share: its part of the way from the population's trip to the answer, averaged over orders; the shares of all
            pieces add up to that way.
        information: how much narrower the 90 % range is with it than without it.
    """

    name: str
    pull: float
    share: float
    information: float


def best_furlongs(post: Posterior) -> float:
    """Return the trip of which the best is as likely to be shorter as longer, furlongs."""
    return float(furlongs(quantile(post.density, 0.5) + post.moved))


def range_furlongs(post: Posterior, share: float) -> tuple[float, float]:
    """Return the range that holds a share of the chances, as much left out below as above, furlongs."""
    left = (1.0 - share) / 2.0
    low, high = (quantile(post.density, at) + post.moved for at in (left, 1.0 - left))
    return float(furlongs(low)), float(furlongs(high))


def pulls(case: Case) -> list[Pull]:
    """Return what each piece that there is does, in the order of `case.PIECES`."""
    pieces, known = case.available, _Answers(case)
    whole = frozenset(pieces)
    return [
        Pull(
            piece,
            known.best(whole) - known.best(whole - {piece}),
            _average(known, pieces, piece),
            known.width(whole - {piece}) - known.width(whole),
        )
        for piece in pieces
    ]


class _Answers:
    """Answers from sets of pieces, each worked out once."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.kept: dict[frozenset[str], Posterior] = {}

    def of(self, pieces: frozenset[str]) -> Posterior:
        """Return the answer from some pieces; sections without runs say nothing."""
        key = pieces if "runs" in pieces else pieces - {"sections"}
        if key not in self.kept:
            self.kept[key] = self.case.answer(key)
        return self.kept[key]

    def best(self, pieces: frozenset[str]) -> float:
        """Return the best trip, furlongs."""
        return best_furlongs(self.of(pieces))

    def width(self, pieces: frozenset[str]) -> float:
        """Return the width of the 90 % range, furlongs."""
        low, high = range_furlongs(self.of(pieces), 0.9)
        return high - low


def _average(known: _Answers, pieces: tuple[str, ...], piece: str) -> float:
    others, n, total = [one for one in pieces if one != piece], len(pieces), 0.0
    for size in range(n):
        share = factorial(size) * factorial(n - size - 1) / factorial(n)
        for before in combinations(others, size):
            had = frozenset(before)
            total += share * (known.best(had | {piece}) - known.best(had))
    return total
