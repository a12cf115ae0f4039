"""One horse's ration given to several: which horses, from when on, as it is or by mass."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from upsides import feeding
from upsides.books.models import Person, Ration
from upsides.books.queries import moments
from upsides.books.queries.boxes import boxes, in_walking_order
from upsides.books.queries.feed_needs import weighings
from upsides.books.queries.feeding import feeds, in_force, rations, servings
from upsides.books.queries.moments import Moment
from upsides.books.services.feeding import copy_ration
from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext
from upsides.web.feeding.board_page import barn_words, tomorrow
from upsides.web.feeding.words import kg, listed
from upsides.web.shell.moments import asked_day


def several_page(moment: Moment, query: QueryDict) -> dict[str, Any]:
    """Return what the page shows: whose ration can be copied, and to whom."""
    horses, labels = {horse.pk: horse for horse in moments.in_training(moment)}, feeds(moment)
    written, masses, stands = rations(moment, horses), weighings(moment, list(horses)), boxes(moment)
    now, then = in_force(written, moment.day), in_force(written, tomorrow(moment))
    given = {pk: servings(one, labels) for pk, one in then.items()}
    gets = {pk: _a_day(each) for pk, each in given.items()}
    source = _number(query.get("from", ""))
    barns: dict[str, list[dict[str, Any]]] = {}
    for pk in (horse.pk for horse in in_walking_order(horses.values(), stands)):
        row = {"horse": horses[pk], "gets": gets.get(pk, ""), "mass": kg(masses[pk].kg, 0) if pk in masses else ""}
        row["ticked"] = str(pk) in query.getlist("horse")
        barns.setdefault(barn_words(stands[pk].barn if pk in stands else ""), []).append(row)
    return {
        "moment": moment,
        "sources": sorted((horses[pk] for pk in {*now, *then} & horses.keys()), key=lambda one: one.name.casefold()),
        "source": horses.get(source) if source in {*now, *then} else None,
        "gets": listed(given.get(source, ())) or _("nothing"),
        "barns": barns,
        "first_day": query.get("first_day") or tomorrow(moment).isoformat(),
        "how": query.get("how", "same"),
    }


def _a_day(given: Sequence[feeding.Serving]) -> str:
    return _("%(kg)s a day") % {"kg": kg(sum(one.kg for one in given), 1)} if given else _("nothing")


def copied(given: QueryDict, moment: Moment, by: Person) -> list[Ration]:
    """Write one horse's ration for those that were ticked, as it was sent.

    Raises:
        UpsidesError: something of it cannot be right; nothing is written.
    """
    day = asked_day(given.get("first_day", ""), moment, tomorrow(moment))
    pk = _number(given.get("from", ""))
    ration = in_force(rations(moment, [pk]), day).get(pk)
    if ration is None:
        raise FeedingRefusedError(
            gettext("ration"),
            "",
            gettext("no horse that has one on that day was chosen"),
            gettext("choose whose to copy"),
        )
    wanted = [_number(one) for one in given.getlist("horse")]
    to = [horse for horse in moments.in_training(moment).filter(id__in=wanted) if horse.pk != pk]
    return copy_ration(ration, to, day, by, _masses(moment, [pk, *(one.pk for one in to)], given.get("how", "")))


def _masses(moment: Moment, horses: list[int], how: str) -> Mapping[int, float] | None:
    return {pk: one.kg for pk, one in weighings(moment, horses).items()} if how == "mass" else None


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 10 else 0
