"""Chances in words: with their range, of which moment they are, never alone."""

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books import clock
from upsides.books.chances import RaceChance, Range
from upsides.books.queries.chance_answers import Worked
from upsides.placing import Money
from upsides.web.programme import words
from upsides.web.shell.templatetags.words import ordinal

LEAST: Final = 0.1
"""Per cent below which a chance is told as that."""
HALF_POUND: Final = 0.5
SURE: Final = 0.995
"""Chance of a run from which on it is taken as sure."""
NOT_YET: Final = gettext_lazy("It is worked out at night, and after an entry; nobody has worked it out yet.")
TOO_LATE: Final = gettext_lazy(
    "A step was not taken in time, so it can no longer get to the start and no chance is told."
)
TAKEN_OUT: Final = gettext_lazy("It was taken out, so no chance is told.")
NOT_NAMED: Final = gettext_lazy("The card does not name it, so it has no run as the card stands and no chance is told.")
NOTES: Final[dict[str, str | Promise]] = {
    "no trips": gettext_lazy("Nothing is learned of trips yet, so the trip counts for nothing in it."),
    "no draw": gettext_lazy("Nothing is learned of the draw yet, so stalls count for nothing in it."),
    "no weight": gettext_lazy("Its weight is not known, so weights count for nothing in it."),
    "not in library": gettext_lazy("The library has no run of it: what a horse of its kind is worth is taken."),
}


def chance(one: Range) -> str:
    """Return a chance with its range, e.g. 12 % (7 to 19)."""
    told = {name: _percent(value) for name, value in zip(("value", "low", "high"), one, strict=True)}
    return _("%(value)s\u00a0%% (%(low)s to %(high)s)") % told


def _percent(value: float) -> str:
    share = 100 * value
    if share < LEAST:
        return _("under %(least)s") % {"least": LEAST}
    return f"{share:.1f}" if share < 1 else f"{share:.0f}"


def rank(one: RaceChance) -> str:
    """Return where a horse stands among the runners, e.g. 3rd of 11 (1st to 6th)."""
    middle, low, high = (ordinal(round(value)) for value in one.rank)
    told = {"rank": middle, "low": low, "high": high, "size": f"{one.size[0]:.0f}"}
    return _("%(rank)s of %(size)s (%(low)s to %(high)s)") % told


def net(one: RaceChance) -> str:
    """Return what a horse is expected to earn after shares and fees; empty where that is not known."""
    return _sum(one.net, one.currency)


def earned(one: RaceChance) -> list[tuple[str, str]]:
    """Return line by line how what a horse is expected to earn comes about; nothing where no prize is stated."""
    if one.prize is None or not one.currency:
        return []
    taken = (1.0 - one.share) * one.prize
    lines = [(_prize_by(one), _sum(one.prize, one.currency))]
    if one.share < 1.0:
        told = {"share": f"{100 * (1.0 - one.share):.0f}"}
        lines.append((_("Less shares of trainer, rider and staff, %(share)s %%") % told, _sum(-taken, one.currency)))
    else:
        lines.append((_("No rule is known on shares; none are taken off"), "–"))
    if one.black_type:
        lines.append(
            (_("Black type, by the trainer's own number and the chance of it"), _sum(one.black_type, one.currency))
        )
    if one.fees is None:
        return [*lines, (_("Fees"), _("not stated"))]
    fees = (_("Less what it still costs to get there"), _sum(-one.fees, one.currency))
    return [*lines, fees, (_("To expect"), net(one))]


def _prize_by(one: RaceChance) -> str:
    if one.runs >= SURE:
        return _("Prize money, by its chances of places")
    return _("Prize money, by its chances of places and its chance of a run, %(runs)s\u00a0%%") % {
        "runs": _percent(one.runs)
    }


def net_of(amount: float | None, currency: str) -> str:
    """Return a sum; empty where it is not known."""
    return _sum(amount, currency)


