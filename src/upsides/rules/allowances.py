"""What a filly or mare receives, what a young rider claims, and single figures about weights."""

from collections.abc import Collection, Mapping
from datetime import date
from typing import Any, Final

from upsides.errors import NotPublishedError
from upsides.errors.wording import gettext as _
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Allowance, Ruled
from upsides.rules.weight_for_age import sex_word


def sex_allowance(
    jurisdiction: str, on: date, age: int, sex: str = "female", *, overrides: Overrides = NONE
) -> Allowance:
    """Return what a horse receives from males for its sex; nothing for a male.

    Raises:
        NoRuleError: nothing is in force.
        NotPublishedError: nothing is stated for the age.
        UnreadableError: the sex is no word of the trade.
    """
    entry = in_force("sex allowance", jurisdiction, on, overrides)[0]
    unit = entry.body["unit"]
    if sex_word(sex) == "male":
        return Allowance(0.0, unit, entry.rule)
    for row in entry.body["values"]:
        before = row.get("before", "99")
        if row["from_age"] <= age <= row.get("to_age", age) and on.strftime("%m-%d") < before:
            return Allowance(float(row["value"]), unit, entry.rule)
    raise NotPublishedError(
        _("sex allowance"), _("age {age} in {rule}", age=age, rule=entry.rule), [str(entry.body["values"])]
    )


def apprentice_claim(
    jurisdiction: str, on: date, wins: int, *, counted_win_on: date | None = None, overrides: Overrides = NONE
) -> Allowance:
    """Return what an apprentice claims after so many wins.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        wins: races won so far.
        counted_win_on: day of the win from which a last year of claiming runs (the fifth, in California).
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force.
        NotPublishedError: the claim depends on the day of that win, which was not given.
    """
    entry = in_force("apprentice claim", jurisdiction, on, overrides)[0]
    unit = entry.body["unit"]
    for step in entry.body["steps"]:
        if wins < step["wins_below"]:
            return Allowance(float(step["value"]), unit, entry.rule)
    after: Mapping[str, Any] | None = entry.body.get("after")
    if after is None:
        return Allowance(0.0, unit, entry.rule)
    if counted_win_on is None:
        case = _(
            "{wins} wins without the day of win {after} in {rule}", wins=wins, after=after["from_win"], rule=entry.rule
        )
        raise NotPublishedError(_("apprentice claim"), case, [_("give counted_win_on")])
    still = on < _years_later(counted_win_on, after["years"])
    return Allowance(float(after["value"]) if still else 0.0, unit, entry.rule)


def may_claim(
    jurisdiction: str, on: date, race_class: str, kinds: Collection[str] = (), *, overrides: Overrides = NONE
) -> Ruled:
    """Return 1 where a rider's allowance may be claimed in a race, else 0.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        race_class: its class, in small letters.
        kinds: what it is besides: handicap, selling ...
        overrides: the race's or yard's own rules.

    Raises:
        NoRuleError: no claims are known there.
    """
    entry = in_force("apprentice claim", jurisdiction, on, overrides)[0]
    body = entry.body
    if "classes" not in body or set(kinds) & set(body.get("kinds", ())):
        return Ruled(1.0, "yes or no", entry.rule)
    if "handicap" in kinds or "nursery" in kinds:
        return Ruled(float(race_class not in body.get("no_handicaps", ())), "yes or no", entry.rule)
    return Ruled(float(race_class in body["classes"]), "yes or no", entry.rule)


def weight_figure(jurisdiction: str, on: date, kind: str, *, overrides: Overrides = NONE) -> Ruled:
    """Return a single figure about weights by its kind, e.g. "minimum riding weight".

    The kinds are those of `data/weights.toml`: "kilograms for one pound", "minimum riding weight", "standard
    top weight", "equipment not in the published weight", "handicap top weight", "handicap minimum weight",
    "weight of a rating point", and others of single jurisdictions.

    Raises:
        NoRuleError: no figure of that kind is in force.
    """
    entry = in_force("weights", jurisdiction, on, overrides, lambda body: body["kind"] == kind)[0]
    return Ruled(float(entry.body["value"]), entry.body["unit"], entry.rule)


_LEAP_DAY: Final = (2, 29)


def _years_later(day: date, years: int) -> date:
    if (day.month, day.day) == _LEAP_DAY:
        return date(day.year + years, 3, 1)
    return day.replace(year=day.year + years)
