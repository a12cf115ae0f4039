"""Hours at the wheel, and the owners' part of prize money: which rule answers, and that a yard's own goes first."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import NoRuleError
from upsides.rules import Driving, Shift, driving, held_driving, owners_part, prize_split
from upsides.rules.lookup import override

DAY = date(2026, 6, 1)


def test_rules_from_memory_say_so() -> None:
    """What nobody has checked is marked as from memory, and no figure of it is held to anything here."""
    found = driving("GB", DAY)
    assert found.hours is not None
    assert found.rules
    assert {rule.confidence for rule in found.rules} == {"memory"}


def test_a_yards_own_hours_go_first() -> None:
    """A yard's own dated rule answers before the shipped one from its day on; where none is known that is told."""
    mine = override("driving hours", "our licence", "Britain", "our licence, 2026", kind="at the wheel a day", value=8,
                    unit="hours", valid_from=date(2026, 5, 1))  # fmt: skip
    assert driving("Britain", DAY, overrides=mine).hours == 8.0
    assert driving("Britain", date(2026, 4, 30), overrides=mine).hours != 8.0
    with pytest.raises(NoRuleError):
        driving("Hong Kong", DAY)


def test_the_owners_part_is_as_published() -> None:
    """British owners had 80.00 per cent of all prize money (old Orders, Schedule F9, edition of about 2012 to 2014; in
    every complete column of its table, whatever the number of prizes); where no rule is known that is told."""
    part, rule = owners_part("GB", DAY)
    assert part == pytest.approx(0.8)
    assert "Schedule F9" in rule.source
    with pytest.raises(NoRuleError):
        owners_part("JP", DAY)


def minute_by_minute(driven: list[tuple[int, int]], rule: Driving) -> tuple[int, int]:
    """Return minutes at the wheel and the most between breaks, told minute by minute from the words of the rule: a
    break is `break_minutes` on end, or one of the first part and later one of the second."""
    at = {minute for first, last in driven for minute in range(first, last)}
    since = longest = idle = 0
    parted = False
    for minute in range(min(at), max(at) + 1):
        if minute not in at:
            idle += 1
            continue
        if idle >= (rule.break_minutes or 0) or (parted and idle >= rule.parts[1]):
            since, parted = 0, False
        elif idle >= rule.parts[0]:
            parted = True
        since, idle = since + 1, 0
        longest = max(longest, since)
    return len(at), longest


@given(st.lists(st.tuples(st.integers(0, 1300), st.integers(1, 300)), min_size=1, max_size=7))
def test_hours_at_the_wheel_are_those_told_minute_by_minute(spans: list[tuple[int, int]]) -> None:
    """Whatever stretches were driven, in any order and overlapping: the sum and the most between breaks are those of
    going through the day a minute at a time, and what is over follows from the rule's own figures."""
    rule = driving("GB", DAY)
    begun = datetime(2026, 6, 1, tzinfo=UTC)
    spans = [(first, first + length) for first, length in spans]
    shifts = [Shift(begun + timedelta(minutes=first), begun + timedelta(minutes=last)) for first, last in spans]
    total, longest = minute_by_minute(spans, rule)
    found = held_driving(shifts, rule)
    assert (found.total, found.longest) == (timedelta(minutes=total), timedelta(minutes=longest))
    assert rule.hours is not None
    assert rule.after_hours is not None
    assert found.over_day == (total > 60 * rule.hours)
    assert found.over_break == (longest > 60 * rule.after_hours)


FIRST_AND_SECOND = {  # per cent of all prize money of ten prizes: owner, trainer, rider, stable; first, then second
    False: ((47.92, 6.08, 4.46, 2.99), (16.08, 0.87, 0.63, 0.87)),
    True: ((43.92, 5.42, 3.97, 2.56), (18.08, 1.20, 0.88, 1.08)),
}
"""British Rules of Racing, old Orders, Schedule F9, edition of about 2012 to 2014; pattern and listed races: True."""
KEPT = 1.63
"""Per cent of all prize money that goes to nobody of the yard, by the same schedule."""


@pytest.mark.parametrize("pattern", [False, True])
@pytest.mark.parametrize("place", [1, 2])
def test_the_split_of_a_place_is_that_of_the_schedule(pattern: bool, place: int) -> None:  # noqa: FBT001 -- a case
    """Each one's part of a place's own prize is its column over the four columns together, what goes to nobody of the
    yard taken off all alike, to the printed digit; of a country without columns by place the owners' part alone."""
    columns = FIRST_AND_SECOND[pattern][place - 1]
    found = prize_split("GB", DAY, place, pattern=pattern)
    got = (found.owner, found.trainer, found.rider, found.staff)
    assert [100 * one for one in got if one is not None] == pytest.approx(
        [(100 - KEPT) * one / sum(columns) for one in columns], abs=0.06
    )
    assert prize_split("FR", DAY, place).trainer is None
    assert prize_split("FR", DAY, place).owner == owners_part("FR", DAY)[0]
    with pytest.raises(NoRuleError):
        prize_split("JP", DAY, place)
