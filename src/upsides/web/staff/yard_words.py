"""The yard's lists in words."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Gallop, Thing
from upsides.trade.distance import Distance


def about_yard(gallops: Sequence[Gallop], things: Sequence[Thing]) -> str:
    """Return how many gallops and things are in use."""
    used, named = sum(one.used for one in gallops), sum(one.used for one in things)
    if not used and not named:
        return _("No gallop and nothing with a name is entered yet; entries can name what is listed here.")
    of_gallops = ngettext("%(number)s gallop", "%(number)s gallops", used) % {"number": used}
    of_things = ngettext("%(number)s thing with a name", "%(number)s things with a name", named) % {"number": named}
    return _("%(gallops)s and %(things)s are in use.") % {"gallops": of_gallops, "things": of_things}


def length_in_words(metres: int | None) -> str:
    """Return a length as 1,000 m, about 5f; a dash for none."""
    if metres is None:
        return "–"
    furlongs = Distance.from_metres(metres).text("about")
    return _("%(metres)s\u00a0m, %(furlongs)s") % {"metres": f"{metres:,}", "furlongs": furlongs}


def length_typed(metres: int | None) -> str:
    """Return a length so that reading it gives the same, empty for none."""
    return "" if metres is None else f"{metres} metres"
