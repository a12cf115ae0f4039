"""The store, a feed and a batch, ready for their templates."""

from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.http import HttpRequest, QueryDict
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides import feeding
from upsides.books.models import Feed, FeedBatch
from upsides.books.queries import moments
from upsides.books.queries.feed_store import BACK, LEAD_DAYS, InStore, store, who_ate
from upsides.books.queries.feeding import feed_times
from upsides.books.queries.moments import Moment
from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext
from upsides.web.feeding.sentences import about_eaters, about_store
from upsides.web.feeding.words import kg, plain, short
from upsides.web.shell.moments import asked_day

SURENESS: Final[dict[str, Promise]] = {
    "only this batch was open": gettext_lazy("only this batch was open"),
    "others were open too": gettext_lazy("other batches were open too"),
    "no batch was written down as open": gettext_lazy("no batch was written down as open"),
}


@dataclass(frozen=True, slots=True)
class Shelf:
    """One feed in store, in words.

    Args:
        one: it as it was read.
        label: what its label says.
        left: what is in store; empty where no delivery is written down.
        a_day: what today's rations use.
        lasts: how long it lasts.
        order: when to order it.
        odd: what does not add up; empty where all does.
    """

    one: InStore
    label: str
    left: str
    a_day: str
    lasts: str
    order: str
    odd: str


def store_page(request: HttpRequest, moment: Moment) -> dict[str, Any]:
    """Return what the page about the store shows.

    Raises:
        FeedingRefusedError: no order takes so many days.
    """
    lead = asked_lead(request.GET)
    found = store(moment, lead)
    shelves = [shelf(one, moment.day) for one in found]
    return {
        "moment": moment,
        "sentence": about_store(found, moment.day),
        "used": [one for one in shelves if one.one.feed.used],
        "unused": [one for one in shelves if not one.one.feed.used],
        "lead": lead,
        "times": ", ".join(feed_times(moment)),
    }


def asked_lead(query: QueryDict) -> int:
    """Return the days from an order to its delivery.

    Raises:
        FeedingRefusedError: it is no number of days.
    """
    text = query.get("lead", "").strip()
    if not text:
        return LEAD_DAYS
    if not (text.isdecimal() and len(text) <= 3 and int(text) <= 365):
        raise FeedingRefusedError(
            gettext("days from order to delivery"), text, gettext("it is no number of days"), gettext("write 0 to 365")
        )
    return int(text)


def shelf(one: InStore, today: date) -> Shelf:
    """Return one feed in store, in words."""
    held = one.stock
    return Shelf(
        one,
        label_words(one.feed),
        kg(held.left, 0) if held else "",
        kg(one.a_day, 1) if one.a_day else _("none"),
        lasts(held),
        order(held, today),
        odd(held),
    )


def lasts(held: feeding.Stock | None) -> str:
    """Return how long a feed lasts; empty where that cannot be said."""
    if held is None or held.last_day is None or held.days is None:
        return ""
    days = int(held.days + 1e-9)
    if not days:
        return _("not through tomorrow")
    told = {"day": short(held.last_day), "days": plain(days, 0)}
    return ngettext("to %(day)s (%(days)s day)", "to %(day)s (%(days)s days)", days) % told


def order(held: feeding.Stock | None, today: date) -> str:
    """Return when to order a feed; empty where that cannot be said."""
    if held is None or held.order_by is None:
        return ""
    return _("now") if held.order_by <= today else short(held.order_by)


def odd(held: feeding.Stock | None) -> str:
    """Return what does not add up."""
    if held is None:
        return ""
    words = []
    if held.unaccounted >= 1:
        told = {"kg": kg(held.unaccounted, 0)}
        text = _("%(kg)s more were fed than the batches marked as open can have held: is a delivery or a mark missing?")
        words.append(text % told)
    if held.spilled >= 1:
        told = {"kg": kg(held.spilled, 0), "delivered": kg(held.delivered, 0), "days": plain(BACK.days, 0)}
        text = _("Of %(delivered)s of the last %(days)s days %(kg)s were left, by the arithmetic, in finished batches.")
        words.append(text % told)
    return " ".join(words)


def label_words(feed: Feed) -> str:
    """Return what a label says."""
    told = {"kind": feed.get_kind_display(), "mj": plain(feed.energy_mj_kg), "dry": plain(feed.dry_matter * 100, 1)}
    words = [_("%(kind)s, %(mj)s\u00a0MJ a kg, %(dry)s per cent dry matter") % told]
    if feed.starch is not None:
        words.append(_("%(share)s starch") % {"share": plain(feed.starch * 100, 1)})
    if feed.protein is not None:
        words.append(_("%(share)s protein") % {"share": plain(feed.protein * 100, 1)})
    return ", ".join(words)


def feed_page(moment: Moment, feed: Feed) -> dict[str, Any]:
    """Return what the page about one feed shows."""
    batches = moments.rows(FeedBatch, moment).filter(feed=feed.pk).order_by("-delivered_on", "-id")
    return {"moment": moment, "feed": feed, "label": label_words(feed), "batches": [_batch(one) for one in batches]}


def _batch(one: FeedBatch) -> dict[str, Any]:
    return {"row": one, "kg": kg(one.kg, 0)}


def batch_page(request: HttpRequest, moment: Moment, batch: FeedBatch, feed: Feed) -> dict[str, Any]:
    """Return what the page about one batch shows: which horses ate of it between two days.

    Raises:
        UnreadableError, FeedingRefusedError: a day is none, or they are not in order.
    """
    first = asked_day(request.GET.get("first", ""), moment, batch.opened_on or batch.delivered_on)
    last = asked_day(request.GET.get("last", ""), moment, max(first, batch.finished_on or moment.day))
    found = who_ate(moment, batch, first, last)
    return {
        "moment": moment,
        "batch": batch,
        "feed": feed,
        "kg": kg(batch.kg, 0),
        "first": first.isoformat(),
        "last": last.isoformat(),
        "sentence": about_eaters([eater for _horse, eater in found]),
        "eaters": [(horse, eater, kg(eater.kg, 1), SURENESS[eater.sureness]) for horse, eater in found],
    }


def label_initial(feed: Feed) -> dict[str, Any]:
    """Return a feed's label as somebody would type it."""
    shares = {name: getattr(feed, name) for name in ("dry_matter", "starch", "protein")}
    typed = {name: "" if share is None else plain(share * 100, 2) for name, share in shares.items()}
    return {"name": feed.name, "kind": feed.kind, "used": feed.used, "energy": plain(feed.energy_mj_kg), **typed}
