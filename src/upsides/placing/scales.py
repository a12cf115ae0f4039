"""Allowances by the authority's scales and figures, in the unit of a race."""

from collections.abc import Callable

from upsides.errors import NoRuleError, NotPublishedError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.placing.amounts import Amount, Unit
from upsides.placing.carried import Line
from upsides.placing.conditions.who import Terms, age_at, build_of
from upsides.placing.horse import Horse
from upsides.placing.race import Build, Race
from upsides.rules import Allowance, Overrides, Ruled, sex_allowance, weight_figure, weight_for_age

SINGLE_AGE = {2: "single-age weight, two", 3: "single-age weight, three or four", 4: "single-age weight, three or four"}


def figure(race: Race, terms: Terms, *kinds: str) -> Ruled | None:
    """Return the first figure of these kinds that is in force where the race is run, or None."""
    for kind in kinds:
        try:
            return weight_figure(race.jurisdiction, race.day, kind, overrides=race.rules(terms.yard))
        except NoRuleError:
            continue
    return None


def amount(value: float, unit: str) -> Amount:
    """Return a rule's figure as an amount."""
    return Amount(value, "kg" if unit == "kg" else "lb")


def oldest(ages: tuple[int | None, ...]) -> int:
    """Return the oldest age that a race takes, as far as weight for age goes: 5 stands for all above."""
    known = [age for age in ages if age is not None]
    return min(known, default=5) if len(known) == len(ages) and known else 5


def for_age(horse: Horse, race: Race, terms: Terms, age: int) -> Allowance:
    """Ask the scale of the place for one age.

    Raises:
        NotPublishedError: the scale has no value for the case, or the distance is not known.
        NoRuleError: no scale is in force on the day.
    """
    if race.distance_m is None:
        raise NotPublishedError(_("weight for age"), _("{race}: its distance is not known", race=race), ["distances"])
    return _asked(race, terms.yard, race.distance_m, age, sex="male", south=horse.bred_south)


def own_weight(horse: Horse, race: Race, terms: Terms) -> tuple[Allowance, bool]:
    """Return the scale's weight or allowance for a horse, and whether it holds its sex allowance already.

    Raises:
        NotPublishedError: the scale has no value for the case, or the distance is not known.
        NoRuleError: no scale is in force on the day.
    """
    age = age_at(horse, race, terms)
    plain = None
    try:
        plain = for_age(horse, race, terms, age)
    except NotPublishedError:
        if build_of(horse, race) is not Build.FEMALE:
            raise
    if build_of(horse, race) is Build.FEMALE and race.distance_m is not None:
        try:
            hers = _asked(race, terms.yard, race.distance_m, age, sex="female", south=horse.bred_south)
        except NotPublishedError:
            hers = None
        if hers is not None and (plain is None or hers.value != plain.value):
            return hers, True
    if plain is None:
        return for_age(horse, race, terms, age), False
    return plain, False


def _asked(race: Race, yard: Overrides, distance_m: float, age: int, *, sex: str, south: bool) -> Allowance:
    rules = race.rules(yard)

    def ask(race_class: str) -> Allowance:
        return weight_for_age(
            race.jurisdiction,
            race.day,
            distance_m,
            age,
            race_class=race_class,
            sex=sex,
            bred="south" if south else "north",
            overrides=rules,
        )

    return _in_class(ask, race)


def _in_class(ask: Callable[[str], Allowance], race: Race) -> Allowance:
    """Ask in the race's class; scales that tell open races from those below take an unknown class as open."""
    for word in (*(["handicap"] if race.handicap else []), race.race_class, "open"):
        try:
            return ask(word)
        except UnreadableError as error:
            if error.what != "race class":
                raise
    return ask("below open")


def younger_off(horse: Horse, race: Race, terms: Terms, oldest_age: int, unit: Unit) -> Line | None:
    """Return what a horse is allowed for its age against the oldest that the race takes; None where nothing.

    Raises:
        NotPublishedError: the scale has no value for the case.
        NoRuleError: no scale is in force on the day.
    """
    age = age_at(horse, race, terms)
    if age >= oldest_age:
        return None
    mine, theirs = (for_age(horse, race, terms, years) for years in (age, oldest_age))
    if mine.form == "weight":
        off = amount(theirs.value - mine.value, mine.unit)
    else:
        off = amount(mine.value - theirs.value, mine.unit)
    return Line("weight for age", -off.in_unit(unit), mine.rule) if off.value else None


def by_sex(horse: Horse, race: Race, terms: Terms, unit: Unit) -> Line | None:
    """Return the usual allowance of a filly or mare; None for males, and where no rule is known."""
    if build_of(horse, race) is not Build.FEMALE:
        return None
    try:
        age = age_at(horse, race, terms)
        found = sex_allowance(race.jurisdiction, race.day, age, overrides=race.rules(terms.yard))
    except (NoRuleError, NotPublishedError):
        return None
    return Line("sex allowance", -amount(found.value, found.unit).in_unit(unit), found.rule) if found.value else None


def single_age(race: Race, terms: Terms, ages: set[int]) -> tuple[Line, Unit] | None:
    """Return what races for one age only carry, where a rule says so."""
    if len(ages) != 1:
        return None
    kind = SINGLE_AGE.get(next(iter(ages)))
    found = figure(race, terms, kind) if kind else None
    if found is None:
        return None
    return Line("single-age weight", found.value, found.rule), "kg" if found.unit == "kg" else "lb"
