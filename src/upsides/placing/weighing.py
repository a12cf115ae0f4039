"""What a horse would carry in a race: by its mark in a handicap, else by its conditions and the scales of the place."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final, TypeVar

from upsides.errors import NoRuleError, NotPublishedError, WeightUnknownError
from upsides.errors.wording import gettext as _
from upsides.placing.amounts import Amount, Money, Unit
from upsides.placing.answers import Says
from upsides.placing.carried import Carried, Line
from upsides.placing.conditions.card import NotPublished
from upsides.placing.conditions.cursor import compiled
from upsides.placing.conditions.weights import (
    AddUp,
    Allowed,
    Carries,
    ForAge,
    ForSex,
    LeastWeight,
    MostPenalty,
    Penalty,
    RidersClaims,
    TopWeight,
    WeightsMoved,
)
from upsides.placing.conditions.who import (
    PLAIN,
    Ages,
    Benchmark,
    Builds,
    Claimable,
    Rated,
    SiresPrice,
    Terms,
    age_at,
    build_of,
)
from upsides.placing.horse import Horse
from upsides.placing.kinds import BLACK_TYPE
from upsides.placing.race import Build, Race
from upsides.placing.race_rules import Stated, conditions_of, stated
from upsides.placing.scales import amount, by_sex, figure, oldest, own_weight, single_age, younger_off
from upsides.rules import Rule, apprentice_claim, may_claim

Kind = TypeVar("Kind")
BASE: Final = (Carries, ForAge, ForSex, TopWeight, LeastWeight, WeightsMoved, MostPenalty, AddUp, RidersClaims)
"""Lines that every weight of a race rests on; a doubtful one leaves it open."""
ON_WEIGHT: Final = r"\d\s*(?:lbs?|kgs?|st|pounds|kilos?)\b|\ballow|\bpenalt|\bweight|\bcarry"


@dataclass(frozen=True, slots=True)
class Rider:
    """A rider who may claim an allowance.

    Attributes:
        winners: races won so far.
        counted_win_on: day of the win from which a last year of claiming runs, where the place has such a year.
    """

    winners: int
    counted_win_on: date | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """What a weight is asked for: horse, race, its rules, and what is chosen."""

    horse: Horse
    race: Race
    terms: Terms
    rules: tuple[Stated, ...]
    highest: float | None
    price: Money | None

    def of(self, kind: type[Kind]) -> list[tuple[Kind, Stated]]:
        """Return the race's rules of one kind."""
        return [(one.value, one) for one in self.rules if isinstance(one.value, kind)]

    def takes(self) -> tuple[int | None, ...]:
        """Return the highest age of each rule on ages; None where it has none."""
        return tuple(rule.ages.oldest for rule, _ in self.of(Ages))

    def unknown(self, reason: str, remedy: str) -> WeightUnknownError:
        """Return the refusal that the weight cannot be told."""
        return WeightUnknownError(self.horse.name, str(self.race), reason, remedy)


def weigh(
    horse: Horse,
    race: Race,
    terms: Terms = PLAIN,
    *,
    rider: Rider | None = None,
    highest: float | None = None,
    price: Money | None = None,
) -> Carried:
    """Return what a horse would carry in a race.

    Args:
        horse: the horse as it stands; whether the race takes it is `eligible`'s question.
        race: the race.
        terms: the yard's own rules; rates between currencies.
        rider: a rider who may claim.
        highest: the highest mark among those that run, where weights are raised until it carries the top weight; needed
            in a handicap without a band.
        price: the price at which it may be claimed, where the race lets one choose.

    Raises:
        WeightUnknownError: there is nothing to count from: no mark, no top weight, no weight in the conditions and no
            scale of weights.
        CurrencyUnknownError: `price` is in another currency than the race.
    """
    asked = Asked(horse, race, terms, stated(race, terms), highest, price)
    missing = list(_not_read(asked))
    base, unit, floor = _handicap(asked, missing) if race.handicap else _by_conditions(asked, missing)
    lines = [*base, *_moved(asked, unit), *_by_price(asked, unit)]
    sure, unsure = _on_top(asked, unit)
    least = _floor(asked, unit, floor)
    claim = _claim(asked, rider, unit)
    own = next((rule.weight for rule, _ in asked.of(NotPublished)), None)
    equipment = None if own else figure(race, terms, "equipment not in the published weight")
    added = own or (amount(equipment.value, equipment.unit) if equipment else None)
    extra = added.in_unit(unit) if added else 0.0
    return Carried(
        unit,
        (*lines, *sure),
        least,
        tuple(unsure),
        tuple(missing),
        claim,
        extra,
        equipment.rule if equipment else None,
    )


