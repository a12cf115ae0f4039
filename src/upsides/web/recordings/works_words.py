"""Works of a gallop and of a horse in sentences."""

from collections.abc import Sequence
from math import isfinite
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.queries.gallop_works import Season
from upsides.recordings.work import Work
from upsides.web.recordings import measures as m
from upsides.web.shell.templatetags.words import short_day

SOURCES: Final = {
    "tracker": gettext_lazy("by tracker"),
    "thumb": gettext_lazy("by thumb"),
    "ordered": gettext_lazy("not measured"),
}


def source_words(source: str) -> str:
    """Return by what a work was measured."""
    return str(SOURCES[source])


def about_gallop(name: str, season: Season) -> str:
    """Return how much worked on a gallop, and when last."""
    if season.page > 1:
        told = {"gallop": name, "works": len(season.works), "last": short_day(season.last)}
        return ngettext(
            "%(works)s earlier work on %(gallop)s, up to %(last)s.",
            "%(works)s earlier works on %(gallop)s, up to %(last)s.",
            len(season.works),
        ) % told  # fmt: skip
    if not season.works:
        return _("Nothing has been measured on %(gallop)s in the last twelve months.") % {"gallop": name}
    told = {"works": len(season.works), "gallop": name, "days": season.days, "horses": season.horses}
    if season.cut:
        return _("The last %(works)s works on %(gallop)s, by %(horses)s horses on %(days)s days.") % told
    words = ngettext(
        "%(works)s work on %(gallop)s in twelve months.",
        "%(works)s works on %(gallop)s in twelve months, by %(horses)s horses on %(days)s days.",
        len(season.works),
    )
    return words % told


def about_horse(name: str, works: Sequence[Work], fast_m: Sequence[float]) -> str:
    """Return how often a horse worked, how often fast, and by what that is known."""
    if not works:
        return _("Nothing is known of any canter or work of %(horse)s in the last twelve months.") % {"horse": name}
    measured = [one for one in works if one.source != "ordered"]
    told = {"horse": name, "works": len(works), "fast": len(fast_m), "measured": len(measured)}
    first = ngettext(
        "%(horse)s cantered or worked once in twelve months",
        "%(horse)s cantered or worked %(works)s times in twelve months, %(fast)s of them fast",
        len(works),
    )
    far = sum(metres for metres in fast_m if isfinite(metres))
    told |= {"first": first % told, "far": m.far(far)}
    if len(measured) == len(works):
        return _("%(first)s; each was measured.") % told
    words = ngettext(
        "%(first)s; %(measured)s was measured, of the others the order is known.",
        "%(first)s; %(measured)s were measured, of the others the order is known.",
        len(measured),
    )
    return words % told


def bar_words() -> tuple[str, str]:
    """Return the title of the bars and what they show."""
    return _("Distance by speed, by week"), _(
        "A bar a week, parted by speed: walk, trot and slow canter at the foot, fast work at the top in ink."
    )
