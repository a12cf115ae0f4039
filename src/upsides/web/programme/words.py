"""Values of races to come in words."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Final
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.placing import Build, Carried, Deadline, Money, Race, Stage
from upsides.placing.amounts import Unit
from upsides.trade.age import AgeRange
from upsides.trade.weight import Weight
from upsides.web.shell.templatetags.words import metres, surface

STAGES: Final[dict[Stage, str | Promise]] = {
    Stage.ENTER: gettext_lazy("Enter"),
    Stage.CONFIRM: gettext_lazy("Confirm"),
    Stage.SUPPLEMENT: gettext_lazy("Enter late"),
    Stage.DECLARE: gettext_lazy("Declare"),
    Stage.WITHDRAW: gettext_lazy("Take out"),
}
BUILDS: Final[dict[Build, str | Promise]] = {
    Build.ENTIRE: gettext_lazy("entire"),
    Build.GELDING: gettext_lazy("gelding"),
    Build.FEMALE: gettext_lazy("filly or mare"),
}
KINDS: Final[dict[str, str | Promise]] = {
    "handicap": gettext_lazy("handicap"),
    "nursery": gettext_lazy("nursery"),
    "maiden": gettext_lazy("maiden"),
    "novice": gettext_lazy("novice"),
    "claiming": gettext_lazy("claiming race"),
    "selling": gettext_lazy("selling race"),
    "stakes": gettext_lazy("stakes"),
}
STONES: Final = 84
"""Pounds from which a weight is written in stones."""


def day(when: date) -> str:
    """Return a day as Wed 8 July, with no break in it."""
    return date_format(when, "D j F").replace(" ", "\u00a0")


def long_day(when: date) -> str:
    """Return a day as Wednesday 8 July 2026."""
    return date_format(when, "l j F Y")


def moment(when: datetime) -> str:
    """Return a moment by its own clock as Wed 8 July, 10:00."""
    return f"{day(when.date())}, {when:%H:%M}"


def at_course(one: Deadline, zone: str = "") -> str:
    """Return a deadline by the course's clock, with the name of that clock's time where the yard's is another."""
    local = one.local
    other = bool(zone) and bool(one.zone) and local.utcoffset() != one.at.astimezone(ZoneInfo(zone)).utcoffset()
    return f"{moment(local)} ({local.tzname()})" if other else moment(local)


def money(sum_: Money | None) -> str:
    """Return a sum as 6,500 GBP; a dash for none."""
    return "–" if sum_ is None else str(sum_).replace(" ", "\u00a0")


def sums(found: Iterable[Money]) -> str:
    """Return sums in several currencies, e.g. "45 GBP and 60 EUR"; "nothing" for none."""
    return get_text_list([money(one) for one in found], _("and")) or _("nothing")


def weight(value: float, unit: Unit) -> str:
    """Return a weight as 9-7, or 57.5 kg; what is off or on by a few pounds as 3 lb."""
    if unit == "kg":
        return _("%(value)s\u00a0kg") % {"value": f"{value:g}"}
    if value >= STONES and value == int(value):
        return Weight.from_stones(*divmod(int(value), 14)).text("british")
    return _("%(value)s\u00a0lb") % {"value": f"{value:g}"}


def carried_words(one: Carried | None) -> str:
    """Return what a horse would carry, e.g. 9-7, or "9-7 or more" where lines may come on top; a dash for none."""
    if one is None:
        return "–"
    told = weight(one.published, one.unit)
    if one.settled:
        return told
    return _("%(weight)s, not settled") % {"weight": told}


def ages(found: AgeRange | None) -> str:
    """Return the ages of a race: two-year-olds, three and older; empty for none."""
    if found is None:
        return ""
    low, high = found.youngest, found.oldest
    if low == high:
        return ngettext("%(age)s year old", "%(age)s years old", low or 0) % {"age": low}
    if high is None:
        return _("%(age)s years and older") % {"age": low}
    return _("%(low)s to %(high)s years old") % {"low": low, "high": high}


def kind(race: Race) -> str:
    """Return what kind of race it is and of what class, e.g. "handicap, class 4, marks 66 to 82"."""
    parts = [str(words) for key, words in KINDS.items() if key in race.kinds][:1]
    if race.race_class:
        parts.append(_("class %(name)s") % {"name": race.race_class} if race.race_class.isdigit() else race.race_class)
    low, high = race.band or (None, None)
    if high is not None:
        told = {"low": f"{low or 0:g}", "high": f"{high:g}"}
        parts.append(_("marks %(low)s to %(high)s") % told if low else _("marks to %(high)s") % told)
    return ", ".join([*parts, *([ages(race.ages)] if race.ages else [])])


def trip(race: Race) -> str:
    """Return over what a race is run, and on what."""
    far, on = metres(race.distance_m), surface(race.surface) if race.surface else ""
    return _("%(far)s on %(surface)s") % {"far": far, "surface": on} if on else far


def off(race: Race) -> str:
    """Return when a race is off by the course's clock; a dash where that is not known."""
    if race.off is None:
        return "–"
    return f"{(race.off.astimezone(race.clock) if race.clock else race.off):%H:%M}"


def titled(race: Race) -> str:
    """Return what a race is called."""
    if race.title:
        return race.title
    return _("Race %(number)s") % {"number": race.number} if race.number else _("Race without a name")
