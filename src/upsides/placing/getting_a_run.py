"""Who is left out of a field that is too large, and how likely a horse is to get a run.

Horses stand in an order by the authority's rule: from the highest weight or mark down, ties by ballot. Each of the
others may be taken out before the field is settled; the chance then follows exactly from how many of those before it
stay in, and from the ballot among those level with it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from upsides.errors import NoRuleError, RaceRefusedError, WeightUnknownError
from upsides.errors.wording import gettext as _
from upsides.placing.conditions.card import OutFirst
from upsides.placing.conditions.who import PLAIN, Rated, Terms
from upsides.placing.horse import Horse
from upsides.placing.race import Race
from upsides.placing.race_rules import conditions_of, stated
from upsides.placing.weighing import weigh
from upsides.rules import Elimination, Rule, elimination

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Entered:
    """One horse among the entries.

    Attributes:
        horse: what it is called.
        weight: what it would carry, of the long handicap, in the race's unit; None where not known.
        mark: its mark; None where it has none.
        above_band: whether its mark lies above a handicap's band.
        stays: chance that it is not taken out before the field is settled; None where the usual rate holds.
    """

    horse: str
    weight: float | None = None
    mark: float | None = None
    above_band: bool = False
    stays: float | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a horse stands among the entries.

    Attributes:
        horse: what it is called.
        before: how many stand before it for certain.
        level: how many others stand level with it, so that a ballot decides.
        chance: chance that it gets a run, if it is not taken out itself.
        by: what the order goes by.
        rule: the rule that says so.
    """

    horse: str
    before: int
    level: int
    chance: float
    by: Literal["weight", "mark", "ballot"]
    rule: Rule

    @property
    def best(self) -> int:
        """Its rank at best, 1 first."""
        return self.before + 1

    @property
    def worst(self) -> int:
        """Its rank at worst."""
        return self.before + self.level + 1


def entered(horse: Horse, race: Race, terms: Terms = PLAIN, *, stays: float | None = None) -> Entered:
    """Return a horse as an entry of a race, with its weight where the conditions settle it.

    Args:
        horse: the horse.
        race: the race.
        terms: the yard's own rules; rates between currencies.
        stays: chance that it is not taken out; None where the usual rate holds.
    """
    mark = horse.mark(race.day, race.surface or "")
    high = next((one.value.high for one in stated(race, terms) if isinstance(one.value, Rated)), None)
    above = mark is not None and high is not None and mark.value > high
    try:
        weight = weigh(horse, race, terms).long
    except WeightUnknownError:
        weight = None
    return Entered(horse.name, weight, mark.value if mark else None, above, stays)


def getting_a_run(
    race: Race, entries: Sequence[Entered], *, withdrawn: float, terms: Terms = PLAIN
) -> tuple[Standing, ...]:
    """Return where each horse stands, the first to get a run first.

    Args:
        race: the race; its maximum field must be known.
        entries: every entry, or every declared horse.
        withdrawn: chance that a horse is taken out before the field is settled, 0 to 1; nought once all are declared.
        terms: the yard's own rules.

    Raises:
        RaceRefusedError: the maximum field is not known, or the rate is none.
        NoRuleError: no rule on elimination is in force.
    """
    if race.most_runners is None:
        raise RaceRefusedError(str(race), _("maximum field"), "", _("it is not known"), _("take it from the programme"))
    if not 0 <= withdrawn <= 1:
        raise RaceRefusedError(
            str(race), _("rate of withdrawals"), withdrawn, _("it is no chance"), _("give 0 to 1, like 0.3")
        )
    rule = order_of(race, terms)
    keys = [_key(entry, rule) for entry in entries]
    stays = np.array([1 - withdrawn if entry.stays is None else entry.stays for entry in entries])
    order = sorted(range(len(entries)), key=lambda i: keys[i], reverse=True)
    return tuple(_standing(i, entries[i].horse, keys, stays, race.most_runners, rule) for i in order)


def order_of(race: Race, terms: Terms = PLAIN) -> Elimination:
    """Return who goes out first: by the race's own wording where it says so, else by the rule of the place.

    Raises:
        NoRuleError: neither is known.
    """
    own = next((one.by for one in conditions_of(race).settled if isinstance(one, OutFirst)), None)
    try:
        found = elimination(
            race.jurisdiction, race.day, race.race_class, handicap=race.handicap, overrides=race.rules(terms.yard)
        )
    except NoRuleError:
        if own is None:
            raise
        found = None
    if own is None and found is not None:
        return found
    rule = Rule(
        "elimination", "the race's own conditions", race.jurisdiction, None, None, race.source, "high", origin="race"
    )
    return Elimination(own or "ballot", found is not None and found.above_band_first, rule)


def _key(entry: Entered, rule: Elimination) -> tuple[float, ...]:
    """Return what a horse is ordered by, the highest first; those of whom it is not known go last."""
    if rule.by == "ballot":
        return (0.0,)
    value = entry.weight if rule.by == "weight" else entry.mark
    above = 0.0 if rule.above_band_first and entry.above_band else 1.0
    return (above, -np.inf if value is None else value)


def _standing(
    i: int, horse: str, keys: list[tuple[float, ...]], stays: Floats, room: int, rule: Elimination
) -> Standing:
    before = np.array([key > keys[i] for key in keys])
    level = np.array([key == keys[i] for key in keys])
    level[i] = False
    chance = chance_of_room(stays[before], stays[level], room)
    return Standing(horse, int(before.sum()), int(level.sum()), chance, rule.by, rule.rule)


def chance_of_room(before: Floats, level: Floats, room: int) -> float:
    """Return the chance that a horse is among the first `room`.

    Args:
        before: chance of each horse before it to stay in, shape (b,).
        level: the same of each horse level with it, shape (l,).
        room: how many may run.

    With k before it and m level with it staying in, it runs if k + m < room; if k < room <= k + m, a ballot gives it
    one of room - k places among m + 1.
    """
    ahead, beside = how_many(before), how_many(level)
    k, m = np.arange(ahead.size)[:, None], np.arange(beside.size)[None, :]
    share = np.clip((room - k) / (m + 1), 0.0, 1.0)
    return float(ahead @ share @ beside)


def how_many(stays: Floats) -> Floats:
    """Return the chances that 0, 1, ... n of n horses stay in, each by its own chance, shape (n + 1,)."""
    found = np.ones(1)
    for chance in stays:
        found = np.convolve(found, [1 - chance, chance])
    return found