def _not_read(asked: Asked) -> Iterator[str]:
    """Yield why the wording leaves the weight open: lines beside unread words, and unread words on weight."""
    for one in asked.rules:
        if one.doubtful and isinstance(one.value, BASE):
            yield f'words beside "{one.wording}" were not read'
    for words in conditions_of(asked.race).unread:
        if compiled(ON_WEIGHT).search(words):
            yield f'"{words}" was not read'


def _handicap(asked: Asked, missing: list[str]) -> tuple[list[Line], Unit, float | None]:
    """Return the lines by mark and age, the unit, and the floor that the band sets."""
    race, terms = asked.race, asked.terms
    mark = asked.horse.mark(race.day, race.surface or "")
    if mark is None and (marks := asked.horse.marks_on(race.day, race.surface or "")):
        turf, synthetic = (_("none") if one is None else f"{one.value:g}" for one in marks)
        raise asked.unknown(
            _(
                "the race's surface is not stated, and its mark is {turf} on turf and {synthetic} on all-weather",
                turf=turf,
                synthetic=synthetic,
            ),
            _("take the surface from the programme"),
        )
    if mark is None:
        raise asked.unknown(_("it has no mark on that day"), _("see after how many runs it gets one"))
    top, top_rule, wording = _top(asked)
    band = max((rule for rule, _ in asked.of(Rated)), key=lambda rule: rule.low or 0.0, default=Rated())
    about = next((rule.mark for rule, _ in asked.of(Benchmark)), None)
    high = asked.highest if asked.highest is not None else band.high if band.high is not None else about
    if high is None:
        raise asked.unknown(
            _("the race has no band, and the highest mark among the runners is not known"), _("give it")
        )
    point = figure(race, terms, "weight of a rating point")
    per_point = amount(point.value, point.unit).in_unit(top.unit) if point else Amount(1.0).in_unit(top.unit)
    lines = [
        Line("top weight", top.value, top_rule, wording),
        Line("below the highest mark", (mark.value - high) * per_point, point.rule if point else None),
    ]
    younger = _younger(asked, top.unit, missing, asked.takes())
    floor = None if not band.low else top.value - ((band.high or high) - band.low) * per_point
    if floor is not None and younger:
        floor += younger.value
    return [*lines, *([younger] if younger else [])], top.unit, floor


def _top(asked: Asked) -> tuple[Amount, Rule | None, str]:
    stated_top = asked.of(TopWeight)
    if stated_top:
        exact = [(rule, where) for rule, where in stated_top if not rule.at_least]
        rule, where = (exact or stated_top)[-1]
        return rule.weight, None, where.wording
    found = figure(asked.race, asked.terms, "handicap top weight", "standard top weight")
    if found is None:
        raise asked.unknown(
            _("the top weight is not stated, and no usual one is known"), _("take it from the conditions")
        )
    return amount(found.value, found.unit), found.rule, ""


def _younger(asked: Asked, unit: Unit, missing: list[str], takes: tuple[int | None, ...]) -> Line | None:
    """Return what the horse is allowed for its age against the oldest that the race takes."""
    try:
        return younger_off(asked.horse, asked.race, asked.terms, oldest(takes), unit)
    except (NotPublishedError, NoRuleError) as error:
        missing.append(str(error))
        return None


def _by_conditions(asked: Asked, missing: list[str]) -> tuple[list[Line], Unit, float | None]:
    """Return the base with what age and sex take off, and the unit."""
    found = _stated_base(asked)
    if found is not None:
        carries, where = found
        unit = carries.weight.unit
        lines = [Line("weight", carries.weight.value, None, where.wording)]
        if asked.of(ForAge):
            takes = asked.takes() if carries.ages is None else (carries.ages.oldest,)
            lines += [line for line in [_younger(asked, unit, missing, takes)] if line]
        if _usual_sex(asked, carries):
            lines += [line for line in [by_sex(asked.horse, asked.race, asked.terms, unit)] if line]
        return lines, unit, None
    return _by_scale(asked)


