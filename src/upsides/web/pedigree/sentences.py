"""The sentences of a pedigree's page: the answer first."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from upsides.books.queries.pedigree import GENERATIONS, Printed

SIRE, DAM, DAM_SIRE = 1, 2, 5
"""Where they stand among the places."""


def percent(share: float) -> str:
    """Return a share in per cent, to a tenth."""
    return _("%(share)s\u00a0%%") % {"share": f"{100 * share:.1f}"}


def letter(number: int) -> str:
    """Return a, b, ... z, aa, ab and on."""
    alphabet = pgettext("letters that mark ancestors, in order", "abcdefghijklmnopqrstuvwxyz")
    above, place = divmod(number, len(alphabet))
    return (letter(above - 1) if above else "") + alphabet[place]


def where(places: Sequence[tuple[int, bool]]) -> str:
    """Return where an ancestor stands in the trade's notation: 3x4 for one in each half, else 5S x 5S x 4D."""
    if [in_sires_half for _generation, in_sires_half in places] == [True, False]:
        return _("%(sires)sx%(dams)s") % {"sires": places[0][0], "dams": places[1][0]}
    halves = {True: _("%(generation)sS"), False: _("%(generation)sD")}
    return _(" x ").join(halves[in_sires_half] % {"generation": generation} for generation, in_sires_half in places)


def about_pedigree(printed: Printed) -> str:
    """Return whose foal a horse is, how inbred, and how far that is known."""
    return f"{_parents(printed)} {_inbreeding(printed)}" if printed.known[0] else _parents(printed)


def _parents(printed: Printed) -> str:
    sire, dam, dam_sire = (printed.places[place] for place in (SIRE, DAM, DAM_SIRE))
    told = {"sire": sire and sire.name, "dam": dam and dam.name, "dam_sire": dam_sire and dam_sire.name}
    if sire and dam and dam_sire:
        return _("By %(sire)s out of %(dam)s, by %(dam_sire)s.") % told
    if sire and dam:
        return _("By %(sire)s out of %(dam)s.") % told
    if sire:
        return _("By %(sire)s; its dam is not known.") % told
    if dam and dam_sire:
        return _("Out of %(dam)s, by %(dam_sire)s; its own sire is not known.") % told
    if dam:
        return _("Out of %(dam)s; its sire is not known.") % told
    return _("Neither its sire nor its dam is known.")


def _inbreeding(printed: Printed) -> str:
    told = {"share": percent(printed.f)}
    if printed.full == GENERATIONS:
        return _("Inbreeding %(share)s over five generations, all of them fully known.") % told
    if printed.full > 1:
        words = {2: _("two"), 3: _("three"), 4: _("four")}
        told["count"] = words[printed.full]
        return _("Inbreeding %(share)s over five generations, of which %(count)s are fully known.") % told
    if printed.f > 0:
        return _("Inbreeding at least %(share)s; much of five generations is not known.") % told
    return _("Too little is known of its ancestors to tell its inbreeding.")


def about_page(printed: Printed) -> str:
    """Return the inbreeding over five generations, or that it cannot be told."""
    return percent(printed.f) if printed.full > 1 or printed.f > 0 else _("cannot be told")


def about_known(printed: Printed) -> str:
    """Return how many ancestors are known, as far back as any is."""
    told = {f"of_{g}": count for g, count in enumerate(printed.known, start=1)}
    words = (
        _("%(of_1)s of 2 parents"),
        _("%(of_1)s of 2 parents and %(of_2)s of 4 grandparents"),
        _("%(of_1)s of 2 parents, %(of_2)s of 4 grandparents, and behind them %(of_3)s of 8"),
        _("%(of_1)s of 2 parents, %(of_2)s of 4 grandparents, and behind them %(of_3)s of 8 and %(of_4)s of 16"),
        _(
            "%(of_1)s of 2 parents, %(of_2)s of 4 grandparents, and behind them %(of_3)s of 8, %(of_4)s of 16 and "
            "%(of_5)s of 32"
        ),
    )
    return words[max(g for g, count in enumerate(printed.known) if count or g == 0)] % told


def about_rest(printed: Printed) -> str:
    """Return what all that is known says, beyond the page too; empty where nothing lies beyond it."""
    if printed.longest <= GENERATIONS:
        return ""
    told = {"share": percent(printed.f_of_all), "count": printed.longest, "worth": f"{printed.equivalent:.1f}"}
    return (
        ngettext(
            "%(share)s; its longest line goes back %(count)s generation, and all that is known is worth %(worth)s "
            "complete ones",
            "%(share)s; its longest line goes back %(count)s generations, and all that is known is worth %(worth)s "
            "complete ones",
            printed.longest,
        )
        % told
    )
