"""How many runs a horse still needs before it gets a mark."""

from dataclasses import dataclass

from upsides.placing.conditions.who import PLAIN, Terms, age_at
from upsides.placing.horse import Horse
from upsides.placing.race import Race
from upsides.rules import Rule, place_named, runs_for_mark

YOUNGEST: int = 2


@dataclass(frozen=True, slots=True)
class ForMark:
    """What a horse needs for a mark.

    Attributes:
        has: whether it has one.
        runs: runs still needed, whatever comes of them; 0 where it could have one.
        after_win: runs still needed if it wins the next one.
        home: of the runs needed, those that must be in `places`.
        places: where those must be; empty where anywhere will do.
        rule: who says so.
    """

    has: bool
    runs: int
    after_win: int
    home: int
    places: tuple[str, ...]
    rule: Rule


def needed_for_mark(horse: Horse, race: Race, terms: Terms = PLAIN) -> ForMark:
    """Return what a horse needs for a mark, by the rules of the place where a race is run, up to that race's day.

    Only runs on the race's code count. The handicapper may ask for more, or rate a horse sooner.

    Raises:
        NoRuleError: nothing is known of the place.
    """
    rule = runs_for_mark(race.jurisdiction, race.day, overrides=race.rules(terms.yard))
    runs = sorted((run for run in horse.ran_before(race.day) if run.code == race.code), key=lambda run: run.day)
    young = age_at(horse, race, terms) == YOUNGEST and rule.two_year_old_home_runs
    at_home = sum(bool(run.country) and place_named(run.country) in rule.home for run in runs)
    home = max(0, rule.two_year_old_home_runs - at_home) if young else 0
    won = [run.won for run in runs]
    still = max(_still(won, rule.runs, rule.won_first, rule.won_second), home)
    with_win = 1 + max(_still([*won, True], rule.runs, rule.won_first, rule.won_second), home - 1)
    if horse.marks_on(race.day, race.surface or ""):
        return ForMark(has=True, runs=0, after_win=0, home=0, places=(), rule=rule.rule)
    places = rule.home if home else ()
    return ForMark(has=False, runs=still, after_win=min(still, with_win), home=home, places=places, rule=rule.rule)


def _still(won: list[bool], runs: int, won_first: int, won_second: int) -> int:
    """Return the runs still needed after these, by the most favourable way."""
    ways = [runs]
    if won[:1] == [True]:
        ways.append(won_first)
    if won[1:2] == [True]:
        ways.append(won_second)
    return max(0, min(ways) - len(won))
