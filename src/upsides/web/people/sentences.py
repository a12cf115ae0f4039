"""People in words."""

from collections.abc import Iterable, Sequence

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.models import Role, Skill
from upsides.books.queries.people import Listed, Shown, SignIn
from upsides.books.queries.person_changes import Change
from upsides.books.riding import Riding
from upsides.trade.weight import Weight

SIGN_IN: dict[SignIn, Promise] = {
    SignIn.OPEN: gettext_lazy("can sign in"),
    SignIn.INVITED: gettext_lazy("has yet to choose a password"),
    SignIn.CLOSED: gettext_lazy("closed"),
    SignIn.NEVER: gettext_lazy("never signs in"),
    SignIn.ERASED: gettext_lazy("erased"),
}
"""States of a sign-in, in the order in which one would look for them."""

FIELDS: dict[str, Promise] = {
    "name": gettext_lazy("Name"),
    "login": gettext_lazy("Sign-in name"),
    "barn": gettext_lazy("Barn"),
    "email": gettext_lazy("E-mail"),
    "phone": gettext_lazy("Phone"),
    "born": gettext_lazy("Born"),
    "weight_kg": gettext_lazy("Weight"),
    "skill": gettext_lazy("Rides"),
    "claim_lb": gettext_lazy("Claim, lb"),
    "minimum_lb": gettext_lazy("Least weight"),
}

PLAIN: dict[str, Promise] = {
    "entered": gettext_lazy("Entered"),
    "erased": gettext_lazy("Erased"),
    "pin set": gettext_lazy("New PIN for barn phones"),
    "pin cleared": gettext_lazy("PIN taken away"),
    "invited": gettext_lazy("Link for choosing a password given out"),
    "second step taken": gettext_lazy("Second step when signing in taken away"),
}
"""Changes that have no value before and after."""


def roles_in_words(roles: Iterable[Role]) -> str:
    """Return what somebody is there for, e.g. "looks after horses, work rider"; a dash for nothing."""
    return ", ".join(str(role.label) for role in roles) or "–"


def means_in_words(one: Listed) -> str:
    """Return by what somebody gets in, e.g. "can sign in, second step, PIN"."""
    words = [str(SIGN_IN[one.sign_in])]
    if one.second_factor:
        words.append(_("second step"))
    if one.pin:
        words.append(_("PIN"))
    return ", ".join(words)


def about_people(listed: Sequence[Listed], *, cut: bool) -> str:
    """Return how many people there are, or fit what was asked for."""
    number = len(listed)
    if cut:
        text = ngettext("%(number)s person fits.", "%(number)s people fit.", number)
        return text % {"number": number} if number else _("Nobody fits; take a filter away.")
    able = sum(one.sign_in is SignIn.OPEN for one in listed)
    text = ngettext(
        "%(number)s person works here or belongs here; %(able)s can sign in.",
        "%(number)s people work here or belong here; %(able)s can sign in.",
        number,
    )
    return text % {"number": number, "able": able}


def about_person(shown: Shown) -> str:
    """Return what somebody is there for, and whether the person gets in."""
    one = shown.listed
    if one.sign_in is SignIn.ERASED:
        return _("This person was erased: only the number is kept, with the entries and shares that carry it.")
    values = {
        "roles": capfirst(roles_in_words(one.roles)),
        "barn": one.barn,
        "state": capfirst(str(SIGN_IN[one.sign_in])),
    }
    if one.sign_in is SignIn.CLOSED:
        return _("%(roles)s. The sign-in is closed.") % values
    if one.barn:
        return _("%(roles)s. Barn %(barn)s. %(state)s.") % values
    return _("%(roles)s. %(state)s.") % values


def riding_in_words(riding: Riding) -> list[tuple[str, str]]:
    """Return what riding takes of somebody, each with its words; what was not said is not there."""
    pounds = Weight.from_pounds(riding.minimum_lb) if riding.minimum_lb else None
    weight = Weight.from_kilograms(riding.weight_kg) if riding.weight_kg else None
    told = {
        "born": date_format(riding.born, "j F Y") if riding.born else "",
        "weight_kg": weight_in_words(weight) if weight else "",
        "skill": str(Skill(riding.skill).label) if riding.skill else "",
        "claim_lb": str(riding.claim_lb or ""),
        "minimum_lb": weight_in_words(pounds) if pounds else "",
    }
    return [(str(FIELDS[field]), words) for field, words in told.items() if words]


def weight_in_words(weight: Weight) -> str:
    """Return a person's weight as 9st 2lb (58 kg)."""
    values = {"stones": weight.text("british words"), "kilograms": weight.text("metric")}
    return _("%(stones)s (%(kilograms)s)") % values


def change_in_words(change: Change, *, private: bool) -> str:
    """Return one change as a sentence.

    Args:
        change: what changed.
        private: whether values must be left out, because the reader does not need them.
    """
    if change.what in PLAIN:
        return str(PLAIN[change.what])
    if change.what == "role given":
        return _("What for: %(role)s added") % {"role": Role(change.new).label}
    if change.what == "role taken":
        return _("What for: %(role)s taken away") % {"role": Role(change.new).label}
    if change.what == "is_active":
        return _("Sign-in opened again") if change.new == str(True) else _("Sign-in closed")
    return _field_change(change, private=private)


def about_released(standing: int) -> str:
    """Return who sees inside information."""
    if not standing:
        return _(
            "Figures, chances and plans are open to the trainer, assistant trainers, head persons and the secretary, "
            "and to nobody else."
        )
    text = ngettext(
        "Beyond the trainer, assistant trainers, head persons and the secretary, %(number)s release stands.",
        "Beyond the trainer, assistant trainers, head persons and the secretary, %(number)s releases stand.",
        standing,
    )
    return text % {"number": standing}


def about_looked(number: int, *, cut: bool) -> str:
    """Return how often inside information was shown."""
    if not number:
        return _("Nothing of the kind was looked at.") if cut else _("Nobody has looked at inside information yet.")
    text = ngettext(
        "Inside information was shown %(number)s time.", "Inside information was shown %(number)s times.", number
    )
    return text % {"number": number}


def _field_change(change: Change, *, private: bool) -> str:
    values = {"field": str(FIELDS[change.what]), "old": change.old, "new": change.new}
    if private:
        return _("%(field)s changed") % values
    if not change.old:
        return _("%(field)s: %(new)s") % values
    if not change.new:
        return _("%(field)s taken away; it was %(old)s") % values
    return _("%(field)s: %(new)s; it was %(old)s") % values
