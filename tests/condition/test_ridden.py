"""What taking rider, gallop, going, rise and heat out of readings does to the watch, on simulated yards."""

import numpy as np

from upsides.condition.ridden import DOES, OFF, SLOWER, compare_freed, ridden_yard
from upsides.condition.troubles import RECOVERY, START


def test_what_remains_varies_less_and_yards_differ_in_nothing_else() -> None:
    """Within horses the heart a minute after work varies less once it is freed, and no other kind is changed."""
    yard = ridden_yard(3)
    as_is, freed = (yard.readings(freed=one) for one in (False, True))
    part = as_is.of(RECOVERY)

    def within(value: np.ndarray) -> float:
        horse = as_is.horse[part]
        return float((value[part] - (np.bincount(horse, value[part]) / np.bincount(horse))[horse]).std())

    assert within(freed.value) < 0.95 * within(as_is.value)
    others = ~np.isin(as_is.kind, list(DOES))
    assert np.array_equal(as_is.value[others], freed.value[others])
    assert as_is.day.min() == START


def test_taking_out_costs_no_pointing_and_sees_no_fewer() -> None:
    """In eight yards of 40 horses readings that are freed point no more often where nothing is wrong (to two standard
    errors of so many pointings), and no fewer horses that are off are seen, on the mean no later by more than four
    days."""
    as_is, freed = compare_freed(range(8))
    error = np.sqrt(as_is.ordinary / (8 * 240))
    assert freed.ordinary < as_is.ordinary + 2 * error
    assert np.mean(list(freed.seen.values())) >= np.mean(list(as_is.seen.values())) - 0.02
    assert np.mean(list(freed.days.values())) < np.mean(list(as_is.days.values())) + 4.0
    assert set(freed.days) == set(SLOWER)
    assert len(OFF) == 4
