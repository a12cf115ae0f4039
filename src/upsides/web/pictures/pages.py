"""What the page of a horse's photographs shows."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django.http import Http404
from django.utils.translation import gettext as _

from upsides.books.diary.kind import STAFF
from upsides.books.models import Horse
from upsides.books.photographs import LONGEST, MOST_BYTES
from upsides.books.queries.horse import seen
from upsides.books.queries.moments import Moment
from upsides.books.queries.photos import pictures_of
from upsides.books.queries.visitors import Visitor
from upsides.books.services.photos import MOST
from upsides.web.pictures.sentences import about_pictures


def horse_for(who: Visitor, number: int, moment: Moment) -> Horse:
    """Return a horse as it stood at the moment.

    Raises:
        Http404: there was none of that number that the visitor may see.
    """
    found = seen(who, moment, number)
    if found is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    return found


def pictures_page(
    horse: Horse, moment: Moment, who: Visitor, typed: Mapping[str, str] | None = None, wrong: str = ""
) -> dict[str, Any]:
    """Return the page of a horse's pictures; what was typed and refused stands in the form again."""
    found = pictures_of(horse.pk, moment, who)
    may_add = bool(who.roles & STAFF)
    return {
        "moment": moment,
        "horse": horse,
        "sentence": about_pictures(horse.name, [one.entry.happened.date() for one in found], owner=not may_add),
        "pictures": found,
        "may_add": may_add,
        "client_id": uuid4(),
        "typed": typed or {},
        "wrong": wrong,
        "most": MOST,
        "megabytes": MOST_BYTES >> 20,
        "points": LONGEST,
    }
