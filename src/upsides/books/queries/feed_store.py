"""Feed in store: what is left of each feed, when to order it, and which horses ate a batch."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from upsides import feeding
from upsides.books.models import Feed, FeedBatch, Horse, Move
from upsides.books.queries import moments
from upsides.books.queries.feeding import feeds, rations, servings
from upsides.books.queries.moments import Moment
from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _

BACK: Final = timedelta(days=400)
"""Deliveries before this are no longer reckoned with."""
LEAD_DAYS: Final = 7
"""Days from an order to its delivery, until somebody names others: common practice, no source."""


@dataclass(frozen=True, slots=True)
class InStore:
    """One feed in store.

    Args:
        feed: its row.
        stock: what is left of it and how long that lasts; None where no delivery of it is written down.
        a_day: kg that today's rations use.
        batches: its deliveries, latest first.
    """

    feed: Feed
    stock: feeding.Stock | None
    a_day: float
    batches: tuple[FeedBatch, ...]


def store(moment: Moment, lead_days: int = LEAD_DAYS) -> list[InStore]:
    """Return every feed with what is in store of it today, those out of use last.

    Args:
        moment: when to look from.
        lead_days: days from an order to its delivery.

    Raises:
        FeedingRefusedError: no order takes so many days.
    """
    labels, today = feeds(moment), moment.day
    rows = list(moments.rows(FeedBatch, moment).filter(delivered_on__gt=today - BACK).order_by("delivered_on", "id"))
    known = [_batch(row, labels) for row in rows]
    first = min((batch.delivered for batch in known), default=today)
    fed = used(plans(moment, labels), first, today)
    return [
        _in_store(feed, [row for row in rows if row.feed_id == feed.pk], known, fed, today, lead_days)
        for feed in sorted(labels.values(), key=lambda feed: not feed.used)
    ]


def _in_store(
    feed: Feed,
    rows: Sequence[FeedBatch],
    known: Sequence[feeding.Batch],
    fed: Sequence[feeding.Fed],
    today: date,
    lead_days: int,
) -> InStore:
    a_day = sum(row.kg for row in fed if row.feed == feed.name and row.day == today)
    held = feeding.stock(feed.name, known, fed, today, a_day, lead_days) if rows else None
    return InStore(feed, held, a_day, tuple(reversed(rows)))


def who_ate(moment: Moment, batch: FeedBatch, first: date, last: date) -> list[tuple[Horse, feeding.Eater]]:
    """Return the horses that ate a batch between two days or may have, in order of name.

    Raises:
        FeedingRefusedError: the last day lies before the first, or more than two years after it.
    """
    if (last - first).days > 2 * 366:
        raise FeedingRefusedError(_("first day"), first, _("that is more than two years before"), _("ask in parts"))
    labels = feeds(moment)
    known = [_batch(row, labels) for row in moments.rows(FeedBatch, moment).filter(feed=batch.feed_id)]
    fed = feeding.fed_between(plans(moment, labels), first, max(first, last))
    horses = {str(horse.pk): horse for horse in moments.rows(Horse, moment)}
    eaten = feeding.who_ate(_batch(batch, labels), known, fed, first, last)
    found = [(horses[eater.horse], eater) for eater in eaten if eater.horse in horses]
    return sorted(found, key=lambda pair: pair[0].name.casefold())


def plans(moment: Moment, labels: Mapping[int, Feed]) -> list[feeding.Plan]:
    """Return what every horse was to be fed from which day on; nothing while it was not in training.

    The horses go by their numbers, which are unlike where two have one name.
    """
    horses = moments.rows(Horse, moment)
    moves: dict[int, list[Move]] = {}
    for move in moments.rows(Move, moment).order_by("first_day", "id"):
        moves.setdefault(move.horse_id, []).append(move)
    given: dict[int, dict[date, tuple[feeding.Serving, ...]]] = {}
    for ration in rations(moment):
        given.setdefault(ration.horse_id, {})[ration.first_day] = servings(ration, labels)
    return [
        plan
        for horse in horses
        if horse.pk in given
        for plan in _plans(horse, given[horse.pk], moves.get(horse.pk, []))
    ]


def _plans(
    horse: Horse, given: Mapping[date, tuple[feeding.Serving, ...]], moves: Sequence[Move]
) -> list[feeding.Plan]:
    days = {*given, horse.joined, *(move.first_day for move in moves), *([horse.left] if horse.left else [])}
    found = []
    for day in sorted(days):
        begun = [first for first in given if first <= day]
        here = horse.joined <= day and (horse.left is None or day < horse.left)
        last = next((move.to for move in reversed(moves) if move.first_day <= day), Move.To.TRAINING)
        fed = given[max(begun)] if begun and here and last == Move.To.TRAINING else ()
        found.append(feeding.Plan(str(horse.pk), day, fed))
    return found


def used(plans: Iterable[feeding.Plan], first: date, last: date) -> list[feeding.Fed]:
    """Return what the whole yard was fed of each feed on each day, both days included.

    It is `feeding.fed_between` summed over the horses, without a row for each of them.
    """
    changes: dict[date, list[feeding.Plan]] = {}
    for plan in plans:
        changes.setdefault(max(plan.first_day, first), []).append(plan)
    now: dict[str, tuple[feeding.Serving, ...]] = {}
    found: list[feeding.Fed] = []
    totals: dict[str, float] = {}
    for after in range((last - first).days + 1):
        day = first + timedelta(days=after)
        if day in changes:
            now |= {plan.horse: plan.servings for plan in sorted(changes[day], key=lambda plan: plan.first_day)}
            totals = _totals(now.values())
        found += [feeding.Fed(day, "", feed, kg) for feed, kg in totals.items()]
    return found


def _totals(given: Iterable[Iterable[feeding.Serving]]) -> dict[str, float]:
    totals: dict[str, float] = {}
    for serving in (one for each in given for one in each):
        totals[serving.feed] = totals.get(serving.feed, 0.0) + serving.kg
    return totals


def _batch(row: FeedBatch, labels: Mapping[int, Feed]) -> feeding.Batch:
    name = labels[row.feed_id].name
    return feeding.Batch(name, row.number, row.delivered_on, row.kg, row.opened_on, row.finished_on)
