"""What people said and saw: the rider's word, the mind, what was left in the manger; the last, and before."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from upsides.condition.fresh.latest import Missing

LEFT: Final[Mapping[str, float]] = {"nothing": 0.0, "some": 0.25, "half": 0.5, "most": 0.75, "all": 1.0}
"""Share of a feed that was left, by the diary's word; "some" is up to a quarter."""
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


@dataclass(frozen=True, slots=True)
class Appetite:
    """What was left lately, against the horse's own past.

    Attributes:
        left: share of the feed that was left the last time, 0 to 1.
        days_ago: when.
        days_left: days of the last seven on which something was left.
        days_told: days of the last seven of which somebody said.
        past_left, past_told: the same of the sixty days before.
        chance: how probable so many days or more with something left are by its own past; None without a past.
    """

    left: float
    days_ago: int
    days_left: int
    days_told: int
    past_left: int
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

    With k of n days of the past with something left, the share of such days is Beta(k + 1/2, n - k + 1/2), and so many
    of the last seven are beta-binomial.

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
    few, many = sum(share > 0 for share in lately), sum(share > 0 for share in past)
    chance = _chance(few, len(lately), many, len(past)) if past else None
    return Appetite(most[last], (on - last).days, few, len(lately), many, len(past), chance)


def _chance(few: int, lately: int, many: int, past: int) -> float:
    from scipy.stats import betabinom

    return float(betabinom.sf(few - 1, lately, many + 0.5, past - many + 0.5))
