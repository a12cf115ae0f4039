"""The yard's lists in words."""

from collections.abc import Sequence

from django.utils.dates import WEEKDAYS_ABBR
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Gallop, Thing
from upsides.books.queries.yard_limits import Limits
from upsides.trade.distance import Distance


def about_yard(gallops: Sequence[Gallop], things: Sequence[Thing]) -> str:
    """Return how many gallops and things are in use."""
    used, named = sum(one.used for one in gallops), sum(one.used for one in things)
    if not used and not named:
        return _("No gallop and nothing with a name is entered yet; entries can name what is listed here.")
    of_gallops = ngettext("%(number)s gallop", "%(number)s gallops", used) % {"number": used}
    of_things = ngettext("%(number)s thing with a name", "%(number)s things with a name", named) % {"number": named}
    return _("%(gallops)s and %(things)s are in use.") % {"gallops": of_gallops, "things": of_things}


def about_mornings(limits: Limits, gallops: Sequence[Gallop]) -> list[str]:
    """Return what a morning takes, a sentence each: as the yard said it, or what is assumed."""
    found = []
    said = [(str(WEEKDAYS_ABBR[day]), most) for day, most in enumerate(limits.fast) if most is not None]
    if said:
        days = ", ".join(f"{day}\u00a0{most}" for day, most in said)
        found.append(_("Horses in fast work at most: %(days)s.") % {"days": days})
    if len(said) < len(limits.fast):
        found.append(
            _("Half of the string at most is in fast work on any other morning (common practice, no source).")
            if said
            else _("Half of the string at most is in fast work on a morning (common practice, no source).")
        )
    if limits.each is None:
        found.append(_("One rider rides four horses in a morning (common practice, no source)."))
    else:
        text = ngettext(
            "One rider rides %(each)s horse in a morning.", "One rider rides %(each)s horses in a morning.", limits.each
        )
        found.append(text % {"each": limits.each})
    for gallop in gallops:
        if (most := limits.slots.get(gallop.pk)) is not None:
            text = ngettext("%(most)s horse at most is on %(gallop)s in a morning.",
                            "%(most)s horses at most are on %(gallop)s in a morning.", most)  # fmt: skip
            found.append(text % {"most": most, "gallop": gallop.name})
    return found


def length_in_words(metres: int | None) -> str:
    """Return a length as 1,000 m, about 5f; a dash for none."""
    if metres is None:
        return "–"
    exact = Distance.from_metres(metres)
    furlongs = exact.text("halves")
    if exact.text("about") != furlongs:
        furlongs = _("about %(furlongs)s") % {"furlongs": furlongs}
    return _("%(metres)s\u00a0m, %(furlongs)s") % {"metres": f"{metres:,}", "furlongs": furlongs}


def length_typed(metres: int | None) -> str:
    """Return a length so that reading it gives the same, empty for none."""
    return "" if metres is None else f"{metres} metres"
