"""What people said and saw: the rider's word, the mind, what was left in the manger; the last, and before."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from math import exp, lgamma
from typing import Final

from upsides.condition.fresh.latest import Missing

LEFT: Final[Mapping[str, float]] = {"nothing": 0.0, "some": 0.25, "half": 0.5, "most": 0.75, "all": 1.0}
"""Share of a feed that was left, by the diary's word; "some" is up to a quarter."""
BEFOREHAND: Final = (0.5, 0.125, 0.125, 0.125, 0.125)
"""Days of each word that count beforehand: Jeffreys' half a day for nothing and for something. Our own choice."""
CLOSE: Final = 1e-9
TIRED: Final[Mapping[str, frozenset[str]]] = {
    "rider's word": frozenset({"flat", "uneven"}),
    "mind": frozenset({"wound_up", "worried", "dull", "sour"}),
}
"""Words that say that a horse is not as it should be."""
RARE: Final = 0.1
"""On no more than this share of its days before is such a word said where it is not as usual; our own choice."""
LATELY: Final = 7
PAST: Final = 60


@dataclass(frozen=True, slots=True)
class Word:
    """The last that was said.

    Attributes:
        what: on what.
        word: a word of the diary.
        days_ago: when.
        often: on how many of its days before the same was said.
        of: on how many days before anything was.
    """

    what: str
    word: str
    days_ago: int
    often: int
    of: int

    @property
    def odd(self) -> bool:
        """Whether the word says that the horse is not as it should be, and seldom fell of it before."""
        return self.word in TIRED.get(self.what, ()) and self.often <= RARE * self.of


@dataclass(frozen=True, slots=True)
class Appetite:
    """What was left lately, against the horse's own past.

    Attributes:
        left: share of the feed that was left the last time, 0 to 1.
        days_ago: when.
        lately: mean share that was left on the days of the last seven of which somebody said.
        days_told: how many those are.
        before: the same of the sixty days before; None without a past.
        past_told: how many those are.
        chance: how probable so much or more is by its own past; None without a past.
    """

    left: float
    days_ago: int
    lately: float
    days_told: int
    before: float | None
    past_told: int
    chance: float | None


def last_word(what: str, said: Sequence[tuple[date, str]], on: date, within: int, past: int = PAST) -> Word | Missing:
    """Return the last word, and how often it was the same before.

    Args:
        what: on what.
        said: day and word, in any order; of a day the last stands.
        on: the day.
        within: days after which a word says nothing of today.
        past: days before it that are counted.
    """
    seen = sorted({day: word for day, word in said if day <= on}.items())
    if not seen:
        return Missing(what, None)
    day, word = seen[-1]
    ago = (on - day).days
    if ago > within:
        return Missing(what, ago)
    before = [one for when, one in seen[:-1] if when >= day - timedelta(days=past)]
    return Word(what, word, ago, before.count(word), len(before))


def appetite(left: Sequence[tuple[date, float]], on: date, within: int = 2) -> Appetite | Missing:
    """Return what a horse left, and how probable that is by its own past.

    The shares that it left before have a Dirichlet distribution over the diary's five words, with half a day of nothing
    and half a day of the others beforehand; so many days of late then leave so much in all, or more, with the chance of
    a Dirichlet-multinomial, summed over all ways in which they can.

    Args:
        left: day and share of the feed that was left, in any order; of a day the most counts.
        on: the day.
        within: days after which nothing is known of today.
    """
    most: dict[date, float] = {}
    for day, share in left:
        if day <= on:
            most[day] = max(share, most.get(day, 0.0))
    if not most:
        return Missing("appetite", None)
    last = max(most)
    if (on - last).days > within:
        return Missing("appetite", (on - last).days)
    lately = [share for day, share in most.items() if (on - day).days < LATELY]
    past = [share for day, share in most.items() if LATELY <= (on - day).days < LATELY + PAST]
    return Appetite(
        most[last], (on - last).days, sum(lately) / len(lately), len(lately), sum(past) / len(past) if past else None,
        len(past), _chance(lately, past) if past else None,
    )  # fmt: skip


def _chance(lately: Sequence[float], past: Sequence[float]) -> float:
    """Return how probable it is to leave as much in all as of late, or more."""
    shares = tuple(LEFT.values())
    alpha = [past.count(share) + beforehand for share, beforehand in zip(shares, BEFOREHAND, strict=True)]
    n, whole = len(lately), sum(alpha)
    found = 0.0
    for counts in _ways(n, len(shares)):
        if sum(share * count for share, count in zip(shares, counts, strict=True)) >= sum(lately) - CLOSE:
            log = lgamma(n + 1) + lgamma(whole) - lgamma(n + whole)
            log += sum(
                lgamma(count + a) - lgamma(a) - lgamma(count + 1) for count, a in zip(counts, alpha, strict=True)
            )
            found += exp(log)
    return min(found, 1.0)


@cache
def _ways(n: int, k: int) -> tuple[tuple[int, ...], ...]:
    """Return all ways to share out n days over k words."""
    if k == 1:
        return ((n,),)
    return tuple((first, *rest) for first in range(n + 1) for rest in _ways(n - first, k - 1))
