"""How a horse comes to run, by the authority's rules: bands, runs for a mark, stages, who is left out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from typing import Final, Literal

from upsides.errors import NoRuleError
from upsides.rules.book_words import listed
from upsides.rules.lookup import NONE, Overrides, candidates, in_force
from upsides.rules.rule import Entry, Rule

ANY_RACE: Final = "any"


@dataclass(frozen=True, slots=True)
class BandEntry:
    """Whether horses outside a handicap's band may be entered.

    Attributes:
        above: points above it.
        below: whether horses below it may be.
        rule: who says so; None where nobody does.
    """

    above: float
    below: bool | None
    rule: Rule | None


@dataclass(frozen=True, slots=True)
class RunsForMark:
    """Runs after which a horse gets a mark.

    Attributes:
        runs: as a rule.
        won_first, won_second: after a win at its first, and at its second start.
        two_year_old_home_runs, home: how many a two-year-old must have had where.
        rule: who says so.
        second_classes, second_most: classes of handicaps that a horse with a mark by a win at its second start may run
            in only if rated no higher; none and None where there is no such limit.
    """

    runs: int
    won_first: int
    won_second: int
    two_year_old_home_runs: int
    home: tuple[str, ...]
    rule: Rule
    second_classes: tuple[str, ...] = ()
    second_most: float | None = None


@dataclass(frozen=True, slots=True)
class Elimination:
    """Who is left out of a field that is too large.

    Attributes:
        by: lowest weight first, lowest mark first, or by ballot.
        above_band_first: whether horses above a handicap's band give way before all others.
        rule: who says so.
    """

    by: Literal["weight", "mark", "ballot"]
    above_band_first: bool
    rule: Rule


@dataclass(frozen=True, slots=True)
class StageRule:
    """By when something must be said.

    Attributes:
        stage: enter, confirm, supplement, declare or withdraw.
        days_before: days before the race.
        at: time of day at the course.
        extended_to: to when it is kept open where few are declared; None where it is not.
        few: how many are few, by "handicap", "pattern", else "weekday" and "weekend".
        entered_days_before: it holds only where entries close so many days before the race or more; 0 for all.
        rule: who says so.
    """

    stage: str
    days_before: int
    at: time
    entered_days_before: int
    rule: Rule
    extended_to: time | None = None
    few: Mapping[str, int] = field(default_factory=dict)


def band_entry(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> BandEntry:
    """Return whether horses outside a handicap's band may be entered; none above, where nobody says so."""
    try:
        entry = in_force("band entry", jurisdiction, on, overrides)[0]
    except NoRuleError:
        return BandEntry(0.0, None, None)
    return BandEntry(float(entry.body["above"]), bool(entry.body["below"]), entry.rule)


def runs_for_mark(jurisdiction: str, on: date, *, overrides: Overrides = NONE) -> RunsForMark:
    """Return after how many runs a horse gets a mark.

    Raises:
        NoRuleError: a rule of the yard's own leaves no other in force.
    """
    entry = in_force("runs for a mark", jurisdiction, on, overrides)[0]
    body, runs = entry.body, int(entry.body["runs"])
    return RunsForMark(
        runs,
        int(body.get("won_first", runs)),
        int(body.get("won_second", runs)),
        int(body.get("two_year_old_home_runs", 0)),
        tuple(body.get("home", ())),
        entry.rule,
        tuple(body.get("won_second_classes", ())),
        float(body["won_second_most"]) if "won_second_most" in body else None,
    )


def elimination(
    jurisdiction: str, on: date, race_class: str, *, handicap: bool, overrides: Overrides = NONE
) -> Elimination:
    """Return who is left out of a field that is too large.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        race_class: class of the race, in small letters.
        handicap: whether it is a handicap; that goes before its class.
        overrides: the race's or yard's own rules.

    Raises:
        NoRuleError: nothing is known, not even anywhere.
    """
    kind = "handicap" if handicap else race_class
    found = in_force(
        "elimination", jurisdiction, on, overrides, lambda body: bool({kind, ANY_RACE} & set(listed(body["races"])))
    )
    body = found[0].body
    return Elimination(body["by"], bool(body.get("above_band_first", False)), found[0].rule)


def stage_rules(
    jurisdiction: str, on: date, code: str = "flat", *, overrides: Overrides = NONE
) -> tuple[StageRule, ...]:
    """Return by when what must be said, one rule a stage, the nearest; none where nothing is known."""
    nearest: dict[str, Entry] = {}
    for entry in candidates("race stage", jurisdiction, overrides, lambda body: body["code"] == code):
        if entry.rule.in_force(on):
            nearest.setdefault(entry.body["stage"], entry)
    return tuple(
        StageRule(
            stage,
            int(entry.body["days_before"]),
            time.fromisoformat(entry.body["at"]),
            int(entry.body.get("entered_days_before", 0)),
            entry.rule,
            time.fromisoformat(entry.body["extended_to"]) if "extended_to" in entry.body else None,
            entry.body.get("few", {}),
        )
        for stage, entry in nearest.items()
    )
