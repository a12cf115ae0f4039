"""Horses of ours in one race meet each other, in a field that is otherwise expected from past ones."""

from dataclasses import replace

import numpy as np
import pytest

from kept_levels import SETTING, kept
from upsides.placing.chance import Chances, ExpectedField, Kept, Runner, chances_of_each, own_of

NINE = 9
LEVEL = 70.0


def expected(rivals: int = NINE, weight: float = 126.0) -> ExpectedField:
    """Return five past fields, all alike: so many horses of 70 lb known to 3 lb, all at one weight."""
    each = tuple(np.full(rivals, LEVEL) for _ in range(5))
    size, level = (float(rivals),) * 3, (LEVEL,) * 3
    errors, weights = tuple(np.full(rivals, 3.0) for _ in each), tuple(np.full(rivals, weight) for _ in each)
    return ExpectedField(
        each, errors, weights, tuple(np.zeros(rivals) for _ in each), np.full(5, 0.2), size, level, level
    )


def told(
    library: Kept, runners: list[Runner], entered: tuple[int, ...], field: ExpectedField | None = None
) -> list[Chances]:
    return chances_of_each(runners, own_of(runners, library), SETTING, field or expected(), library, entered=entered)


def test_ours_of_one_race_do_not_win_it_more_than_once() -> None:
    """Three strong ones that are entered together win at most one race; each alone against the field would win half."""
    library = kept(dict.fromkeys("abc", LEVEL + 12.0))
    runners = [Runner(key) for key in "abc"]
    alone, together = told(library, runners, ()), told(library, runners, (0, 1, 2))
    assert sum(one.win.value for one in alone) > 1.3
    assert sum(one.win.value for one in together) < 1.0
    assert [one.rank[0] for one in together] == pytest.approx([2.0] * 3, abs=1.0)


def test_ten_of_ours_alike_share_the_race() -> None:
    """Where ours are the whole field and nothing tells them apart, each has its tenth, and the field is no larger."""
    library = kept(dict.fromkeys("abcdefghij", LEVEL))
    found = told(library, [Runner(key) for key in "abcdefghij"], tuple(range(10)))
    assert [one.win.value for one in found] == pytest.approx([0.1] * 10, abs=0.02)
    assert {one.field_size for one in found} == {(10.0, 10.0, 10.0)}
    assert all(one.field_level[0] == pytest.approx(LEVEL, abs=1.0) for one in found)


def test_one_that_is_not_entered_meets_those_that_are() -> None:
    """A horse that is not in the race meets ours that are, and is met by none of them."""
    library = kept({"star": LEVEL + 25.0, "asker": LEVEL})
    star, asker = Runner("star"), Runner("asker")
    before, after = told(library, [star, asker], ()), told(library, [star, asker], (0,))
    assert after[0] == before[0]
    assert after[1].win.value < 0.7 * before[1].win.value
    assert after[1].field_size == before[1].field_size


def test_one_that_may_not_get_a_run_counts_for_less() -> None:
    """One of ours that seldom gets a run leaves its place to one of the field to expect."""
    library = kept({"star": LEVEL + 25.0, "asker": LEVEL})
    runners = [Runner("star"), Runner("asker")]
    sure = told(library, runners, (0,))[1]
    seldom = told(library, [replace(runners[0], runs=0.1), runners[1]], (0,))[1]
    nobody = told(library, runners, ())[1]
    assert sure.win.value < seldom.win.value < nobody.win.value
    assert seldom.field_size == nobody.field_size


def test_weights_of_ours_go_into_what_rivals_carry() -> None:
    """Ten pounds less than the field and one of ours carry on average is worth ten pounds where a pound is a pound."""
    library = kept({"a": LEVEL, "b": LEVEL})
    light, other = told(library, [Runner("a", 116.0), Runner("b", 126.0)], (0, 1))
    assert light.weighed == pytest.approx(-10.0)
    assert other.weighed == pytest.approx(10.0 / NINE)


def test_stalls_of_ours_are_theirs() -> None:
    """Where low stalls lose 12 lb to high ones, a better one of ours in a high stall is the harder rival."""
    library = kept({"a": LEVEL, "b": LEVEL + 12.0}, sd=0.5, slope=12.0)
    wins = [told(library, [Runner("a", stall=5), Runner("b", stall=stall)], (0, 1))[0].win.value for stall in (1, 10)]
    assert wins[0] > wins[1]
