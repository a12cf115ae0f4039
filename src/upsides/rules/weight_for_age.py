"""Weight for age: what a horse receives, or carries, for its age on a day over a distance."""

from dataclasses import replace
from datetime import date
from math import isfinite
from typing import Final, Literal, cast

from upsides.errors import NotPublishedError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.age_scale import AgeScale, Cell, age_scale
from upsides.rules.jurisdictions import place_named
from upsides.rules.lookup import NONE, Overrides, candidates, in_force
from upsides.rules.rule import Allowance, Rule

TOPIC: Final = "weight for age"
SOUTHERN: Final = "southern-bred reduction"
SEXES: Final = {
    "male": "male",
    "colt": "male",
    "horse": "male",
    "gelding": "male",
    "ridgling": "male",
    "female": "female",
    "filly": "female",
    "mare": "female",
}


def weight_for_age(
    jurisdiction: str,
    on: date,
    distance_m: float,
    age: int,
    *,
    race_class: str = "open",
    sex: str = "male",
    bred: Literal["north", "south"] = "north",
    overrides: Overrides = NONE,
) -> Allowance:
    """Return the weight for age of one horse.

    The scales differ in shape, and the answer keeps it: an allowance in kg (Japan) or lb (Europe) taken off
    what a mature horse carries, or the weight itself (North America, Australia). The rules of one
    jurisdiction are asked in turn, a yard's own first, then published points, then tables; the first that has
    the cell answers. Where a jurisdiction has no scale at all the answer is nothing, and its rule says so.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        distance_m: distance in metres.
        age: official age in years.
        race_class: "open" or "below open" in Japan; "handicap" gives Hong Kong's two-year-olds theirs.
        sex: male or female, or the trade's word. Only Australia's points distinguish it; see `sex_allowance`.
        bred: "south" adds the reduction for a horse bred in the southern hemisphere, where one is published.
        overrides: the yard's own rules.

    Raises:
        UnreadableError: the distance is not above 0, or the sex or the class of race is no known word.
        NoRuleError: the jurisdiction has scales, but none on that day.
        NotPublishedError: the scale on that day has no value for the case.
    """
    cell = _cell(on, distance_m, age, race_class, sex)
    if not candidates(TOPIC, jurisdiction, overrides):
        return Allowance(0.0, "lb", no_scale(place_named(jurisdiction, overrides.places)))
    value, scale = _ask(TOPIC, jurisdiction, on, cell, overrides)
    base = Allowance(value, scale.unit, scale.rule, cast('Literal["allowance", "weight"]', scale.form))
    return base if bred == "north" else _with_reduction(jurisdiction, on, cell, overrides, base)


def southern_bred_reduction(
    jurisdiction: str, on: date, distance_m: float, age: int, *, overrides: Overrides = NONE
) -> Allowance:
    """Return what a horse bred in the southern hemisphere receives besides its weight for age.

    Raises:
        NoRuleError: no such rule is in force.
        NotPublishedError: the rule has no value for the case.
    """
    cell = _cell(on, distance_m, age)
    value, scale = _ask(SOUTHERN, jurisdiction, on, cell, overrides)
    return Allowance(value, scale.unit, scale.rule)


def first_value(scales: list[AgeScale], cell: Cell) -> tuple[float, AgeScale] | None:
    """Return the first value that any of the scales has for the cell, and the scale, or None."""
    for scale in scales:
        if (value := scale.value(cell)) is not None:
            return value, scale
    return None


def half_of(on: date) -> int:
    """Return the half month of a day: 0 for 1-15 January, 1 for the rest of January, up to 23."""
    return 2 * (on.month - 1) + (on.day > 15)


def sex_word(sex: str) -> str:
    """Return "male" or "female" for a word of the trade.

    Raises:
        UnreadableError: another word.
    """
    if sex.lower() not in SEXES:
        raise UnreadableError("sex", sex, ", ".join(SEXES))
    return SEXES[sex.lower()]


def check_class(scales: list[AgeScale], race_class: str) -> None:
    """Refuse a class of race that a scale which distinguishes classes does not know.

    Raises:
        UnreadableError: the class is unknown.
    """
    for scale in scales:
        if scale.classes and race_class not in scale.classes:
            raise UnreadableError(_("race class"), race_class, " or ".join(scale.classes))


def no_scale(place: str) -> Rule:
    """Return the rule that stands for the absence of any scale in a place."""
    return Rule(
        TOPIC,
        "No scale known",
        place,
        None,
        None,
        "None found",
        "low",
        f"No weight-for-age scale is known for {place}: nothing is allowed for age.",
    )


def _cell(on: date, distance_m: float, age: int, race_class: str = "", sex: str = "male") -> Cell:
    if not (isfinite(distance_m) and distance_m > 0):
        raise UnreadableError("distance", distance_m, _("1609.344 (metres, above 0)"))
    return Cell(half_of(on), distance_m, age, race_class, sex_word(sex))


def _ask(topic: str, jurisdiction: str, on: date, cell: Cell, overrides: Overrides) -> tuple[float, AgeScale]:
    scales = [age_scale(entry) for entry in in_force(topic, jurisdiction, on, overrides)]
    if topic == TOPIC:
        check_class(scales, cell.race_class)
    found = first_value(scales, cell)
    if found is None:
        place = place_named(jurisdiction, overrides.places)
        case = _(
            "{place} on {on}, {distance_m:g} m, age {age}, {sex}",
            place=place,
            on=on,
            distance_m=cell.distance_m,
            age=cell.age,
            sex=cell.sex,
        )
        raise NotPublishedError(topic, case, [scale.covers for scale in scales])
    return found


def _with_reduction(jurisdiction: str, on: date, cell: Cell, overrides: Overrides, base: Allowance) -> Allowance:
    if not candidates(SOUTHERN, jurisdiction, overrides):
        note = f"No reduction for a southern-bred horse is known here. {base.rule.note}"
        return replace(base, rule=replace(base.rule, note=note.strip()))
    more, scale = _ask(SOUTHERN, jurisdiction, on, cell, overrides)
    note = f"{more:g} {scale.unit} of it for a southern-bred horse ({scale.rule.name}). {base.rule.note}"
    return replace(base, value=base.value + more, rule=replace(base.rule, note=note.strip()))
