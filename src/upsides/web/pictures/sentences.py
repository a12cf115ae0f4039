"""Photographs in words."""

from collections.abc import Sequence
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext


def about_pictures(horse: str, days: Sequence[date], *, owner: bool) -> str:
    """Return how many pictures of a horse there are to be seen, and of when the last one is.

    Args:
        horse: its name.
        days: the days of the pictures, the latest first.
        owner: whether the reader is an owner, who sees those that may be shown to him.
    """
    if not days:
        if owner:
            return _("The yard has shown you no picture of %(horse)s yet.") % {"horse": horse}
        return _("No picture of %(horse)s has been kept yet.") % {"horse": horse}
    last = date_format(days[0], "j F Y").replace(" ", "\u00a0")
    text = ngettext(
        "%(count)s picture of %(horse)s, of %(last)s.",
        "%(count)s pictures of %(horse)s, the last of %(last)s.",
        len(days),
    )
    return text % {"count": len(days), "horse": horse, "last": last}


def kept(horse: str, count: int) -> str:
    """Return what was just kept."""
    text = ngettext("%(count)s picture of %(horse)s is kept.", "%(count)s pictures of %(horse)s are kept.", count)
    return text % {"count": count, "horse": horse}
