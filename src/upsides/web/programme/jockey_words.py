"""What stands in a jockey's way on a horse, in whole sentences."""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.models import Person
from upsides.books.queries.jockeys import Hindrance, Kind
from upsides.web.programme.words import weight

HINDRANCES: Final[dict[Kind, str | Promise]] = {
    Kind.SUSPENDED: gettext_lazy("%(who)s is suspended on that day."),
    Kind.RETAINED: gettext_lazy("%(who)s is retained by %(name)s, who goes first."),
    Kind.TOO_HEAVY: gettext_lazy("%(who)s rides at %(least)s at the least; the horse would carry %(carries)s."),
    Kind.NO_CLAIM: gettext_lazy("%(who)s may not claim in this race."),
    Kind.OTHER_CLAIM: gettext_lazy("By the books %(who)s claims %(claim)s: correct the booking or the books."),
    Kind.UNCLAIMED: gettext_lazy("%(who)s claims %(claim)s by the books and may here; no claim is written down."),
    Kind.TAKEN: gettext_lazy("%(who)s is booked for %(name)s in this race."),
    Kind.ELSEWHERE: gettext_lazy("%(who)s is booked for %(name)s at %(course)s on that day."),
    Kind.TOO_CLOSE: gettext_lazy("%(who)s is booked for %(name)s in a race %(minutes)s minutes away from this one."),
}


def against(one: Hindrance, who: str) -> str:
    """Return one thing that stands in the way of a jockey, as a sentence that names him."""
    told = {
        "who": who,
        "name": one.name,
        "least": weight(float(one.least_lb), "lb") if one.least_lb else "",
        "carries": weight(one.carries_lb, "lb") if one.carries_lb else "",
        "claim": _("%(pounds)s\u00a0lb") % {"pounds": one.claim_lb} if one.claim_lb else _("nothing"),
        "course": one.course,
        "minutes": one.minutes,
    }
    return str(HINDRANCES[one.kind]) % told


def choice(one: Person) -> str:
    """Return a jockey to choose, with the claim that the books have."""
    if not one.claim_lb:
        return one.name
    return _("%(name)s (claims %(pounds)s\u00a0lb)") % {"name": one.name, "pounds": one.claim_lb}
