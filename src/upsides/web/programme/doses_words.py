"""Vaccinations of a runner in words: last dose, the next one due, what is kept free after a dose."""

from collections.abc import Iterable
from datetime import date

from django.utils.translation import gettext as _

from upsides.books.queries.race_day_doses import DoseOnTheDay
from upsides.web.medicine.words import day, disease


def doses_words(found: Iterable[DoseOnTheDay], on: date) -> list[tuple[str, str]]:
    """Return a sentence or two for each disease, each with the rule that it rests on; and last who decides.

    Args:
        found: of one runner.
        on: the day of its race.
    """
    words = [(_of(one, on), _by(one)) for one in found]
    if not words:
        words = [(_("No rule on vaccination is known here for this country."), "")]
    return [*words, (_("The passport and the authority's current code decide: read them, and ask the vet."), "")]


def _of(one: DoseOnTheDay, on: date) -> str:
    told = {"disease": disease(one.disease).capitalize()}
    if one.last is None:
        return _("%(disease)s: no dose is entered. Look in the passport.") % told
    parts = [_("%(disease)s: last dose %(last)s") % (told | {"last": day(one.last)})]
    if one.runs_until is None:
        parts.append(_("not in order on the day, as far as these rules know"))
    elif one.due is not None:
        parts.append(_("next due by %(due)s") % {"due": day(one.due)})
    return f"{'; '.join(parts)}. {_free(one, on)}"


def _free(one: DoseOnTheDay, on: date) -> str:
    """Return from when the rules let it race after its last dose, which proves nothing of the horse."""
    first = one.free_from
    if first is None:
        return _("How many days are kept free after a dose is not known here.")
    told = {"first": day(first)}
    if on < first:
        return _("After that dose it may not run before %(first)s.") % told
    return _("After that dose it may run from %(first)s on; that it may says nothing of how it is.") % told


def _by(one: DoseOnTheDay) -> str:
    return f"{one.off[0].rule.name}: {one.off[0].says}. {one.off[0].rule.source}." if one.off else ""