def _sum(amount: float | None, currency: str) -> str:
    if amount is None or not currency:
        return ""
    sign = "−" if round(amount) < 0 else ""
    return f"{sign}{words.money(Money(abs(round(amount)), currency))}"


def of_horse(found: Mapping[str, Worked], code: str, horse: int) -> RaceChance | None:
    """Return a horse's chance in a race; None where it was not worked out."""
    worked = found.get(code)
    return worked.horses.get(horse) if worked else None


def worked_at(found: Worked) -> str:
    """Return when it was worked out, and from which results."""
    told = {"at": words.moment(found.at.astimezone(clock.place().zone)), "day": _day(found.fit)}
    if found.fit is None:
        return _("Worked out on %(at)s.") % told
    return _("Worked out on %(at)s, from results before %(day)s.") % told


def _day(when: date | None) -> str:
    return words.day(when) if when else ""


def shown(found: Worked | None, horse: int, weight: float | None = None) -> dict[str, Any]:
    """Return a chance for the page of one horse and one race; why there is none where there is none.

    Args:
        found: what was worked out of the race.
        horse: number of the horse.
        weight: what it would carry now, lb; told where it was worked out with another.
    """
    if found is not None and horse in found.out:
        return {"none": str(TAKEN_OUT)}
    if found is not None and horse in found.late:
        return {"none": str(TOO_LATE)}
    if found is not None and horse in found.unnamed:
        return {"none": str(NOT_NAMED)}
    if found is None or (not found.why and horse not in found.horses):
        return {"none": str(NOT_YET)}
    if found.why:
        return {"none": "", "why": found.why, "at": worked_at(found)}
    one = found.horses[horse]
    return {
        "win": chance(one.win),
        "place": chance(one.place),
        "first_four": chance(one.first_four),
        "rank": rank(one),
        "prize": _sum(one.prize, one.currency),
        "net": net(one),
        "at": worked_at(found),
        "field": _field(one),
        "draw": _draw(one),
        "other_weight": _other_weight(one, weight),
        "notes": [*against(one), *(str(NOTES.get(key, key)) for key in one.notes)],
        "one": one,
    }


def _field(one: RaceChance) -> str:
    size = {name: f"{value:.0f}" for name, value in zip(("middle", "low", "high"), one.size, strict=True)}
    if not one.races:
        return _("Against the runners of the card: %(middle)s with it.") % size
    size |= {"races": f"{one.races}"}
    return _("In a field of %(middle)s runners (%(low)s to %(high)s), expected from %(races)s races like it.") % size


def against(one: RaceChance) -> list[str]:
    """Return which rivals were met as themselves, ours or of the card, and which of the card were drawn."""
    told = []
    if one.known and one.races:
        names = {"names": get_text_list(list(one.known), _("and"))}
        told.append(_("Of ours these are in the race too and count as themselves: %(names)s.") % names)
    elif one.known:
        names = {"names": get_text_list(list(one.known), _("and"))}
        told.append(_("Of the card these are known to the library and count as themselves: %(names)s.") % names)
    if one.drawn:
        names = {"names": get_text_list(list(one.drawn), _("and"))}
        told.append(_("Not known which horses these are; fields of races like it stand for them: %(names)s.") % names)
    return told


def _draw(one: RaceChance) -> str:
    if one.spread is None:
        return ""
    if one.stall is not None:
        return _("Worked out from stall %(stall)s.") % {"stall": one.stall}
    return _("Before the draw the stall may be worth %(lb)s\u00a0lb either way.") % {"lb": f"{one.spread:.1f}"}


def _other_weight(one: RaceChance, weight: float | None) -> str:
    if one.weight is None or weight is None or abs(one.weight - weight) < HALF_POUND:
        return ""
    told = {"then": words.weight(one.weight, "lb"), "now": words.weight(weight, "lb")}
    return _("It was worked out at %(then)s; it would carry %(now)s now.") % told
