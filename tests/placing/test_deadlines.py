"""Deadlines by the course's clock, what they cost, and what comes next."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from planned_races import a_race, london
from upsides.errors import ZoneMissingError
from upsides.placing.amounts import Money
from upsides.placing.conditions.who import Terms
from upsides.placing.deadlines import (
    after_withdrawal,
    cost_to,
    deadlines,
    due_between,
    extension,
    missed,
    next_decision,
)
from upsides.placing.race import Due, Race, Stage
from upsides.rules import override


def british(day: date = date(2020, 6, 24), **more: object) -> Race:
    return a_race(day=day, zone="Europe/London", **more)


def staged() -> Race:
    """Return a race that closes early, with what each stage costs."""
    return british(
        date(2025, 7, 5),
        id="7",
        off=london("2025-07-05T14:35"),
        dues=(
            Due(Stage.ENTER, london("2025-05-07T12:00"), Money(100.0, "GBP")),
            Due(Stage.CONFIRM, london("2025-06-29T12:00"), Money(150.0, "GBP")),
            Due(Stage.SUPPLEMENT, london("2025-06-30T12:00"), Money(2000.0, "GBP")),
            Due(Stage.DECLARE, london("2025-07-03T10:00"), Money(50.0, "GBP")),
        ),
    )


def test_the_published_declaration() -> None:
    """RC48: a race on Wednesday 24 June 2020 was declared by 10:00 on Monday 22 June (BHA, update of June 2020)."""
    found = {one.stage: one for one in deadlines(british())}
    assert found[Stage.DECLARE].local == london("2020-06-22T10:00")
    assert found[Stage.DECLARE].at == datetime(2020, 6, 22, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "hour"), [(date(2025, 3, 30), 10), (date(2025, 4, 1), 9), (date(2025, 10, 26), 9), (date(2025, 10, 28), 10)]
)
def test_ten_o_clock_is_the_courses_own(day: date, hour: int) -> None:
    """Two days before a race about the change of the clock, ten o'clock in London is ten or nine in UTC."""
    found = next(one for one in deadlines(british(day)) if one.stage is Stage.DECLARE)
    assert (found.at.hour, found.local.hour) == (hour, 10)


def test_what_the_programme_states_goes_first() -> None:
    """A declaration stated in the programme replaces the rule's, and the yard's rule replaces the authority's."""
    stated = british(dues=(Due(Stage.DECLARE, london("2020-06-21T10:00")),))
    assert [one.rule for one in deadlines(stated) if one.stage is Stage.DECLARE] == [None]
    body = {"code": "flat", "stage": "declare", "days_before": 3, "at": "10:00"}
    own = Terms(override("race stage", "For a time", "Britain", "notice of 2020", **body))
    found = next(one for one in deadlines(british(), own) if one.stage is Stage.DECLARE)
    assert found.local == london("2020-06-21T10:00")


def test_a_rules_stage_behind_a_stated_later_one_is_left_out() -> None:
    """Where the programme has declarations on Saturday, a rule that puts the entry on the Monday after says nothing."""
    body = {"code": "flat", "stage": "enter", "days_before": 2, "at": "12:00"}
    own = Terms(override("race stage", "For a time", "Britain", "notice of 2020", **body))
    stated = british(dues=(Due(Stage.DECLARE, london("2020-06-20T10:00")),))
    assert Stage.ENTER not in {one.stage for one in deadlines(stated, own)}
    later = british(dues=(Due(Stage.DECLARE, london("2020-06-23T10:00")),))
    assert Stage.ENTER in {one.stage for one in deadlines(later, own)}


def test_confirmation_is_asked_of_early_closing_races_only() -> None:
    """Races that close more than six days before are confirmed at noon, others are not (BHA, Rule (F)87)."""
    early = british(dues=(Due(Stage.ENTER, london("2020-06-10T12:00")),))
    late = british(dues=(Due(Stage.ENTER, london("2020-06-18T12:00")),))
    assert [one.local for one in deadlines(early) if one.stage is Stage.CONFIRM] == [london("2020-06-18T12:00")]
    assert [one for one in deadlines(late) if one.stage is Stage.CONFIRM] == []


@pytest.mark.parametrize(
    ("kinds", "race_class", "day", "few"),
    [
        ({"handicap"}, "4", date(2025, 7, 4), 7),
        (set(), "listed", date(2025, 7, 4), 5),
        (set(), "5", date(2025, 7, 4), 3),
        (set(), "5", date(2025, 7, 5), 4),
    ],
)
def test_declarations_stay_open_where_few_are_declared(kinds: set[str], race_class: str, day: date, few: int) -> None:
    """To 10:30 with at most 7 in a flat handicap, 5 in a pattern or listed race, else 3, or 4 for races at weekends
    (BHA, Rule (F)90)."""
    race = british(day, kinds=frozenset(kinds), race_class=race_class)
    found = extension(race, Stage.DECLARE, few)
    assert found is not None
    assert (found.local.hour, found.local.minute) == (10, 30)
    assert extension(race, Stage.DECLARE, few + 1) is None
    assert extension(race, Stage.CONFIRM, 0) is None


