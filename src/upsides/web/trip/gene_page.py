"""Gene tests of a horse and its parents, ready for their templates."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.diary.gene import SITES
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.genes import GeneFound, OfAnimal, gene_tests, gene_tests_of
from upsides.books.queries.moments import Moment


@dataclass(frozen=True, slots=True)
class Told:
    """The tests of one animal.

    Args:
        whom: who was tested.
        tests: each one's row in the diary, what was found, and when.
        disagree: that they contradict each other, as a question; empty where they do not.
    """

    whom: str
    tests: list[tuple[int, str, date]]
    disagree: str


def gene_page(horse: Horse, moment: Moment) -> dict[str, Any]:
    """Return what the page about a horse's gene tests shows."""
    found = gene_tests_of(horse, gene_tests(moment), moments.rows(Horse, moment))
    return {"horse": horse, "tests": about_tests(found), "sentence": _sentence(horse, found)}


def _sentence(horse: Horse, found: Sequence[OfAnimal]) -> str:
    """Return what is known of a horse's own genotype."""
    told = {"horse": horse.name}
    if any(one.disagree for one in found):
        return _("Two tests contradict each other.")
    if own := next((one for one in found if one.whom == "horse"), None):
        return _("%(horse)s was tested: %(genotype)s.") % (told | {"genotype": own.tests[-1].test.genotype})
    if found:
        return _("%(horse)s was not tested itself; what was found in its parents says something of it.") % told
    return _("Neither %(horse)s nor a parent of it was tested.") % told


def about_tests(found: Sequence[OfAnimal]) -> list[Told]:
    """Return the tests of each animal in words."""
    if not found:
        return []
    zone = clock.place().zone
    return [
        Told(whom_words(one), [(t.entry, _found(t), t.when.astimezone(zone).date()) for t in one.tests], _query(one))
        for one in found
    ]


def whom_words(one: OfAnimal) -> str:
    """Return who was tested."""
    told = {"name": one.name}
    if one.whom == "sire":
        return _("Its sire, %(name)s") % told
    return _("Its dam, %(name)s") % told if one.whom == "dam" else _("Itself")


def _found(one: GeneFound) -> str:
    told = {"genotype": one.test.genotype, "site": SITES[one.test.site], "laboratory": one.test.laboratory}
    if one.test.laboratory:
        return _("%(genotype)s, by %(site)s; %(laboratory)s") % told
    return _("%(genotype)s, by %(site)s") % told


def _query(one: OfAnimal) -> str:
    if not one.disagree:
        return ""
    kinds = sorted({each.test.genotype for each in one.tests})
    told = {"found": ", ".join(kinds)}
    return _("Which is right? These tests disagree (%(found)s). Until one is withdrawn, both are doubted.") % told
