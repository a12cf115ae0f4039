"""Which horses ate which batch."""

from datetime import date, timedelta

import pytest

from upsides.errors import BatchUnknownError, FeedingRefusedError
from upsides.feeding import Batch, Eater, Fed, who_ate

DAY = date(2026, 3, 2)


def _day(after: int) -> date:
    return DAY + timedelta(days=after)


A = Batch("oats", "A", DAY, 100, DAY, _day(4))
B = Batch("oats", "B", DAY, 100, _day(4), _day(8))
HAY = Batch("hay", "A", DAY, 900, DAY)


def test_a_batch_is_traced_to_the_horses_fed_while_it_was_open() -> None:
    """The horse fed on its days is found with days and amount; the one fed after it, or another feed, is not."""
    fed = [
        *(Fed(_day(after), "Umber", "oats", 2.0) for after in range(3)),
        Fed(_day(6), "Loam", "oats", 2.0),
        Fed(_day(1), "Wharf", "hay", 8.0),
    ]
    assert who_ate(A, [A, B, HAY], fed, DAY, _day(10)) == (
        Eater("Umber", _day(0), _day(2), 3, 6.0, "only this batch was open"),
    )


def test_two_batches_open_on_a_day_leave_it_open_which() -> None:
    """A horse fed only on the day on which both stood open may have eaten either, and is listed under both."""
    fed = [Fed(_day(4), "Loam", "oats", 2.0)]
    for batch in (A, B):
        assert [row.sureness for row in who_ate(batch, [A, B], fed, DAY, _day(10))] == ["others were open too"]


def test_a_forgotten_note_hides_nobody() -> None:
    """Where no batch was written down as open, every horse fed from the store may have eaten the one in question."""
    unopened = Batch("oats", "C", DAY, 100)
    fed = [Fed(_day(-1), "Early", "oats", 2.0), Fed(_day(1), "Loam", "oats", 2.0)]
    found = who_ate(unopened, [unopened], fed, _day(-5), _day(10))
    assert [(row.horse, row.sureness) for row in found] == [("Loam", "no batch was written down as open")]


def test_only_the_days_asked_about_count() -> None:
    """Both days are included, and no other is."""
    fed = [Fed(_day(after), "Umber", "oats", 2.0) for after in range(5)]
    (found,) = who_ate(A, [A], fed, _day(1), _day(3))
    assert (found.first, found.last, found.days) == (_day(1), _day(3), 3)


def test_a_horse_that_got_none_did_not_eat_it() -> None:
    """An amount of nothing is no meal."""
    assert who_ate(A, [A], [Fed(DAY, "Umber", "oats", 0.0)], DAY, _day(1)) == ()


def test_an_unknown_batch_and_days_the_wrong_way_round_are_refused() -> None:
    """A batch that was not delivered is refused by its number, and so is a last day before the first."""
    with pytest.raises(BatchUnknownError, match="'B'"):
        who_ate(B, [A, HAY], [], DAY, DAY)
    with pytest.raises(FeedingRefusedError, match="last day"):
        who_ate(A, [A], [], DAY, _day(-1))
