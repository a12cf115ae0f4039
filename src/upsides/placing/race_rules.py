"""The rules of one race: what its columns say and what its wording says, and whether the two can hold together."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from itertools import combinations
from typing import Final

from upsides.errors import ConditionsClashError
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined
from upsides.placing.amounts import Amount
from upsides.placing.conditions.card import OfClass, Over, Pays, SaidBy
from upsides.placing.conditions.origins import Novices
from upsides.placing.conditions.reading import Conditions, Value, read_conditions
from upsides.placing.conditions.weights import Allowed, Carries, LeastWeight, Penalty, TopWeight
from upsides.placing.conditions.who import Ages, Builds, Rated, Record, Terms
from upsides.placing.naming import class_named
from upsides.placing.race import Due, Race, Stage
from upsides.rules import BandEntry, band_entry
from upsides.trade.age import AgeRange

NEAR: Final = 0.02
"""By how much of itself a distance in words may differ from the surveyed one."""
MOST_LB: Final = 40.0
"""More than any one allowance or penalty for a horse comes to, weight for age aside; an own choice."""


@dataclass(frozen=True, slots=True)
class Stated:
    """One rule of a race.

    Attributes:
        value: the rule.
        wording: the words that it was read from; "" where the programme's columns state it.
        doubtful: whether unread words stand beside it that may narrow it.
    """

    value: Value
    wording: str = ""
    doubtful: bool = False


def conditions_of(race: Race) -> Conditions:
    """Return the wording of a race, read."""
    return _read(race.wording, race.day, race.currency)


@lru_cache(maxsize=4096)
def _read(wording: str, on: date, currency: str) -> Conditions:
    return read_conditions(wording, on=on, currency=currency)


def stated(race: Race, terms: Terms) -> tuple[Stated, ...]:
    """Return all rules of a race; what its columns say once more than its wording is left out."""
    read = conditions_of(race)
    worded = [Stated(value, *read.wording_of(value)) for value in read.values]
    columns = [Stated(value) for value in _columns(race) if not any(_covers(one.value, value) for one in worded)]
    maiden = Record("won", most=0)
    if "maiden" in race.kinds and not any(_keeps_winners_out(one.value) for one in worded):
        columns.append(Stated(maiden))
    if "novice" in race.kinds and not any(_limits_wins(one.value) for one in worded):
        columns.append(Stated(Novices()))
    return tuple(_with_band_rule(one, race, terms) for one in (*columns, *worded))


def _covers(worded: Value, column: Value) -> bool:
    """Return whether a wording says what a column says, and perhaps more."""
    if isinstance(worded, Rated) and isinstance(column, Rated):
        return (worded.low or 0, worded.high) == (column.low or 0, column.high)
    weights = (TopWeight, LeastWeight)
    return worded == column or (isinstance(worded, weights) and type(worded) is type(column))


def _columns(race: Race) -> Iterator[Value]:
    if race.ages is not None:
        yield Ages(race.ages)
    if race.builds is not None:
        yield Builds(race.builds)
    if race.band is not None:
        yield Rated(*race.band, above=race.above_band or 0.0)
    if race.top_weight is not None:
        yield TopWeight(race.top_weight)
    if race.least_weight is not None:
        yield LeastWeight(race.least_weight)


def _keeps_winners_out(value: Value) -> bool:
    return isinstance(value, Record) and value.deed == "won" and value.most == 0


def _limits_wins(value: Value) -> bool:
    """Return whether a wording says itself how often a novice may have won."""
    return isinstance(value, Novices) or (isinstance(value, Record) and value.deed == "won" and value.most is not None)


def _with_band_rule(one: Stated, race: Race, terms: Terms) -> Stated:
    """Return a band with what the authority says of horses outside it, where the race says nothing of its own."""
    if not isinstance(one.value, Rated) or not race.handicap:
        return one
    said: BandEntry = band_entry(race.jurisdiction, race.day, overrides=race.rules(terms.yard))
    above = race.above_band if race.above_band is not None else one.value.above or said.above
    below = said.below if one.value.below is None else one.value.below
    return Stated(Rated(one.value.low, one.value.high, above, below), one.wording, one.doubtful)


def clashes(race: Race) -> tuple[str, ...]:
    """Return what cannot hold together in the conditions of a race, in words; nothing where all of it can."""
    read = conditions_of(race).values
    both = [*read, *_columns(race)]
    sure = conditions_of(race).settled
    who = [*_distances(race, sure), *_classes(race, sure), *_ages(both), *_builds(both), *_bands(both), *_records(read)]
    found = [*who, *_weights(both), *_two_weights(both), *_too_much(both), *_moments(race), *_said_twice(race, sure)]
    return tuple(dict.fromkeys(found))


def torn(race: Race) -> frozenset[type]:
    """Return the kinds of conditions of a race of which two contradict each other: neither may shut a horse out."""
    both = [*conditions_of(race).values, *_columns(race)]
    told = {Ages: _ages(both), Builds: _builds(both), Rated: _bands(both), Record: _records(both)}
    return frozenset(kind for kind, found in told.items() if any(found))


def check(race: Race) -> None:
    """Refuse a race whose conditions cannot hold together.

    Raises:
        ConditionsClashError: two of them contradict each other.
    """
    if found := clashes(race):
        raise ConditionsClashError(str(race), found)


def _of(kind: type, values: Iterable[Value]) -> list[tuple[Value, Value]]:
    return list(combinations([value for value in values if isinstance(value, kind)], 2))


def _distances(race: Race, values: Iterable[Value]) -> Iterator[str]:
    for one in values:
        if isinstance(one, Over) and race.distance_m is not None and abs(one.metres / race.distance_m - 1) > NEAR:
            yield _("its distance is {metres:.0f} m and {other:.0f} m", metres=race.distance_m, other=one.metres)


def _classes(race: Race, values: Iterable[Value]) -> Iterator[str]:
    """Tell a class by number that differs between columns and wording; a listed or group race has a number besides."""
    told = {race.race_class, class_named(f"- {race.title}"), *(one.name for one in values if isinstance(one, OfClass))}
    numbers = sorted(name for name in told if name.isdigit())
    if len(numbers) > 1:
        yield _("its class is {one} and {other}", one=numbers[0], other=numbers[1])


def _ages(values: list[Value]) -> Iterator[str]:
    for one, other in _of(Ages, values):
        if isinstance(one, Ages) and isinstance(other, Ages) and not _meet(one.ages, other.ages):
            yield _("it is for {ages} and for {others}", ages=one.ages, others=other.ages)


def _meet(one: AgeRange, other: AgeRange) -> bool:
    low = max(one.youngest, other.youngest)
    return all(ages.oldest is None or low <= ages.oldest for ages in (one, other))


def _builds(values: list[Value]) -> Iterator[str]:
    for one, other in _of(Builds, values):
        if isinstance(one, Builds) and isinstance(other, Builds) and not one.builds & other.builds:
            kinds, others = (joined(sorted(each.builds), by=" and ") for each in (one, other))
            yield _("it is for {kinds} and for {others} only", kinds=kinds, others=others)


def _bands(values: list[Value]) -> Iterator[str]:
    for one, other in _of(Rated, values):
        if (
            isinstance(one, Rated)
            and isinstance(other, Rated)
            and (one.low or 0, one.high) != (other.low or 0, other.high)
            and not (one.high == other.high and 0 in (one.low or 0, other.low or 0))
        ):
            yield _("its band is {band} and {other}", band=_band(one), other=_band(other))


def _band(rated: Rated) -> str:
    if rated.high is None:
        return _("{low:g} to any", low=rated.low or 0)
    return _("{low:g} to {high:g}", low=rated.low or 0, high=rated.high)


def _weights(values: list[Value]) -> Iterator[str]:
    top = [value.weight for value in values if isinstance(value, TopWeight)]
    least = [value.weight for value in values if isinstance(value, LeastWeight)]
    for high in top:
        for low in least:
            if low.in_unit(high.unit) > high.value:
                yield _("its lowest weight {low} is above its highest {high}", low=low, high=high)


def _two_weights(values: list[Value]) -> Iterator[str]:
    """Tell weights that are stated twice and differ; those in other units are not held against each other."""
    for one, other in combinations(values, 2):
        if isinstance(one, TopWeight) and isinstance(other, TopWeight) and not (one.at_least or other.at_least):
            yield from _two(_("highest weight"), one.weight, other.weight)
        if isinstance(one, LeastWeight) and isinstance(other, LeastWeight):
            yield from _two(_("lowest weight"), one.weight, other.weight)
        if not (isinstance(one, Carries) and isinstance(other, Carries)):
            continue
        if (one.ages, one.builds) == (other.ages, other.builds):
            yield from _two(_("weight"), one.weight, other.weight)


def _two(what: str, one: Amount, other: Amount) -> Iterator[str]:
    if one.unit == other.unit and one.value != other.value:
        yield _("its {what} is {weight} and {other}", what=what, weight=one, other=other)


def _too_much(values: list[Value]) -> Iterator[str]:
    for value in values:
        amount = value.off if isinstance(value, Allowed) else value.on if isinstance(value, Penalty) else None
        if amount is not None and amount.in_unit("lb") > MOST_LB:
            yield _("an allowance or penalty of {amount} is more than any race gives", amount=amount)


def _moments(race: Race) -> Iterator[str]:
    """Tell stages that are stated in another order than they come in, or after the race."""
    dues = [due for due in race.dues if due.stage is not Stage.WITHDRAW]
    order = [Stage.ENTER, Stage.CONFIRM, Stage.DECLARE]
    told = [due for due in dues if due.stage in order]
    for one, other in combinations(sorted(told, key=lambda due: order.index(due.stage)), 2):
        if one.stage is not other.stage and one.at > other.at:
            yield _(
                "the time to {stage} by ({at:%d %B %H:%M}) lies behind the time to {later} by ({then:%d %B %H:%M})",
                stage=one.stage, at=_local(race, one), later=other.stage, then=_local(race, other),
            )  # fmt: skip
    for due in dues:
        late = due.at > race.off if race.off is not None else _local(race, due).date() > race.day
        if late:
            yield _(
                "the time to {stage} by ({at:%d %B %H:%M}) lies behind the race", stage=due.stage, at=_local(race, due)
            )


def _said_twice(race: Race, values: Iterable[Value]) -> Iterator[str]:
    """Tell a stage that columns and wording put at two times, and prizes that they state in two currencies."""
    columns = {due.stage: _local(race, due).replace(tzinfo=None) for due in race.dues}
    for one in values:
        there = columns.get(one.stage) if isinstance(one, SaidBy) and race.clock else None
        if isinstance(one, SaidBy) and there is not None and there != datetime.combine(one.day, one.at):
            yield _(
                "the time to {stage} by is {at:%d %B %H:%M} and {other:%d %B %H:%M}",
                stage=one.stage, at=there, other=datetime.combine(one.day, one.at),
            )  # fmt: skip
        if isinstance(one, Pays) and race.currency and one.money.currency not in {race.currency, ""}:
            yield _("its prizes are in {currency} and in {other}", currency=race.currency, other=one.money.currency)


def _local(race: Race, due: Due) -> datetime:
    return due.at.astimezone(race.clock) if race.clock else due.at


def _records(values: Iterable[Value]) -> Iterator[str]:
    for one, other in _of(Record, values):
        if not isinstance(one, Record) or not isinstance(other, Record):
            continue
        if (one.deed, one.kind) == (other.deed, other.kind):
            least, most = max(one.least, other.least), [end.most for end in (one, other) if end.most is not None]
            if most and least > min(most):
                yield _(
                    "horses must have {deed} at least {least} and at most {most} times",
                    deed=one.deed,
                    least=least,
                    most=min(most),
                )
