"""By when what must be said of a race, what it costs, and what comes next for a horse.

What the programme states goes before the authority's rule. A time of day is by the course's clock on its day: ten
o'clock there is one hour of UTC in summer and another in winter.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import Final

from upsides.errors import ZoneMissingError
from upsides.errors.wording import gettext as _
from upsides.placing.amounts import Money
from upsides.placing.conditions.who import PLAIN, Terms
from upsides.placing.kinds import BLACK_TYPE
from upsides.placing.race import Race, Stage
from upsides.rules import Rule, StandDown, first_day_for, stage_rules, stand_downs

SATURDAY: Final = 5
ORDER: Final = tuple(Stage)
"""Stages in the order in which they come."""


@dataclass(frozen=True, slots=True)
class Deadline:
    """A moment by which something must be said.

    Attributes:
        race: the race.
        stage: what.
        at: the moment in UTC.
        zone: the course's zone, in which people there read it.
        cost: what saying it costs; None where not known.
        rule: the authority's rule; None where the programme states the moment.
    """

    race: Race
    stage: Stage
    at: datetime
    zone: str
    cost: Money | None = None
    rule: Rule | None = None

    @property
    def local(self) -> datetime:
        """The moment by the course's clock."""
        clock = self.race.clock
        return self.at.astimezone(clock) if clock else self.at

    @property
    def key(self) -> str:
        """A name that stays the same when the moment changes, for calendars."""
        said = self.race.id or f"{self.race.day}-{self.race.number or self.race.title}"
        return f"{self.race.source}-{self.race.course}-{said}-{self.stage}".lower().replace(" ", "-")


def deadlines(race: Race, terms: Terms = PLAIN) -> tuple[Deadline, ...]:
    """Return every moment by which something must be said of a race, as far as known, in order.

    A declared horse can be taken out until the start, where nothing else is stated.

    Raises:
        ZoneMissingError: a rule gives a time of day, and the zone of the course is not known.
    """
    stated = [Deadline(race, due.stage, due.at.astimezone(UTC), race.zone, due.cost) for due in race.dues]
    told = {due.stage for due in race.dues}
    if race.off is not None and Stage.WITHDRAW not in told:
        stated.append(Deadline(race, Stage.WITHDRAW, race.off.astimezone(UTC), race.zone))
    found = [*stated, *(one for one in _by_rule(race, terms) if one.stage not in told)]
    return tuple(sorted(found, key=lambda one: (one.at, ORDER.index(one.stage))))


def _by_rule(race: Race, terms: Terms) -> Iterator[Deadline]:
    closes = min((due.at for due in race.dues if due.stage is Stage.ENTER), default=None)
    for rule in stage_rules(race.jurisdiction, race.day, race.code, overrides=race.rules(terms.yard)):
        at = _moment(race, rule.days_before, rule.at, rule.stage)
        early = None if closes is None else (race.day - closes.astimezone(race.clock).date()).days
        if rule.entered_days_before and (early is None or early < rule.entered_days_before):
            continue
        if not _behind_stated(race, Stage(rule.stage), at):
            yield Deadline(race, Stage(rule.stage), at, race.zone, None, rule.rule)


def _behind_stated(race: Race, stage: Stage, at: datetime) -> bool:
    """Return whether a rule's moment lies behind a later stage that the programme states, or behind the race itself."""
    later = [due.at for due in race.dues if ORDER.index(due.stage) > ORDER.index(stage)]
    return any(at > moment for moment in (*later, *([race.off] if race.off else [])))


def _moment(race: Race, days_before: int, at: time, stage: str) -> datetime:
    """Return a time of day some days before a race, in UTC; of a time that comes twice, the earlier."""
    local = datetime.combine(race.day - timedelta(days=days_before), at)
    if race.clock is None:
        raise ZoneMissingError(str(race), stage, local.isoformat(sep=" "), race.course)
    return local.replace(tzinfo=race.clock).astimezone(UTC)


def extension(race: Race, stage: Stage, declared: int, terms: Terms = PLAIN) -> Deadline | None:
    """Return to when a stage is kept open because few horses are declared; None where it is not, or not known.

    Raises:
        ZoneMissingError: the zone of the course is not known.
    """
    for rule in stage_rules(race.jurisdiction, race.day, race.code, overrides=race.rules(terms.yard)):
        if rule.stage != stage or rule.extended_to is None:
            continue
        kind = (
            "handicap" if race.handicap else "pattern" if race.race_class in (*BLACK_TYPE, "1") else _part_of_week(race)
        )
        if declared <= rule.few.get(kind, -1):
            at = _moment(race, rule.days_before, rule.extended_to, rule.stage)
            return Deadline(race, stage, at, race.zone, None, rule.rule)
    return None


def _part_of_week(race: Race) -> str:
    return "weekend" if race.day.weekday() >= SATURDAY else "weekday"


