"""Feed in store: what is left of it, how long it lasts, when to order.

What horses were fed is taken from the batches that stood open that day, the one opened first before the others and
each up to what was delivered. What no open batch can have given is shown as unaccounted, and what is left of a batch
that was written down as finished as spilled; neither is hidden in the rest, so that

    delivered = taken + spilled + left          fed = taken + unaccounted
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor
from typing import Final

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.feeding.checking import checked, checked_name
from upsides.feeding.feed import Serving, check_servings

MOST_DAYS: Final = 3650
"""A stock that lasts longer is given no last day."""


@dataclass(frozen=True, slots=True)
class Batch:
    """One delivery of a feed.

    Attributes:
        feed: name of the feed.
        number: what stands on the bags; may be empty.
        delivered: the day it came.
        kg: how much came.
        opened, finished: first and last day it was fed from; None as long as nobody wrote it down.
    """

    feed: str
    number: str
    delivered: date
    kg: float
    opened: date | None = None
    finished: date | None = None

    def __post_init__(self) -> None:
        checked_name(_("feed"), self.feed)
        checked(_("batch {number} of {feed}", number=self.number, feed=self.feed), self.kg, 0, 1e6, _("kg"))
        if self.kg == 0:
            raise self._refused(_("0 kg"), _("nothing was delivered"), _("write down what came, or leave it out"))
        if self.opened is not None and self.opened < self.delivered:
            raise self._refused(
                self.opened, _("opened before it came on {delivered}", delivered=self.delivered), _("correct a day")
            )
        if self.finished is not None and (self.opened is None or self.finished < self.opened):
            raise self._refused(self.finished, _("finished before it was opened"), _("write down when it was opened"))

    def _refused(self, typed: object, reason: str, remedy: str) -> FeedingRefusedError:
        return FeedingRefusedError(
            _("batch {number} of {feed}", number=self.number, feed=self.feed), typed, reason, remedy
        )

    def open_on(self, day: date) -> bool:
        """Return whether it stood open on a day, by what is written down."""
        return self.opened is not None and self.opened <= day and (self.finished is None or day <= self.finished)


@dataclass(frozen=True, slots=True)
class Plan:
    """What a horse is fed from a day on, until its next plan; nothing while `servings` is empty."""

    horse: str
    first_day: date
    servings: tuple[Serving, ...]

    def __post_init__(self) -> None:
        check_servings(self.servings)


@dataclass(frozen=True, slots=True)
class Fed:
    """What a horse was fed of a feed on a day, kg as fed."""

    day: date
    horse: str
    feed: str
    kg: float


@dataclass(frozen=True, slots=True)
class Stock:
    """One feed in store at the end of a day.

    Attributes:
        feed: its name.
        delivered: kg that came, all batches.
        taken: kg that horses were fed from batches that stood open.
        spilled: kg that batches had left when they were finished, by the arithmetic.
        left: kg in store.
        unaccounted: kg fed beyond what open batches held.
        a_day: kg used a day.
        days: how long what is left lasts; None where none is used.
        last_day: last day that it lasts through; None where none is used, or it lasts ten years.
        order_by: last day to order, so that it comes on the last day at the latest.
    """

    feed: str
    delivered: float
    taken: float
    spilled: float
    left: float
    unaccounted: float
    a_day: float
    days: float | None
    last_day: date | None
    order_by: date | None


def fed_between(plans: Iterable[Plan], first: date, last: date) -> tuple[Fed, ...]:
    """Return what horses were fed by their plans, a row a day, horse and feed, both days included.

    Raises:
        FeedingRefusedError: a horse has two plans from one day.
    """
    of_horse: dict[str, dict[date, Plan]] = {}
    for plan in plans:
        if of_horse.setdefault(plan.horse, {}).setdefault(plan.first_day, plan) is not plan:
            raise FeedingRefusedError(
                _("ration of {horse}", horse=plan.horse), plan.first_day, _("it has two from that day"), _("keep one")
            )
    days = [first + timedelta(days=after) for after in range((last - first).days + 1)]
    found: list[Fed] = []
    for day in days:
        for horse, by_day in of_horse.items():
            begun = [start for start in by_day if start <= day]
            found += _fed(day, horse, by_day[max(begun)].servings if begun else ())
    return tuple(found)


def _fed(day: date, horse: str, servings: Sequence[Serving]) -> list[Fed]:
    names = dict.fromkeys(serving.feed for serving in servings if serving.kg > 0)
    return [Fed(day, horse, name, sum(s.kg for s in servings if s.feed == name)) for name in names]


def used_a_day(fed: Iterable[Fed], feed: str, first: date, last: date) -> float:
    """Return the mean kg of a feed used a day between two days, both included.

    Raises:
        FeedingRefusedError: the last day lies before the first.
    """
    days = (last - first).days + 1
    if days < 1:
        raise FeedingRefusedError(
            _("last day"), last, _("it lies before {first}", first=first), _("turn the days round")
        )
    return sum(row.kg for row in fed if row.feed == feed and first <= row.day <= last) / days


def stock(
    feed: str, batches: Iterable[Batch], fed: Iterable[Fed], today: date, a_day: float, lead_days: int = 0
) -> Stock:
    """Return what is left of a feed at the end of today, and when to order.

    Args:
        feed: its name.
        batches: deliveries; those of other feeds, or to come, are left aside.
        fed: what horses were fed (`fed_between`). It counts from the day on which the first of the batches was opened,
            or came where none was: what was fed before is of feed that is not written down here.
        today: the day asked about.
        a_day: kg used a day from now on: `used_a_day`, or the sum of today's rations.
        lead_days: days from an order to its delivery.

    Raises:
        FeedingRefusedError: a figure cannot be right.
    """
    checked(_("{feed} used a day", feed=feed), a_day, 0, 1e6, _("kg"))
    checked(_("days from order to delivery"), lead_days, 0, 365, _("days"))
    mine = [batch for batch in batches if batch.feed == feed and batch.delivered <= today]
    begun = min((batch.opened or batch.delivered for batch in mine), default=today)
    rows = sorted((row for row in fed if row.feed == feed and begun <= row.day <= today), key=lambda row: row.day)
    left, unaccounted = _draw(mine, rows)
    spilled = sum(kg for batch, kg in zip(mine, left, strict=True) if batch.finished and batch.finished <= today)
    delivered, remains = sum(batch.kg for batch in mine), sum(left) - spilled
    days = remains / a_day if a_day else None
    last_day = today + timedelta(days=floor(days + 1e-9)) if days is not None and days <= MOST_DAYS else None
    order_by = last_day - timedelta(days=lead_days) if last_day else None
    taken = delivered - sum(left)
    return Stock(feed, delivered, taken, spilled, remains, unaccounted, a_day, days, last_day, order_by)


def _draw(batches: Sequence[Batch], rows: Iterable[Fed]) -> tuple[list[float], float]:
    """Return what is left of each batch after all was fed, and what no open batch can have given; kg."""
    left, unaccounted = [batch.kg for batch in batches], 0.0
    order = sorted(range(len(batches)), key=lambda place: (batches[place].opened or date.max, batches[place].delivered))
    for row in rows:
        wanted = row.kg
        for place in order:
            if batches[place].open_on(row.day):
                part = min(wanted, left[place])
                left[place] -= part
                wanted -= part
        unaccounted += wanted
    return left, unaccounted
