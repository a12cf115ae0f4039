"""What a win would cost, and what it would open: the races ahead, after winning, being placed, and being beaten.

Everything here follows exactly from the programme and the rules: penalties, races for maidens, races for non-winners,
sums that were won. What the handicapper will do is not known; a mark to come is taken only as a scenario that the
caller names.

Nothing here gives credit for losing. Races that stay open to a beaten horse are shown, for a trainer has to know them.
But `standing`, the only value by which outcomes can be compared, counts the same races ahead for every outcome: those
that are open to the horse when it has won, those for which its mark is too high among them. So it never rises when a
horse is beaten, or when its mark falls.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import Final

from upsides.errors import UnreadableError, WeightUnknownError
from upsides.errors.wording import gettext as _
from upsides.placing.answers import Finding, Says
from upsides.placing.carried import Carried, Line
from upsides.placing.conditions.who import PLAIN, Terms
from upsides.placing.eligible import Eligibility, eligible
from upsides.placing.horse import HIGHEST_MARK, Horse, Mark
from upsides.placing.race import Race
from upsides.placing.weighing import weigh

AHEAD: Final = timedelta(days=90)
BEATEN: Final = 99
"""A place that earns nothing and counts as no place."""


class Outcome(StrEnum):
    """How a race may end for a horse, best first."""

    WIN = "win"
    PLACED = "placed"
    BEATEN = "beaten"


PLACE_OF: Final[Mapping[Outcome, int]] = {Outcome.WIN: 1, Outcome.PLACED: 2, Outcome.BEATEN: BEATEN}


@dataclass(frozen=True, slots=True)
class Scenario:
    """A mark that somebody supposes, for one outcome.

    Attributes:
        named: what the caller calls it; shown wherever a figure rests on it.
        mark: the mark supposed.
        days: days after the race from which it would count.
    """

    named: str
    mark: float
    days: int = 4


def supposed(named: str, text: str) -> Scenario:
    """Return the scenario of a mark that somebody writes.

    Raises:
        UnreadableError: it is no mark.
    """
    found = re.fullmatch(r"\d{1,3}(?:\.\d+)?", text.strip(), re.ASCII)
    if found is None or float(found[0]) > HIGHEST_MARK:
        raise UnreadableError(_("mark supposed"), text, _("a mark from 0 to {most}, as 82", most=HIGHEST_MARK))
    return Scenario(named, float(found[0]))


@dataclass(frozen=True, slots=True)
class Later:
    """A later race, as it would stand after one outcome.

    Attributes:
        race: the race.
        eligible: whether it takes the horse then, with each reason.
        carried: what the horse would carry; None where it is not taken, or the weight is not settled.
        no_weight: why there is no weight; "" where there is one, or none is asked.
    """

    race: Race
    eligible: Eligibility
    carried: Carried | None
    no_weight: str = ""

    @property
    def open(self) -> bool:
        """Whether nothing says no."""
        return self.eligible.says is not Says.NO


@dataclass(frozen=True, slots=True)
class Changed:
    """A later race that an outcome changes, against not having run.

    Attributes:
        now: as it stands before the race.
        then: as it would stand after it.
    """

    now: Later
    then: Later

    @property
    def closes(self) -> bool:
        """Whether it is open now and would not be."""
        return self.now.open and not self.then.open

    @property
    def opens(self) -> bool:
        """Whether it is shut now and would be open."""
        return self.then.open and not self.now.open

    @property
    def more(self) -> float:
        """How much more the horse would carry, in the race's unit; nought where either weight is not known."""
        if self.now.carried is None or self.then.carried is None:
            return 0.0
        return self.then.carried.published - self.now.carried.published

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of the weight that are new or others than now, where both weights are known."""
        if self.now.carried is None or self.then.carried is None:
            return ()
        return tuple(line for line in self.then.carried.lines if line not in self.now.carried.lines)

    @property
    def because(self) -> tuple[Finding, ...]:
        """The reasons that differ."""
        before = set(self.now.eligible.findings)
        return tuple(one for one in self.then.eligible.findings if one not in before)


@dataclass(frozen=True, slots=True)
class After:
    """What one outcome would change.

    Attributes:
        outcome: which.
        scenario: the mark that it supposes; None where the mark is left as it is.
        prize: what the outcome itself earns; None where the prize is not stated.
        changed: later races that it closes, opens, or in which it changes the weight.
        same: how many later races it leaves as they are.
    """

    outcome: Outcome
    scenario: Scenario | None
    prize: float | None
    changed: tuple[Changed, ...]
    same: int


@dataclass(frozen=True, slots=True)
class WinCosts:
    """What each outcome of a race would change for a horse.

    Attributes:
        race: the race.
        currency: in which prizes are told.
        after: one for each outcome, and one more for each scenario.
    """

    race: Race
    currency: str
    after: tuple[After, ...]

    def of(self, outcome: Outcome) -> After:
        """Return what an outcome changes by the rules alone."""
        return next(one for one in self.after if one.outcome is outcome and one.scenario is None)


def win_costs(
    horse: Horse,
    race: Race,
    programme: Iterable[Race],
    *,
    scenarios: Mapping[Outcome, Sequence[Scenario]] | None = None,
    terms: Terms = PLAIN,
) -> WinCosts:
    """Return what winning, being placed and being beaten in a race would change in the 90 days after it.

    Args:
        horse: the horse as it stands.
        race: the race.
        programme: races to come, in any order; those after the race within 90 days are looked at.
        scenarios: marks supposed for an outcome; the answer keeps each apart from what follows by the rules alone.
        terms: the yard's own rules; rates between currencies.

    Raises:
        CurrencyUnknownError: a prize of the race is in a currency that cannot be told in its own.
    """
    later = later_races(race, programme)
    now = [_later(horse, one, terms) for one in later]
    after = []
    for outcome in Outcome:
        for scenario in (None, *(scenarios or {}).get(outcome, ())):
            then = [_later(after_race(horse, race, outcome, scenario), one, terms) for one in later]
            changed = tuple(Changed(one, two) for one, two in zip(now, then, strict=True) if _differs(one, two))
            prize = _prize(race, outcome, terms)
            after.append(After(outcome, scenario, prize, changed, len(later) - len(changed)))
    return WinCosts(race, race.currency, tuple(after))


def later_races(race: Race, programme: Iterable[Race]) -> tuple[Race, ...]:
    """Return the races of the 90 days after a race, in order."""
    found = [one for one in programme if race.day < one.day <= race.day + AHEAD]
    return tuple(sorted(found, key=lambda one: (one.day, one.course, one.number)))


def after_race(horse: Horse, race: Race, outcome: Outcome, scenario: Scenario | None = None) -> Horse:
    """Return the horse as it would be after an outcome, with the mark that a scenario supposes, on every surface."""
    ran = horse.with_run(race.as_run(PLACE_OF[outcome]))
    if scenario is None:
        return ran
    for ground in dict.fromkeys([*(mark.on for mark in horse.marks), ""]):
        ran = ran.with_mark(Mark(scenario.mark, race.day + timedelta(days=scenario.days), ground))
    return ran


def _later(horse: Horse, race: Race, terms: Terms) -> Later:
    found = eligible(horse, race, terms)
    if found.says is Says.NO:
        return Later(race, found, None)
    try:
        return Later(race, found, weigh(horse, race, terms))
    except WeightUnknownError as error:
        return Later(race, found, None, error.reason)


def _differs(now: Later, then: Later) -> bool:
    if now.eligible.says is not then.eligible.says:
        return True
    if now.carried is None or then.carried is None:
        return now.carried is not then.carried
    return (now.carried.published, now.carried.unsure) != (then.carried.published, then.carried.unsure)


def _prize(race: Race, outcome: Outcome, terms: Terms) -> float | None:
    if outcome is Outcome.BEATEN:
        return 0.0
    return race.worth(PLACE_OF[outcome], race.currency, terms.rates)


def standing(
    horse: Horse,
    race: Race,
    outcome: Outcome,
    programme: Iterable[Race],
    worth: Mapping[Race, float],
    *,
    terms: Terms = PLAIN,
) -> float:
    """Return the one value by which outcomes may be compared: what is earned, and what lies ahead whatever happens.

    What lies ahead is what the later races are worth that take the horse after it has won. It is the same for every
    outcome, and a mark that is too high for a race takes nothing away, so nothing counts that stays open, opens or
    becomes lighter only because a horse is beaten or its mark falls.

    Args:
        horse: the horse as it stands.
        race: the race.
        outcome: how the race ends.
        programme: races to come, in any order.
        worth: what the caller thinks a later race is worth to the horse, in the race's own currency; races without one,
            or below nought, count nothing.
        terms: the yard's own rules; rates between currencies.

    Raises:
        CurrencyUnknownError: a prize of the race cannot be told in its own currency.
    """
    won = after_race(horse, race, Outcome.WIN)
    later = (one for one in later_races(race, programme) if worth.get(one, 0.0) > 0)
    ahead = sum(worth[one] for one in later if not any(map(_shuts, eligible(won, one, terms).against)))
    return _earned(race, outcome, terms) + ahead


def _shuts(reason: Finding) -> bool:
    """Return whether a reason against a race counts: a mark above its band does not."""
    if reason.key not in {"mark", "marks"}:
        return True
    facts = dict(reason.facts)
    high, marks = facts["high"], (facts.get(name) for name in ("mark", "turf", "all_weather"))
    return not any(isinstance(one, float) and isinstance(high, float) and one > high for one in marks)


def _earned(race: Race, outcome: Outcome, terms: Terms) -> float:
    """Return what an outcome earns; a place never more than the win, however the prizes are written."""
    prizes = [_prize(race, one, terms) or 0.0 for one in (Outcome.WIN, Outcome.PLACED, Outcome.BEATEN)]
    best = prizes[0]
    return min(best, {Outcome.WIN: best, Outcome.PLACED: prizes[1], Outcome.BEATEN: 0.0}[outcome])
