"""The pace to expect in a race, in words: who is likely to lead by past races, and of whom nothing is known."""

from collections.abc import Sequence

from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.pace import Early

MOST_NAMED = 3
OFTEN = 0.4
"""Share of its timed races in front from which on a horse is called likely to lead."""


def pace_words(found: Sequence[Early], *, card: bool) -> list[str]:
    """Return sentences on the pace; what is not known is told.

    Args:
        found: where each runner was early.
        card: whether the other runners are written down.
    """
    known = [one for one in found if one.known]
    unknown = [one.name for one in found if not one.known]
    leaders = [one for one in known if one.front / one.runs >= OFTEN]
    told = (
        [] if card else [_("The other runners are not written down, so nothing is known of the pace they would set.")]
    )
    told += [_leads(one) for one in leaders[:MOST_NAMED]]
    if card and known and not leaders:
        told.append(_("None of those that are known has often been in front early: nobody is likely to lead by habit."))
    if card and len(leaders) > 1:
        told.append(_("More than one has led by habit, so the pace may be strong."))
    told += [_own(one) for one in known if one.ours and one not in leaders[:MOST_NAMED]]
    if unknown:
        told.append(
            _("Nothing is known of where these go early: %(names)s.") % {"names": get_text_list(unknown, _("and"))}
        )
    return told


def _leads(one: Early) -> str:
    return ngettext(
        "%(name)s is likely to lead: in front early in %(front)s of its last timed race.",
        "%(name)s is likely to lead: in front early in %(front)s of its last %(runs)s timed races.",
        one.runs,
    ) % {"name": one.name, "front": one.front, "runs": one.runs}


def _own(one: Early) -> str:
    share = one.place or 0.0
    where = _("among the first third") if share < 1 / 3 else _("midfield") if share < 2 / 3 else _("towards the rear")
    return _("%(name)s has usually been %(where)s early, over %(runs)s timed races.") % {
        "name": one.name, "where": where, "runs": one.runs
    }  # fmt: skip