def _stated_base(asked: Asked) -> tuple[Carries, Stated] | None:
    """Return the weight in the conditions that is this horse's: the one that says most about it."""
    age, build = age_at(asked.horse, asked.race, asked.terms), build_of(asked.horse, asked.race)
    fitting = [
        (carries, where)
        for carries, where in asked.of(Carries)
        if (carries.ages is None or age in carries.ages) and (carries.builds is None or build in carries.builds)
    ]
    return max(fitting, key=lambda one: (one[0].ages is not None) + (one[0].builds is not None), default=None)


def _usual_sex(asked: Asked, carries: Carries) -> bool:
    """Return whether the usual allowance for fillies and mares counts beside a stated weight."""
    if carries.builds is not None or not _both_sexes(asked) or any(rule.builds for rule, _ in asked.of(Allowed)):
        return False
    return bool(asked.of(ForSex)) or asked.race.race_class in BLACK_TYPE


def _both_sexes(asked: Asked) -> bool:
    return all(rule.builds - {Build.FEMALE} for rule, _ in asked.of(Builds))


def _by_scale(asked: Asked) -> tuple[list[Line], Unit, float | None]:
    """Return the weight that a single-age figure or the scale of the place gives outright."""
    ages = {rule.ages.youngest for rule, _ in asked.of(Ages) if rule.ages.youngest == rule.ages.oldest}
    only = single_age(asked.race, asked.terms, ages)
    if only is not None:
        line, unit, holds_sex = only[0], only[1], False
    else:
        try:
            weight, holds_sex = own_weight(asked.horse, asked.race, asked.terms)
        except (NotPublishedError, NoRuleError) as error:
            raise asked.unknown(str(error), _("take the weight from the conditions")) from error
        if weight.form != "weight":
            raise asked.unknown(_("its conditions state no weight"), _("take the weight from the conditions"))
        line, unit = Line("scale weight", weight.value, weight.rule), "kg" if weight.unit == "kg" else "lb"
    lines = [line]
    if not holds_sex and _both_sexes(asked) and not any(rule.builds for rule, _ in asked.of(Allowed)):
        lines += [found for found in [by_sex(asked.horse, asked.race, asked.terms, unit)] if found]
    return lines, unit, None


def _moved(asked: Asked, unit: Unit) -> Iterator[Line]:
    for rule, where in asked.of(WeightsMoved):
        yield Line("weights moved", rule.by.in_unit(unit), None, where.wording)


