"""Who owns a horse on each day, and the days on which the parts are not one whole."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from upsides.books.models import Horse, Share

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Held:
    """A part of a horse from a day to a day, both included.

    Args:
        part: of one.
        first: first day.
        last: last day, None for no end.
        managing: whether its owner manages the horse.
    """

    part: Fraction
    first: date
    last: date | None
    managing: bool = False


@dataclass(frozen=True, slots=True)
class Fault:
    """Days on which something about the owners is not as it must be.

    Args:
        first: first day.
        last: last day, None for no end.
        total: the parts added up.
        managing: how many owners manage the horse.
    """

    first: date
    last: date | None
    total: Fraction
    managing: int

    @property
    def not_whole(self) -> bool:
        """Return whether the parts do not add up to one."""
        return self.total != 1


def parts_held(shares: Iterable[Share]) -> list[Held]:
    """Return shares as parts."""
    return [
        Held(Fraction(share.numerator, share.denominator), share.first_day, share.last_day, share.managing)
        for share in shares
    ]


def faults(held: Sequence[Held], first: date, last: date | None = None) -> list[Fault]:
    """Return the days from `first` to `last` on which the parts are not one, or not one owner manages.

    A horse with one owner is managed by that one, whether that is written down or not.
    """
    turns = {first} | {day for one in held for day in (one.first, one.last and one.last + DAY) if day}
    starts = sorted(day for day in turns if day >= first and (last is None or day <= last))
    ends = [day - DAY for day in starts[1:]] + [last]
    found: list[Fault] = []
    for begins, ends_on in zip(starts, ends, strict=True):
        here = [one for one in held if one.first <= begins and (one.last is None or one.last >= begins)]
        total = sum((one.part for one in here), Fraction())
        managing = sum(one.managing for one in here)
        if total == 1 and (managing == 1 or (len(here) == 1 and managing == 0)):
            continue
        before = found[-1] if found else None
        if before and before.last == begins - DAY and (before.total, before.managing) == (total, managing):
            found[-1] = Fault(before.first, ends_on, total, managing)
        else:
            found.append(Fault(begins, ends_on, total, managing))
    return found


def ownership_faults(horse: Horse, shares: Iterable[Share]) -> list[Fault]:
    """Return the days on which a horse of the yard is not wholly somebody's, from its coming to its leaving."""
    last = horse.left - DAY if horse.left else None
    if last is not None and last < horse.joined:
        return []
    return faults(parts_held(shares), horse.joined, last)
