"""Works of horses of different ages, against the scale and the curve that they are read with."""

from datetime import date

import pytest

from upsides.recordings.judging import age_lb
from upsides.rules import lengths_below_peak, pounds_per_length, weight_for_age


def test_ages_are_read_with_the_scale() -> None:
    """A three-year-old beside an older horse over five furlongs in May is allowed what the British scale has for
    it, and a work of two furlongs is read as one of five; the same age is allowed nothing; a day and an age of
    which the scale says nothing is not read. Where there is no scale the published curve counts, as for levels."""
    on = date(2026, 5, 5)
    allowed = weight_for_age("Britain", on, 1005.84, 3).value
    assert allowed > 0
    assert age_lb("Britain", on, 402.336, 3, 5) == (pytest.approx(allowed), pytest.approx(0.2 * allowed))
    assert age_lb("Britain", on, 402.336, 5, 3) == (pytest.approx(-allowed), pytest.approx(0.2 * allowed))
    assert age_lb("Britain", on, 402.336, 4, 4) == (0.0, 0.0)
    assert age_lb("Britain", date(2026, 1, 5), 402.336, 2, 5) is None
    curve, (below, _rule) = age_lb("anywhere", on, 402.336, 2, 5), lengths_below_peak(2.5, 1005.84, on)
    assert curve is not None
    assert curve[0] == pytest.approx(float(below[0]) * pounds_per_length(1005.84, on).value)
