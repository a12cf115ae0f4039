"""What of a work was at pace."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from upsides.recordings.measured import Piece
from upsides.recordings.work import NO_PACE, Split, Work, at_pace, counts_by, fair
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


def test_what_a_length_counts_is_known_length_by_length() -> None:
    """A run-up counts nothing, one somewhat slower in part; where a circuit closes a length of no time counts nothing;
    of a thumb, which clocks from a flying start, all counts."""
    none = Split(0.0, 0.0, 0.1)
    told = counts_by("tracker", [*_of(15.3, 13.9, 13.9, 14.6), none])
    assert told == (0.0, 1.0, 1.0, pytest.approx((13.9 / 14.6 - 0.91) / 0.06), 0.0)
    assert counts_by("thumb", _of(15.3, 13.9, 13.9)) == (1.0, 1.0, 1.0)
    assert len(fair([none])) == 0


def test_jumping_off_is_no_pace_away_from_the_gallops_either() -> None:
    """Fast work on ground that no gallop is drawn on: its furlongs count from where it began, the run-up does not."""
    furlongs = tuple(_of(18.6, 13.0, 13.2, 13.5))
    piece = Piece("fast", 0.0, 70.0, 900.0, 0.0, 12.9, 0.1, 15.6, furlongs, fast_m=3 * FURLONG_M)
    assert piece.pace_ms == pytest.approx(3 * FURLONG_M / 39.7)
    one = Work(1, datetime(2026, 5, 20, tzinfo=UTC), "tracker", splits=furlongs, speed_ms=12.9)
    assert one.pace_ms == piece.pace_ms
    assert replace(one, source="thumb").pace_ms == 12.9
