"""Feed in store."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import FeedingRefusedError
from upsides.feeding import Batch, Fed, Plan, Serving, fed_between, stock, used_a_day

DAY = date(2026, 3, 2)


def _day(after: int) -> date:
    return DAY + timedelta(days=after)


def _fed(days: int, kg: float, horse: str = "Umber") -> list[Fed]:
    return [Fed(_day(after), horse, "oats", kg) for after in range(days)]


def test_a_stock_is_counted_as_by_hand() -> None:
    """Of 200 kg, 10 kg a day for five days leave 150: fifteen days, so with four days' lead order by the eleventh."""
    batches = [Batch("oats", "A", DAY, 100, opened=DAY), Batch("oats", "B", DAY, 100)]
    found = stock("oats", batches, _fed(5, 10), _day(4), a_day=10, lead_days=4)
    assert (found.delivered, found.taken, found.left, found.spilled, found.unaccounted) == (200, 50, 150, 0, 0)
    assert found.days == pytest.approx(15)
    assert found.last_day == _day(19)
    assert found.order_by == _day(15)


def test_a_part_of_a_day_is_no_day() -> None:
    """Nineteen kg at 10 kg a day last through one more day, not two."""
    found = stock("oats", [Batch("oats", "A", DAY, 19, opened=DAY)], [], DAY, a_day=10)
    assert (found.days, found.last_day) == (pytest.approx(1.9), _day(1))


def test_what_a_finished_batch_had_left_is_spilled_and_not_in_store() -> None:
    """A batch of 100 kg written down as finished after 60 kg were fed has 40 kg spilled, and nothing is left."""
    found = stock("oats", [Batch("oats", "A", DAY, 100, DAY, _day(5))], _fed(6, 10), _day(8), a_day=10)
    assert (found.taken, found.spilled, found.left) == (60, 40, 0)


def test_what_no_open_batch_can_have_given_is_told() -> None:
    """Seventy kg fed from an open batch of 50 are 20 kg unaccounted, though a closed one stands in store."""
    batches = [Batch("oats", "A", DAY, 50, DAY), Batch("oats", "B", DAY, 50)]
    found = stock("oats", batches, _fed(7, 10), _day(6), a_day=10)
    assert (found.taken, found.left, found.unaccounted) == (50, 50, 20)


def test_nothing_used_has_no_last_day() -> None:
    """Where none is used, or next to none, there is neither a last day nor a day to order."""
    batches = [Batch("oats", "A", DAY, 100)]
    for a_day in (0.0, 1e-6):
        found = stock("oats", batches, [], DAY, a_day=a_day)
        assert (found.last_day, found.order_by) == (None, None)
    assert stock("oats", batches, [], DAY, a_day=0).days is None


def test_deliveries_to_come_and_other_feeds_do_not_count() -> None:
    """A batch that comes tomorrow, another feed, and what was fed before the first batch was opened are left aside."""
    batches = [
        Batch("oats", "A", DAY, 30, DAY),
        Batch("oats", "B", _day(9), 100),
        Batch("hay", "C", DAY, 500, DAY),
    ]
    fed = [Fed(_day(-1), "Umber", "oats", 5), *_fed(2, 5), Fed(DAY, "Umber", "hay", 8)]
    found = stock("oats", batches, fed, _day(1), a_day=5)
    assert (found.delivered, found.taken, found.unaccounted) == (30, 10, 0)


@given(
    st.lists(st.tuples(st.integers(0, 10), st.floats(1, 300), st.integers(0, 10), st.integers(0, 10)), max_size=6),
    st.lists(st.tuples(st.integers(0, 30), st.floats(0, 20)), max_size=30),
)
def test_the_arithmetic_adds_up(drawn: list[tuple[int, float, int, int]], fed: list[tuple[int, float]]) -> None:
    """Delivered is taken, spilled and left together; fed is taken and unaccounted; none of them is below zero."""
    batches = [
        Batch("oats", f"{n}", _day(came), kg, _day(came + wait), _day(came + wait + lasts) if lasts else None)
        for n, (came, kg, wait, lasts) in enumerate(drawn)
    ]
    rows = [Fed(_day(after), "Umber", "oats", kg) for after, kg in fed]
    today = _day(20)
    found = stock("oats", batches, rows, today, a_day=1)
    begun = min((b.opened or b.delivered for b in batches), default=today)
    total = sum(row.kg for row in rows if begun <= row.day <= today)
    assert found.taken + found.spilled + found.left == pytest.approx(found.delivered, abs=1e-8)
    assert found.taken + found.unaccounted == pytest.approx(total, abs=1e-8)
    assert min(found.taken, found.spilled, found.left, found.unaccounted) >= -1e-8


def test_plans_run_until_the_next() -> None:
    """A horse is fed by its plan until its next, and nothing from an empty one on; feed times are added up."""
    day = (Serving("morning", "oats", 1.0), Serving("evening", "oats", 2.0), Serving("evening", "hay", 6.0))
    plans = [Plan("Umber", DAY, day), Plan("Umber", _day(2), day[:1]), Plan("Umber", _day(3), ())]
    found = fed_between(plans, _day(-1), _day(5))
    assert [(row.day, row.feed, row.kg) for row in found] == [
        (_day(0), "oats", 3.0),
        (_day(0), "hay", 6.0),
        (_day(1), "oats", 3.0),
        (_day(1), "hay", 6.0),
        (_day(2), "oats", 1.0),
    ]
    assert used_a_day(found, "oats", DAY, _day(6)) == pytest.approx(1.0)


def test_two_plans_from_one_day_are_refused() -> None:
    """A horse with two plans from one day is refused by name."""
    with pytest.raises(FeedingRefusedError, match="Umber"):
        fed_between([Plan("Umber", DAY, ()), Plan("Umber", DAY, ())], DAY, DAY)


@pytest.mark.parametrize(
    "batch", [(0, None, None), (-5, None, None), (float("nan"), None, None), (5, -1, None), (5, None, 3), (5, 3, 2)]
)
def test_a_batch_that_cannot_be_is_refused(batch: tuple[float, int | None, int | None]) -> None:
    """No mass, opened before it came, finished before it was opened or without being opened: each is refused."""
    kg, opened, finished = batch
    days = [None if after is None else _day(after) for after in (opened, finished)]
    with pytest.raises(FeedingRefusedError, match="batch A of oats"):
        Batch("oats", "A", DAY, kg, *days)


def test_a_use_or_a_wait_that_cannot_be_is_refused() -> None:
    """Less than nothing a day, no number, a negative wait and days the wrong way round are refused."""
    for a_day, lead in [(-1.0, 0), (float("nan"), 0), (1.0, -1)]:
        with pytest.raises(FeedingRefusedError):
            stock("oats", [], [], DAY, a_day=a_day, lead_days=lead)
    with pytest.raises(FeedingRefusedError, match="last day"):
        used_a_day([], "oats", DAY, _day(-1))


def test_what_was_fed_before_the_first_known_batch_was_opened_is_of_another() -> None:
    """Three days between a delivery and its opening were fed from a batch that is not asked about: nothing is odd."""
    found = stock("oats", [Batch("oats", "B", DAY, 100, _day(3))], _fed(6, 10), _day(5), a_day=10)
    assert (found.taken, found.left, found.unaccounted) == (30, 70, 0)
