"""What is asked of the pages about feed: a day, a barn, a mass, a class of work."""

from datetime import date
from typing import Final
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, QueryDict
from django.utils.translation import gettext as _

from upsides.books.queries.feed_needs import HOURS_A_RIDE, Asked, named_work
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext
from upsides.feeding.checking import MOST_MASS
from upsides.trade.reading import LONGEST, number, tidy

NO_BOX: Final = "-"
"""What an address says for the horses that have no box."""
MOST_HOURS: Final = 10.0


def asked_barn(request: HttpRequest, who: Visitor, barns: list[str]) -> str:
    """Return the barn that is asked for, else the visitor's own, else the first; "" for horses without a box.

    Raises:
        Http404: there is none of that name, so that no other barn's board is taken for it.
    """
    wanted = request.GET.get("barn", "").strip()
    if not wanted:
        return who.person.barn if who.person.barn in barns else next(iter(barns), "")
    barn = "" if wanted == NO_BOX else wanted
    if barn not in barns:
        raise Http404(_("There is no barn %(barn)s.") % {"barn": wanted})
    return barn


def board_address(barn: str, day: date, moment: Moment, as_of: str) -> str:
    """Return the query of a board's address."""
    pairs = [("barn", barn or NO_BOX), ("day", "" if day == moment.day else day.isoformat()), ("as_of", as_of)]
    return "?" + urlencode([pair for pair in pairs if pair[1]])


def asked_needs(query: QueryDict) -> Asked:
    """Return what somebody names instead of what the diary says.

    Raises:
        FeedingRefusedError: a mass, a class of work or a number of hours cannot be right.
    """
    kg = _number(query, "kg", gettext("body mass"), gettext("kg"))
    hours = _number(query, "hours", gettext("hours under the rider"), gettext("hours a day"))
    if kg is not None and not 50 <= kg <= MOST_MASS:
        raise FeedingRefusedError(
            gettext("body mass"), f"{kg:g}", gettext("no horse weighs so much or so little"), gettext("write it in kg")
        )
    if hours is not None and hours > MOST_HOURS:
        raise FeedingRefusedError(
            gettext("hours under the rider"),
            f"{hours:g}",
            gettext("no day has so many"),
            gettext("write hours of one day"),
        )
    return Asked(named_work(query.get("work", "").strip()[:40]), kg, HOURS_A_RIDE if hours is None else hours)


def _number(query: QueryDict, name: str, field: str, unit: str) -> float | None:
    text = query.get(name, "").strip()
    if not text:
        return None
    found = number(tidy(text[:LONGEST]).removesuffix("kg").strip())
    if found is None:
        raise FeedingRefusedError(field, text, gettext("it is no number"), gettext("write it in {unit}", unit=unit))
    return float(found)
