"""Which races and horses are linked, on graphs small enough to see."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from upsides.ratings.connected import connected


def test_two_groups_are_told_apart() -> None:
    """Two circuits that share no horse are two groups, the one with more runs first."""
    race = np.array(["x", "x", "a", "a", "a", "b", "b"])
    horse = np.array([7, 8, 1, 2, 3, 3, 4])
    found = connected(race, horse)
    assert found.races.tolist() == ["a", "b", "x"]
    assert found.race_group.tolist() == [0, 0, 1]
    assert found.horse_group.tolist() == [0, 0, 0, 0, 1, 1]
    assert found.group_runs.tolist() == [5, 2]
    assert found.group_races.tolist() == [2, 1]
    assert found.group_horses.tolist() == [4, 2]
    assert not found.whole


def test_one_horse_links_two_races() -> None:
    """A single horse that ran in both makes two races comparable."""
    assert connected(np.array([1, 1, 2, 2]), np.array([1, 2, 2, 3])).whole


@given(st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), min_size=1, max_size=25))
def test_a_run_never_crosses_groups(runs: list[tuple[int, int]]) -> None:
    """Each run's race and horse are in one group, and the sizes add up."""
    race, horse = np.array(runs).T
    found = connected(race, horse)
    left = found.race_group[np.searchsorted(found.races, race)]
    right = found.horse_group[np.searchsorted(found.horses, horse)]
    assert (left == right).all()
    assert found.group_runs.sum() == len(runs)
    assert found.group_races.sum() == found.races.size
    assert (np.diff(found.group_runs) <= 0).all()