@dataclass(frozen=True, slots=True)
class Next:
    """The next decision on a horse and a race.

    Attributes:
        deadline: by when, and what it costs.
        spent: what was spent on it so far.
        if_silent: whether saying nothing takes the horse out.
        then: the stages still to come besides; each is another chance to say no, by when more will be known.
    """

    deadline: Deadline
    spent: tuple[Money, ...]
    if_silent: bool
    then: tuple[Deadline, ...]


def next_decision(race: Race, reached: Stage | None, now: datetime, terms: Terms = PLAIN) -> Next | None:
    """Return the next decision on a horse and a race, or None where there is none any more.

    Args:
        race: the race.
        reached: the last stage that was said for the horse; None where it is not entered.
        now: the moment, with its zone.
        terms: the yard's own rules.

    A horse that is not entered has the entry before it, and a late supplement where there is one; one that missed a
    stage is out. What was declared can be taken out until the race.

    Raises:
        ZoneMissingError: `now`, or a time by a rule, has no zone.
    """
    if now.tzinfo is None:
        raise ZoneMissingError(str(race), _("now"), now.isoformat(sep=" "), race.course)
    if reached is Stage.WITHDRAW:
        return None
    ahead = [one for one in deadlines(race, terms) if _comes(one.stage, reached)]
    if not ahead or (reached is not None and ahead[0].at < now and ahead[0].stage is not Stage.WITHDRAW):
        return None
    left = [one for one in ahead if one.at >= now]
    ways_in = {Stage.ENTER, Stage.SUPPLEMENT} if reached is None else set(Stage)
    first = next((one for one in left if one.stage in ways_in), None)
    if first is None:
        return None
    spent = tuple(
        one.cost for one in deadlines(race, terms) if reached and _before(one.stage, reached) and one.cost is not None
    )
    return Next(first, spent, first.stage is not Stage.WITHDRAW, tuple(one for one in left if one is not first))


def missed(race: Race, reached: Stage | None, now: datetime, terms: Terms = PLAIN) -> bool:
    """Return whether a horse can no longer get to the start of a race, as far as its deadlines are known.

    Args:
        race: the race.
        reached: the last stage that was said for the horse; None where it is not entered.
        now: the moment, with its zone.
        terms: the yard's own rules.

    Raises:
        ZoneMissingError: a time by a rule has no zone.
    """
    if reached is Stage.WITHDRAW:
        return True
    ahead = [one for one in deadlines(race, terms) if _comes(one.stage, reached) and one.stage is not Stage.WITHDRAW]
    if reached is not None:
        return any(one.at < now for one in ahead)
    ways_in = [one for one in ahead if one.stage in {Stage.ENTER, Stage.SUPPLEMENT}]
    declared = any(one.stage is Stage.DECLARE and one.at < now for one in ahead)
    return declared or (bool(ways_in) and all(one.at < now for one in ways_in))


def _comes(stage: Stage, reached: Stage | None) -> bool:
    """Return whether a stage is still to come for a horse: an entered one needs no supplement."""
    if reached is None:
        return stage is not Stage.WITHDRAW
    return ORDER.index(stage) > ORDER.index(reached) and stage is not Stage.SUPPLEMENT


def _before(stage: Stage, reached: Stage) -> bool:
    if Stage.SUPPLEMENT in {stage, reached} and stage is not reached:
        return ORDER.index(stage) > ORDER.index(Stage.SUPPLEMENT) and ORDER.index(stage) <= ORDER.index(reached)
    return ORDER.index(stage) <= ORDER.index(reached)


def due_between(races: Iterable[Race], first: datetime, last: datetime, terms: Terms = PLAIN) -> tuple[Deadline, ...]:
    """Return every deadline of some races between two moments, in order."""
    found = [one for race in races for one in deadlines(race, terms) if first <= one.at <= last]
    return tuple(sorted(found, key=lambda one: (one.at, one.key)))


def cost_to(race: Race, stage: Stage, terms: Terms = PLAIN) -> tuple[Money, ...]:
    """Return what it costs to come to a stage from nothing, as far as known, stage by stage."""
    known = [one for one in deadlines(race, terms) if _before(one.stage, stage)]
    return tuple(one.cost for one in known if one.cost is not None)


def after_withdrawal(race: Race, *, certified: bool, terms: Terms = PLAIN) -> StandDown | None:
    """Return what keeps a declared horse that did not run from its next race; None where no rule is known.

    Args:
        race: the race that it missed.
        certified: whether a vet's certificate was sent in time; otherwise the trainer certified it.
        terms: the yard's own rules.
    """
    what = "non-runner with a vet's certificate" if certified else "self-certified non-runner"
    return first_day_for("race", stand_downs(what, [race.day], race.jurisdiction, overrides=race.rules(terms.yard)))
