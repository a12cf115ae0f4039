"""How a horse comes to run, against what authorities say."""

from datetime import date, time

import pytest

from upsides.errors import RuleFileError
from upsides.rules import band_entry, elimination, may_claim, override, runs_for_mark, stage_rules

ON = date(2024, 6, 1)


def test_british_bands_take_two_above_and_any_below() -> None:
    """Up to 2 points above the band may be entered, and horses below it (BHA, which races a rating allows, undated)."""
    found = band_entry("GB", ON)
    assert (found.above, found.below) == (2, True)
    elsewhere = band_entry("JP", ON)
    assert (elsewhere.above, elsewhere.below, elsewhere.rule) == (0, None, None)


def test_runs_for_a_british_mark() -> None:
    """Three runs, two for a winner first or second time out; two-year-olds two of them in Britain or Ireland (BHA,
    translating performance figures into an initial rating)."""
    found = runs_for_mark("GB", ON)
    assert (found.runs, found.won_first, found.won_second) == (3, 2, 2)
    assert (found.two_year_old_home_runs, found.home) == (2, ("Britain", "Ireland"))
    assert runs_for_mark("JP", ON).rule.confidence == "memory"


@pytest.mark.parametrize(
    ("place", "race_class", "handicap", "by"),
    [
        ("GB", "4", True, "weight"),
        ("GB", "group 2", False, "mark"),
        ("GB", "listed", False, "mark"),
        ("GB", "5", False, "ballot"),
        ("US", "", True, "ballot"),
    ],
)
def test_who_is_left_out(place: str, race_class: str, handicap: bool, by: str) -> None:  # noqa: FBT001  # a case
    """British handicaps from the lowest weight, pattern and listed races from the lowest rating, else a ballot
    (racingquestions.co.uk, what governs field sizes)."""
    assert elimination(place, ON, race_class, handicap=handicap).by == by


def test_british_flat_declarations_are_due_at_ten_two_days_before() -> None:
    """Declared by 10:00 two days before the race, confirmed at noon where closed a week before (Rules (F)87, (F)89)."""
    found = {rule.stage: rule for rule in stage_rules("GB", ON)}
    assert (found["declare"].days_before, found["declare"].at) == (2, time(10))
    assert (found["confirm"].days_before, found["confirm"].at, found["confirm"].entered_days_before) == (6, time(12), 7)
    assert found["enter"].rule.confidence == "memory"
    assert stage_rules("JP", ON) == ()


def test_a_rule_of_the_yard_goes_first() -> None:
    """A yard's own stage goes before the shipped one, and the other stages stay, whichever way it names the place."""
    body = {"code": "flat", "stage": "declare", "days_before": 3, "at": "10:00"}
    for place in ("GB", "Britain"):
        own = override("race stage", "Three days for now", place, "notice", **body)
        found = {rule.stage: rule for rule in stage_rules("GB", ON, overrides=own)}
        assert found["declare"].days_before == 3
        assert "confirm" in found


def test_a_stage_that_cannot_be_is_refused() -> None:
    """A time of day or a stage that cannot be meant is refused when the rules are read."""
    for wrong in ({"at": "25:00", "stage": "declare"}, {"at": "10:00", "stage": "saddle"}):
        with pytest.raises(RuleFileError):
            override("race stage", "Wrong", "GB", "nobody", code="flat", days_before=2, **wrong)
    with pytest.raises(RuleFileError):
        override("elimination", "Wrong", "GB", "nobody", races=["any"], by="colour", ties="ballot")


@pytest.mark.parametrize(
    ("race_class", "kinds", "may"),
    [("2", {"handicap"}, 1), ("listed", {"handicap"}, 0), ("2", set(), 0), ("7", set(), 1), ("1", {"selling"}, 1)],
)
def test_where_claims_count(race_class: str, kinds: set[str], may: int) -> None:
    """Handicaps that are not listed, sellers, weight-for-age races of classes 3 to 7 (BHA, Rule (F)140, 2014)."""
    assert may_claim("GB", ON, race_class, kinds).value == may
    assert may_claim("US-CA", ON, race_class, kinds).value == 1
