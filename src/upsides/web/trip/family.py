"""What breeding says of a trip, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.trade.units import FURLONG_M
from upsides.web.trip.sentences import about_trip
from upsides.web.trip.words import share_words, trip_words

if TYPE_CHECKING:  # it brings compiled code, which a page of a sale without figures need not wait for
    from upsides.books.queries.trip_family import Family, Foals, Parent


@dataclass(frozen=True, slots=True)
class Said:
    """What is said of a parent.

    Args:
        heading: whom it is about.
        foals: what its foals have done.
        handed_down: what it hands down, empty where nothing is known.
    """

    heading: str
    foals: str
    handed_down: str


def about_family(family: "Family") -> str:
    """Return what breeding alone says of the trip."""
    if family.trip is None:
        return _("Of its family no run is known, so breeding says nothing of its trip.")
    return _("By breeding alone: %(sentence)s") % {"sentence": about_trip(family.trip)}


def reliance(family: "Family") -> str:
    """Return how much of what breeding can tell is known, and from what; empty where breeding says nothing."""
    if family.trip is None:
        return ""
    told = {"share": share_words(family.known), "count": family.runs}
    if not family.runs:
        return _("Of what breeding can tell of a trip, %(share)s is known.") % told
    text = ngettext(
        "Of what breeding can tell of a trip, %(share)s is known, from %(count)s run of its parents' other foals and "
        "from more distant kin.",
        "Of what breeding can tell of a trip, %(share)s is known, from %(count)s runs of its parents' other foals and "
        "from more distant kin.",
        family.runs,
    )
    return text % told


def parents(family: "Family") -> Sequence[Said]:
    """Return what is known of each parent."""
    return [Said(_heading(one), _foals(one.foals), _handed_down(one)) for one in family.parents]


def _heading(one: "Parent") -> str:
    told = {"name": one.name}
    return _("Its sire, %(name)s") % told if one.side == "sire" else _("Its dam, %(name)s") % told


def _foals(foals: "Foals") -> str:
    told: dict[str, object] = {"known": foals.known, "ran": foals.ran, "runs": foals.runs, "won": foals.won}
    if not foals.known:
        return _("No other foal is known.")
    if not foals.ran:
        return ngettext("One other foal is known; it has not run.", "%(known)s other foals are known; none has run.",
                        foals.known) % told  # fmt: skip
    ran = ngettext(
        "One other foal is known; it has run.", "%(known)s other foals are known; %(ran)s have run.", foals.known
    )
    if foals.won_over is None:
        none = _("None has won.")
        return f"{ran % told} {none}"
    low, high = (trip_words(metres / FURLONG_M) for metres in foals.won_over)
    told |= {"low": low, "high": high}
    if low == high:
        won = ngettext("%(won)s has won, over %(low)s.", "%(won)s have won, over %(low)s.", foals.won)
    else:
        won = ngettext(
            "%(won)s has won, over %(low)s to %(high)s.", "%(won)s have won, over %(low)s to %(high)s.", foals.won
        )
    return f"{ran % told} {won % told}"


def _handed_down(one: "Parent") -> str:
    if one.average is None or one.known is None:
        return _("The figures know no run of its family.")
    told = {"trip": trip_words(one.average), "share": share_words(one.known)}
    if one.side == "sire":
        text = _("His average foal would be best at %(trip)s; of what he hands down of that, %(share)s is known.")
    else:
        text = _("Her average foal would be best at %(trip)s; of what she hands down of that, %(share)s is known.")
    return text % told
