"""Writes about the store: feeds with what their labels say, deliveries, batches opened and finished; feed times."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db import IntegrityError, transaction

from upsides.books import clock
from upsides.books.amounts import read_delivery
from upsides.books.models import Feed, FeedBatch, Person, Ration, Yard
from upsides.books.queries.feeding import in_force, label
from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.feeding import Batch
from upsides.trade.reading import NUMBER, number, tidy

LONGEST: Final = 60
LEAST_DRY_MATTER: Final = 0.05
"""Share of 1; nothing that is fed is wetter, so that a share typed for per cent is noticed."""
_FIGURE: Final = re.compile(rf"({NUMBER}) ?(?:%|per cent|mj|mj/kg|mj a kg|mj per kg)?")


@dataclass(frozen=True, slots=True)
class Label:
    """A feed as somebody types it from its label.

    Args:
        name: what the yard calls it.
        kind: one of `Feed.Kind`.
        energy: MJ of digestible energy a kg as fed.
        dry_matter, starch, protein: per cent as fed; the last two may be empty.
        used: whether it is in use.
    """

    name: str
    kind: str
    energy: str
    dry_matter: str
    starch: str = ""
    protein: str = ""
    used: bool = True


@transaction.atomic
def write_feed(typed: Label, by: Person, feed: Feed | None = None) -> Feed:
    """Enter a feed, or change one.

    Raises:
        FeedingRefusedError: a figure or the name cannot be right; nothing is written.
    """
    row = feed or Feed()
    row.name, row.kind, row.used = " ".join(typed.name.split()), typed.kind, typed.used
    if len(row.name) > LONGEST:
        raise FeedingRefusedError(
            _("feed"),
            row.name,
            _("it has more than {longest} characters", longest=LONGEST),
            _("call it something shorter"),
        )
    if Feed.objects.filter(name__iexact=row.name).exclude(pk=row.pk).exists():
        raise FeedingRefusedError(
            _("feed"), row.name, _("the yard has one of that name"), _("change that one, or name it apart")
        )
    row.energy_mj_kg = _figure(_("energy"), typed.energy)
    row.dry_matter = _share(_("dry matter"), typed.dry_matter)
    row.starch = _share(_("starch"), typed.starch) if typed.starch.strip() else None
    row.protein = _share(_("protein"), typed.protein) if typed.protein.strip() else None
    if 0 < row.dry_matter < LEAST_DRY_MATTER:
        raise FeedingRefusedError(
            _("dry matter"), typed.dry_matter, _("no feed is so wet"), _("write it in per cent, like 88")
        )
    label(row)
    return _saved(row, by)


def _saved(row: Feed, by: Person) -> Feed:
    row._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:  # somebody else took the name between the look and the write
        raise FeedingRefusedError(
            _("feed"), row.name, _("the yard has one of that name"), _("name it apart")
        ) from error
    return row


@transaction.atomic
def deliver(feed: Feed, number_: str, delivered_on: date, kg: str, by: Person) -> FeedBatch:
    """Write down a delivery.

    Raises:
        FeedingRefusedError: its day lies ahead, or its weight cannot be right.
    """
    if delivered_on > clock.today():
        raise FeedingRefusedError(
            _("delivered"), delivered_on.isoformat(), _("that day is to come"), _("enter it when it is here")
        )
    field = _("delivery of {name}", name=feed.name)
    row = FeedBatch(feed=feed, number=number_.strip()[:LONGEST], delivered_on=delivered_on, kg=read_delivery(field, kg))
    return _marked(row, by)


@transaction.atomic
def mark(batch: FeedBatch, opened_on: date | None, finished_on: date | None, by: Person) -> FeedBatch:
    """Write down when a batch was opened and when it was finished; None takes a day back.

    Raises:
        FeedingRefusedError: the days are not in order, or lie ahead.
    """
    row = FeedBatch.objects.select_for_update(of=("self",)).select_related("feed").get(pk=batch.pk)
    for field, day in (("opened", opened_on), ("finished", finished_on)):
        if day is not None and day > clock.today():
            raise FeedingRefusedError(
                field, day.isoformat(), _("that day is to come"), _("write it down when it is so")
            )
    row.opened_on, row.finished_on = opened_on, finished_on
    return _marked(row, by)


def _marked(row: FeedBatch, by: Person) -> FeedBatch:
    Batch(row.feed.name, row.number, row.delivered_on, row.kg, row.opened_on, row.finished_on)  # refuses what cannot be
    row._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    row.save()
    return row


@transaction.atomic
def write_feed_times(names: Sequence[str], by: Person) -> list[str]:
    """Name the yard's feed times, in the order of the day.

    Raises:
        FeedingRefusedError: there are none, one is named twice, or one goes that a ration still names.
    """
    times = [name for name in (" ".join(one.split()).casefold() for one in names) if name]
    if not times or len(set(times)) < len(times) or any(len(name) > 40 for name in times):
        remedy = _("write each once with commas between them, like morning, noon, evening")
        raise FeedingRefusedError(
            _("feed times"), ", ".join(times), _("there is none, or one is too long or twice there"), remedy
        )
    yard = Yard.objects.select_for_update().get()
    today = clock.today()
    written = list(Ration.objects.order_by("first_day", "pk"))
    held = [*in_force(written, today).values(), *(one for one in written if one.first_day > today)]
    for name in sorted({one["time"] for ration in held for one in ration.amounts} - set(times)):
        raise FeedingRefusedError(
            _("feed times"), name, _("rations still name it"), _("change those rations first, or keep it")
        )
    yard.feed_times = times
    yard._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    yard.save()
    return times


def _share(field: str, typed: str) -> float:
    return _figure(field, typed) / 100


def _figure(field: str, typed: str) -> float:
    found = _FIGURE.fullmatch(tidy(typed[:LONGEST]))
    value = number(found[1]) if found else None
    if value is None:
        raise FeedingRefusedError(field, typed, _("it is no number"), _("write the number that stands on the label"))
    return float(value)
