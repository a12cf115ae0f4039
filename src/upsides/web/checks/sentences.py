"""The rounds of a barn in words, those that a phone needs without signal included."""

from collections.abc import Iterable
from typing import Any, Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.diary import KINDS
from upsides.books.diary.medicine import Treatment
from upsides.books.diary.vet import ADVICE
from upsides.books.queries.advice import Advised
from upsides.books.queries.checks import LOOKED, BarnRound, Checked, Round
from upsides.books.queries.diary import Written

TITLES: Final[dict[Round, str | Promise]] = {
    Round.MORNING: gettext_lazy("Morning checks"),
    Round.EVENING: gettext_lazy("Evening stables"),
}


def about_round(seen: BarnRound) -> str:
    """Return how many horses of the barn were looked at, and on how many something is not right."""
    told = {
        "barn": seen.barn,
        "horses": len(seen.horses),
        "looked": sum(one.looked_at for one in seen.horses),
        "wrong": sum(one.not_right for one in seen.horses),
    }
    legs = sum(one.leg for one in seen.horses)
    if not legs:
        return _counted(told)
    found = ngettext(
        "Something was found on the legs of %(legs)s horse.",
        "Something was found on the legs of %(legs)s horses.",
        legs,
    )
    return " ".join((_counted(told), found % {"legs": legs}))


def _counted(told: dict[str, Any]) -> str:
    if not told["horses"]:
        return _("No horse is in training here.")
    if not told["barn"]:
        text = _("%(looked)s of %(horses)s looked at; %(wrong)s not right.")
        return (text if told["wrong"] else _("%(looked)s of %(horses)s looked at.")) % told
    text = _("%(looked)s of %(horses)s in %(barn)s looked at; %(wrong)s not right.")
    return (text if told["wrong"] else _("%(looked)s of %(horses)s in %(barn)s looked at.")) % told


def about_times(seen: BarnRound) -> str:
    """Return when rounds begin and end, and where what is entered now will stand."""
    when = _("Morning checks are what was seen until 12:00, evening stables what was seen after.")
    if seen.round is seen.now:
        return when
    if seen.now is Round.MORNING:
        return _("It is not 12:00 yet: what is entered now stands with the morning checks.")
    return _("It is past 12:00: what is entered now stands with evening stables.")


def known(one: Checked) -> list[str]:
    """Return what is known of a horse at a glance: what the vet allows, what it is treated with, what to mind."""
    vet = [restricted(one.restricted)] if one.restricted else []
    return [*vet, *map(treated, one.treatments), *(_("In the box: %(text)s") % {"text": said} for said in one.cautions)]


def restricted(held: Advised) -> str:
    """Return what the vet allows."""
    told = {"advice": str(ADVICE[held.finding.advice or "as_usual"])}
    if held.until is None:
        return _("Vet: %(advice)s until the vet says otherwise.") % told
    return _("Vet: %(advice)s until %(day)s.") % (told | {"day": date_format(held.until, "j F")})


def treated(one: Written) -> str:
    """Return what a horse is given today."""
    given = Treatment.kept_as(one.entry.values)
    return _("Treated today: %(product)s, %(quantity)s.") % {"product": given.product, "quantity": given.quantity}


def not_yet(one: Checked) -> str:
    """Return that nobody looked at a horse, empty where somebody did. What was measured is not what was seen."""
    if one.looked_at:
        return ""
    if one.measured:
        return _("Measured, not looked at yet.")
    return _("Not looked at yet.")


def other_round(seen: BarnRound, entries: Iterable[Written]) -> str:
    """Return what was entered in the day's other round, empty for nothing."""
    words = " ".join(dict.fromkeys(one.words for one in entries))
    if not words:
        return ""
    told = {"words": words}
    return (_("In the morning: %(words)s") if seen.round is Round.EVENING else _("In the evening: %(words)s")) % told


def phone_words() -> dict[str, Any]:
    """Return what the phone says by itself on a round, with {places} that it fills in."""
    return {
        "rounds": {which.value: str(title) for which, title in TITLES.items()},
        "titles": {kind.name: str(kind.title) for kind in KINDS.values()},
        "looked": sorted(LOOKED),
        "no_box": _("Without a box"),
        "here": _("{seen} of {horses} looked at on this phone."),
        "kept_at": _("{time}, kept on this phone"),
        "one_kept": _("{count} entry of yours is kept on this phone until there is signal."),
        "some_kept": _("{count} entries of yours are kept on this phone until there is signal."),
        "throw_away": _("Throw away"),
    }