def test_a_rule_cannot_be_applied_where_no_zone_is_known() -> None:
    """Without the course's zone a time of day by a rule is refused; a moment that the programme states is not."""
    with pytest.raises(ZoneMissingError, match="Larkmoor"):
        deadlines(a_race())
    with pytest.raises(ZoneMissingError, match="zone"):
        next_decision(staged(), None, datetime(2025, 6, 1))  # noqa: DTZ001  # what is refused


@pytest.mark.parametrize(
    ("reached", "now", "stage", "spent"),
    [
        (None, "2025-05-01T09:00", Stage.ENTER, 0),
        (None, "2025-06-01T09:00", Stage.SUPPLEMENT, 0),
        (None, "2025-07-01T09:00", None, 0),
        (Stage.ENTER, "2025-06-01T09:00", Stage.CONFIRM, 100),
        (Stage.ENTER, "2025-06-29T12:01", None, 100),
        (Stage.CONFIRM, "2025-06-29T12:01", Stage.DECLARE, 250),
        (Stage.SUPPLEMENT, "2025-07-01T09:00", Stage.DECLARE, 2000),
        (Stage.DECLARE, "2025-07-04T09:00", Stage.WITHDRAW, 300),
        (Stage.DECLARE, "2025-07-05T14:36", None, 300),
        (Stage.WITHDRAW, "2025-07-04T09:00", None, 300),
    ],
)
def test_decisions_roll(reached: Stage | None, now: str, stage: Stage | None, spent: int) -> None:
    """What is next depends on what was said and on the hour: a missed stage ends it, a supplement lets in late."""
    found = next_decision(staged(), reached, london(now))
    assert (found.deadline.stage if found else None) is stage
    if found is not None:
        assert sum(money.amount for money in found.spent) == spent
        assert found.if_silent == (stage is not Stage.WITHDRAW)


def test_costs_add_up_stage_by_stage() -> None:
    """To run costs entry, confirmation and declaration, or the supplement and the declaration."""
    race = staged()
    assert sum(money.amount for money in cost_to(race, Stage.DECLARE)) == 300
    assert sum(money.amount for money in cost_to(race, Stage.CONFIRM)) == 250
    assert sum(money.amount for money in cost_to(race, Stage.SUPPLEMENT)) == 2000


def test_deadlines_keep_their_name_when_they_move() -> None:
    """The key of a deadline is the same after its race was moved, so that a calendar replaces it."""
    race = staged()
    moved = replace(race, day=date(2025, 7, 12), dues=(Due(Stage.DECLARE, london("2025-07-10T10:00")),))
    keys = [{one.stage: one.key for one in deadlines(each)}[Stage.DECLARE] for each in (race, moved)]
    assert keys[0] == keys[1]
    assert len({one.key for one in deadlines(race)}) == 5


def test_deadlines_of_several_races_come_in_order() -> None:
    """Between two moments, those of all races stand in order of time."""
    found = due_between([staged(), british(date(2025, 7, 4))], london("2025-06-29T00:00"), london("2025-07-03T23:00"))
    assert [one.stage for one in found] == [Stage.CONFIRM, Stage.SUPPLEMENT, Stage.DECLARE, Stage.DECLARE]
    assert [one.at for one in found] == sorted(one.at for one in found)


def test_a_self_certified_non_runner_waits_six_days() -> None:
    """RC47: out on 7 April 2008 by its trainer's certificate, a horse may run from 14 April on (BHA, 2008)."""
    rule = after_withdrawal(british(date(2008, 4, 7)), certified=False)
    assert rule is not None
    assert rule.first_day == date(2008, 4, 14)
    later = after_withdrawal(british(date(2018, 4, 7)), certified=True)
    assert later is not None
    assert later.first_day == date(2018, 4, 10)


@pytest.mark.parametrize(
    ("reached", "now", "told"),
    [
        (None, "2025-05-07T11:59", False),
        (None, "2025-06-30T11:59", False),  # late entries are still taken
        (None, "2025-06-30T12:01", True),
        (Stage.ENTER, "2025-06-29T11:59", False),
        (Stage.ENTER, "2025-06-29T12:01", True),
        (Stage.CONFIRM, "2025-07-03T09:59", False),
        (Stage.CONFIRM, "2025-07-03T10:01", True),
        (Stage.SUPPLEMENT, "2025-07-03T10:01", True),
        (Stage.DECLARE, "2025-07-05T14:00", False),
        (Stage.WITHDRAW, "2025-05-01T12:00", True),
    ],
)
def test_a_missed_step_is_the_end_of_it(reached: Stage | None, now: str, told: bool) -> None:  # noqa: FBT001
    """Who missed the confirmation or the declaration is out, who was declared is not; late entry is a way in."""
    assert missed(staged(), reached, london(now)) is told
