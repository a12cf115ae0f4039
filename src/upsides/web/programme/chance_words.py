"""Chances in words: with their range, never alone."""

from typing import TYPE_CHECKING, Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.queries.race_chances import Told
from upsides.web.programme.words import money

if TYPE_CHECKING:
    from upsides.placing.chance import Chance

LEAST: Final = 0.1
"""Per cent below which a chance is told as that."""
NOTES: Final[dict[str, str | Promise]] = {
    "no trips": gettext_lazy("Nothing is learned of trips yet, so the trip counts for nothing in it."),
    "no draw": gettext_lazy("Nothing is learned of the draw yet, so stalls count for nothing in it."),
    "no weight": gettext_lazy("Its weight is not known, so weights count for nothing in it."),
    "not in library": gettext_lazy("The library has no run of it: what a horse of its kind is worth is taken."),
}


def chance(one: "Chance") -> str:
    """Return a chance with its range, e.g. 12 % (7 to 19)."""
    told = {name: _percent(value) for name, value in (("value", one.value), ("low", one.low), ("high", one.high))}
    return _("%(value)s\u00a0%% (%(low)s to %(high)s)") % told


def _percent(value: float) -> str:
    share = 100 * value
    if share < LEAST:
        return _("under %(least)s") % {"least": LEAST}
    return f"{share:.1f}" if share < 1 else f"{share:.0f}"


def short(told: Told | None) -> str:
    """Return the chance to win with its range, a dash for none."""
    return chance(told.chances.win) if told else "–"


def shown(told: Told | None, reason: str = "") -> dict[str, Any]:
    """Return a chance for the page of one horse and one race; why there is none where there is none."""
    if told is None:
        return {"none": reason}
    found = told.chances
    middle, low, high = found.field_size
    field = {"middle": f"{middle:.0f}", "low": f"{low:.0f}", "high": f"{high:.0f}", "races": found.expected}
    draw = found.draw
    return {
        "win": chance(found.win),
        "place": chance(found.place),
        "earns": money(told.earns) if told.earns else "",
        "field": _("Against a field of %(middle)s rivals (%(low)s to %(high)s), expected from %(races)s races like it.")
        % field,
        "draw": _("Before the draw the stall may be worth %(lb)s\u00a0lb either way.") % {"lb": f"{draw.spread_lb:.1f}"}
        if draw
        else "",
        "notes": [str(NOTES.get(key, key)) for key in found.notes],
    }