def _by_price(asked: Asked, unit: Unit) -> Iterator[Line]:
    """Yield what a lower claiming price takes off."""
    for rule, where in asked.of(Claimable):
        if asked.price is None or rule.off is None or rule.each is None:
            continue
        lowest = rule.lowest or rule.price
        chosen = max(asked.price.told_in(rule.price.currency), lowest.amount)
        steps = max(0.0, (rule.price.amount - chosen) // rule.each.amount)
        if steps:
            yield Line("claiming price", -steps * rule.off.in_unit(unit), None, where.wording)


def _on_top(asked: Asked, unit: Unit) -> tuple[list[Line], list[Line]]:
    """Return penalties and allowances that count, and those that may."""
    adds = {rule.what for rule, _ in asked.of(AddUp)}
    penalties = [(_penalty(rule, asked, unit, where), where) for rule, where in asked.of(Penalty)]
    records = [(_allowed(rule, asked, unit, where), where) for rule, where in asked.of(Allowed) if rule.record]
    plain = [(_allowed(rule, asked, unit, where), where) for rule, where in asked.of(Allowed) if not rule.record]
    sure, unsure = _chosen(penalties, 1.0, every="penalties" in adds)
    if sure and (caps := asked.of(MostPenalty)):
        sure = _capped(sure, min(rule.weight.in_unit(unit) for rule, _ in caps))
    for lines, every in ((records, "allowances" in adds), (plain, True)):
        more, doubted = _chosen(lines, -1.0, every=every)
        sure, unsure = sure + more, unsure + doubted
    return sure, unsure


Answer = tuple[Line, Says] | None


def _penalty(rule: Penalty, asked: Asked, unit: Unit, where: Stated) -> Answer:
    if rule.ages is not None and age_at(asked.horse, asked.race, asked.terms) not in rule.ages:
        return None
    sure, _ = rule.record.count(asked.horse, asked.race, asked.terms)
    says = rule.record.says(asked.horse, asked.race, asked.terms).says
    times = max(1, sure) if rule.each else 1
    return Line("penalty", times * rule.on.in_unit(unit), None, where.wording), says


def _allowed(rule: Allowed, asked: Asked, unit: Unit, where: Stated) -> Answer:
    horse, race, terms = asked.horse, asked.race, asked.terms
    if rule.ages is not None and age_at(horse, race, terms) not in rule.ages:
        return None
    if rule.builds is not None and (build_of(horse, race) not in rule.builds or not _both_sexes(asked)):
        return None
    says = rule.record.says(horse, race, terms).says if rule.record else Says.YES
    if rule.foaled is not None:
        says = rule.foaled.says(horse, race, terms).says
    if rule.sire_price is not None:
        says = SiresPrice(rule.sire_price).says(horse, race, terms).says
    return Line("allowance", -rule.off.in_unit(unit), None, where.wording), says


def _chosen(found: list[tuple[Answer, Stated]], sign: float, *, every: bool) -> tuple[list[Line], list[Line]]:
    """Return the greatest of the lines that count, or every one; and those that may count and would be greater."""
    answers = [(answer[0], answer[1], where.doubtful) for answer, where in found if answer is not None]
    sure = [line for line, says, doubtful in answers if says is Says.YES and not doubtful]
    may = [line for line, says, doubtful in answers if says is Says.UNKNOWN or (says is Says.YES and doubtful)]
    if every or not sure:
        return sure, may
    best = max(sure, key=lambda line: sign * line.value)
    return [best], [line for line in may if sign * line.value > sign * best.value]


def _capped(lines: list[Line], most: float) -> list[Line]:
    over = sum(line.value for line in lines) - most
    return [*lines, Line("penalties at most", -over)] if over > 0 else lines


def _floor(asked: Asked, unit: Unit, band: float | None) -> float | None:
    """Return the weight below which none is set."""
    least = [rule.weight.in_unit(unit) for rule, _ in asked.of(LeastWeight)]
    if not least:
        kinds = ["handicap minimum weight"] if asked.race.handicap else _assigned(asked)
        usual = figure(asked.race, asked.terms, *kinds, "minimum riding weight")
        least = [amount(usual.value, usual.unit).in_unit(unit)] if usual else []
    there = [*least, *([band] if band is not None else [])]
    return max(there, default=None)


def _assigned(asked: Asked) -> list[str]:
    """Return the kinds of figure that hold for the least weight assigned outside handicaps."""
    race, takes = asked.race, [rule.ages for rule, _ in asked.of(Ages)]
    three = age_at(asked.horse, race, asked.terms) == 3 and any(
        ages.youngest <= 3 < (ages.oldest or 99) for ages in takes
    )
    before = race.day.month <= 8
    single = any(ages.youngest == ages.oldest for ages in takes)
    kinds = ["minimum assigned weight, three against older"] if three and before else []
    return [*kinds, *(["single-age minimum weight"] if single else []), "minimum assigned weight"]


def _claim(asked: Asked, rider: Rider | None, unit: Unit) -> Line | None:
    """Return what the rider takes off, where it may be claimed."""
    if rider is None or any(not rule.may for rule, _ in asked.of(RidersClaims)):
        return None
    race, rules = asked.race, asked.race.rules(asked.terms.yard)
    said = bool(asked.of(RidersClaims))
    try:
        if not said and not may_claim(race.jurisdiction, race.day, race.race_class, race.kinds, overrides=rules).value:
            return None
        found = apprentice_claim(
            race.jurisdiction, race.day, rider.winners, counted_win_on=rider.counted_win_on, overrides=rules
        )
    except (NoRuleError, NotPublishedError):
        return None
    value = amount(found.value, found.unit).in_unit(unit)
    return Line("rider's claim", -value, found.rule) if value else None
