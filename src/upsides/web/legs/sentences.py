"""Legs in words."""

from collections.abc import Sequence
from datetime import date

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.diary import Kind
from upsides.books.diary.legs import HOW_MUCH, LIMBS, PLACES, SIDES, SIGNS, Leg, LegsFelt, NotRight
from upsides.books.diary.vet import CIRCLES, GAITS, SCALES, SURFACES, Lameness
from upsides.books.queries.legs import WEEKS, Said


def about_legs(said: Sequence[Said], before: date | None) -> str:
    """Return what was found last on a horse's legs, and whether they were felt and as usual since.

    Args:
        said: what stands from the last weeks, the latest first.
        before: the day of the last entry before those weeks, where they have none.
    """
    found = next((one for one in said if one.limb), None)
    felt = next((one for one in said if isinstance(one.kind, LegsFelt)), None)
    if found is None:
        return _nothing_found(felt, before)
    told = {"where": _capital(where(found.kind)), "what": what(found.kind), "day": day_of(found.day)}
    first = _("%(where)s, on %(day)s: %(what)s.") % told
    if felt is not None and said.index(felt) < said.index(found):
        return f"{first} {_('Legs felt since, as usual, last on %(day)s.') % {'day': day_of(felt.day)}}"
    return f"{first} {_('No entry since says that the legs were felt and as usual.')}"


def _nothing_found(felt: Said | None, before: date | None) -> str:
    told = {"weeks": WEEKS, "day": day_of(felt.day) if felt else day_of(before) if before else ""}
    if felt:
        return _("Legs felt and as usual, last on %(day)s; no finding in the last %(weeks)s weeks.") % told
    if before:
        return _("Nothing was entered about the legs in the last %(weeks)s weeks; the last was on %(day)s.") % told
    return _("Nothing has been entered about the legs yet.")


def where(kind: Kind) -> str:
    """Return where a finding is: near fore, tendon, back."""
    if isinstance(kind, Leg):
        told = {"limb": LIMBS[kind.limb], "place": PLACES[kind.place], "side": SIDES.get(kind.side or "", "")}
        return _("%(limb)s, %(place)s, %(side)s") % told if kind.side else _("%(limb)s, %(place)s") % told
    return str(LIMBS[kind.limb]) if isinstance(kind, Lameness | NotRight) and kind.limb else ""


def what(kind: Kind) -> str:
    """Return what was found, without where: heat, filling, slight."""
    if isinstance(kind, Leg):
        signs = ", ".join(str(SIGNS[sign]) for sign in kind.signs)
        told = {"signs": signs, "how_much": HOW_MUCH.get(kind.how_much or "", "")}
        return _("%(signs)s, %(how_much)s") % told if kind.how_much else signs
    if isinstance(kind, Lameness):
        return _lame(kind)
    asked = isinstance(kind, NotRight) and kind.ask_vet
    return _("not right, the vet is asked") if asked else _("not right")


def _lame(kind: Lameness) -> str:
    """Return a grade with its scale and how it was seen; a grade without its scale says nothing."""
    told = {"grade": number_format(f"{kind.grade:g}"), "scale": SCALES[kind.scale]}
    seen = (GAITS.get(kind.gait or ""), SURFACES.get(kind.surface or ""), CIRCLES.get(kind.circle or ""))
    graded = _("lame, grade %(grade)s on the scale %(scale)s") % told
    return ", ".join([graded, *(str(words) for words in seen if words)])


def ago(days: int) -> str:
    """Return how long ago something was."""
    if days < 1:
        return _("today")
    return ngettext("%(days)s day ago", "%(days)s days ago", days) % {"days": days} if days > 1 else _("yesterday")


def day_of(when: date) -> str:
    """Return a day as 18 June, held together."""
    return date_format(when, "j F").replace(" ", "\u00a0")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
