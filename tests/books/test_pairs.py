"""Pairs on the evening list: who works upsides goes in one lot, beside the other, to one gallop."""

from upsides.books.diary.work import Ordered
from upsides.books.queries.pairs import in_pairs


def test_two_that_work_upsides_go_together() -> None:
    """Of a pair the second takes lot and gallop of the first and stands next to it, places of the lot counted anew."""
    found = {
        1: Ordered("fast", lot=1.0, place=1.0, rider=7, upsides=[3]),
        2: Ordered("walk", lot=1.0, place=2.0, rider=8),
        3: Ordered("fast", lot=2.0, place=1.0, gallop=5, rider=9, upsides=[1]),
        4: Ordered("fast", lot=2.0, place=2.0, rider=7),
    }
    made = in_pairs(found, {})
    assert [(made[one].lot, made[one].place, made[one].gallop) for one in (1, 3)] == [(1, 1, 5), (1, 2, 5)]
    assert (made[2].place, made[3].rider, made[4]) == (3, 9, found[4])


def test_a_rider_has_one_horse_of_a_pair() -> None:
    """Who rides another horse of the lot that the second comes into rides it no more."""
    found = {1: Ordered("fast", lot=1.0, rider=7, upsides=[2]), 2: Ordered("fast", lot=2.0, rider=7, upsides=[1])}
    assert [in_pairs(found, {})[one].rider for one in (1, 2)] == [7, None]


def test_a_pair_that_does_not_do_the_same_is_none() -> None:
    """Where one of two does something else that day neither is said to go beside the other."""
    found = {1: Ordered("fast", lot=1.0, upsides=[2]), 2: Ordered("walk", lot=2.0)}
    made = in_pairs(found, {})
    assert ([made[one].upsides for one in (1, 2)], made[2].lot) == ([[], []], 2)


def test_what_is_ordered_already_leads() -> None:
    """A partner that is ordered already stays, and the other goes where it goes; one ordered to walk has none."""
    found = {1: Ordered("fast", lot=1.0, gallop=5, upsides=[2]), 2: Ordered("fast", lot=2.0, gallop=5, upsides=[1])}
    there = {2: Ordered("fast", lot=3.0, place=4.0, gallop=6)}
    made = in_pairs(found, there)
    assert (made[1].lot, made[1].place, made[1].gallop, made[2]) == (3, 4, 6, found[2])
    assert in_pairs(found, {2: Ordered("walk", lot=3.0)})[1] == Ordered("fast", lot=1.0, gallop=5)


def test_a_partner_that_is_ordered_another_distance_is_left_out() -> None:
    """Five furlongs are not offered upsides with a horse that is ordered three; with five, or no distance, they are."""
    found = {1: Ordered("fast", furlongs=5.0, upsides=[2]), 2: Ordered("fast", furlongs=5.0, upsides=[1])}
    for furlongs, together in ((3.0, False), (5.0, True), (None, True)):
        made = in_pairs(found, {2: Ordered("fast", lot=1.0, furlongs=furlongs, upsides=[1])})
        assert made[1].upsides == ([2] if together else [])
