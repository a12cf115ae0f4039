"""What of a work was at pace."""

import numpy as np
import pytest

from upsides.recordings.work import NO_PACE, Split, at_pace
from upsides.trade.units import FURLONG_M


def _of(*seconds: float) -> list[Split]:
    return [Split(FURLONG_M, one, 0.1) for one in seconds]


def test_jumping_off_and_pulling_up_are_no_pace() -> None:
    """A first furlong of 15.3 s before ones of 13.9 was the run-up, a last of 16.8 the pulling up: neither is pace."""
    even = [13.9, 13.8, 13.7, 13.8, 13.9, 13.8]
    told = at_pace(_of(15.3, *even, 16.8))
    assert told.metres == pytest.approx(6 * FURLONG_M)
    assert told.seconds == pytest.approx(sum(even))


def test_a_furlong_somewhat_slower_is_pace() -> None:
    """A work that quickens by two hundredths a furlong keeps all of them, and of two lengths neither is left out."""
    assert at_pace(_of(14.3, 14.0, 13.7, 13.5)).metres == pytest.approx(4 * FURLONG_M)
    assert at_pace(_of(15.3, 13.0)).metres == pytest.approx(2 * FURLONG_M)


@pytest.mark.parametrize("end", ["first", "last"])
def test_no_tenth_of_a_second_takes_a_furlong_in_or_out(end: str) -> None:
    """As a first or last furlong slows, the speed told moves on without a step, near both ends of the rule too."""
    speeds, far = [], []
    for seconds in np.arange(13.5, 17.0, 0.01):
        splits = _of(seconds, 13.9, 13.9, 13.9, 13.9, 13.9)
        told = at_pace(splits[::-1] if end == "last" else splits)
        speeds.append(told.speed_ms)
        far.append(told.metres)
    assert np.abs(np.diff(speeds)).max() < 0.005
    assert np.abs(np.diff(far)).max() < 0.02 * FURLONG_M
    assert far[0] == pytest.approx(6 * FURLONG_M)
    assert far[-1] == pytest.approx(5 * FURLONG_M)


def test_the_rule_ends_where_it_says() -> None:
    """At 9 % slower nothing of a first length counts, at 3 % all of it."""
    none, whole = NO_PACE
    assert at_pace(_of(13.9 / none, 13.9, 13.9)).metres == pytest.approx(2 * FURLONG_M)
    assert at_pace(_of(13.9 / whole, 13.9, 13.9)).metres == pytest.approx(3 * FURLONG_M)


def test_nothing_is_no_speed() -> None:
    """Without any length there is no speed."""
    assert np.isnan(at_pace(()).speed_ms)
