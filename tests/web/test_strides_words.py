"""How long and how quick strides were, in words."""

import re
from math import nan

from upsides.demo.morning_sim.morning import alone
from upsides.demo.morning_sim.receiver import Receiver
from upsides.recordings.measured import Speeds
from upsides.recordings.measuring import measured
from upsides.recordings.tracking import track_of
from upsides.web.recordings.strides_words import stride_words

TOLD = r"At a band m/s a stride was ([\d.]+) m long, and there were ([\d.]+) a second \((\d+) counted"


def test_strides_that_were_counted_are_told_with_length_and_rate() -> None:
    """Length times rate is a speed of the band, and both are about what Witte et al. 2006 have: 4.46 m and 2.02 a
    second at 9 m/s, 7.12 m and 2.39 at 17."""
    felt = alone(3, Receiver(rate_hz=5.0, motion_hz=50.0, heart=False)).recording
    steps = measured(track_of(felt), felt).speeds
    for low, high in ((8, 10), (10, 12), (14, 16)):
        band = {step: one for step, one in steps.items() if low <= step / 2 < high}
        found = re.match(TOLD, stride_words("a band", band))
        assert found is not None
        length, rate, count = map(float, found.groups())
        assert 0.99 * low < length * rate < 1.01 * high
        assert (4.0 < length < 7.2, 1.9 < rate < 2.45) == (True, True)
        assert count == round(sum(one.strides for one in band.values()))


def test_strides_that_nobody_felt_are_not_told() -> None:
    """Strides that were reckoned, that cannot be told, or that are fewer than twenty say neither length nor rate."""
    for steps in (
        {},
        {30: Speeds(700.0, 100.0, False)},
        {30: Speeds(700.0, nan, True)},
        {30: Speeds(130.0, 19.0, True)},
    ):
        assert stride_words("14–16", steps) == ""
    one = {30: Speeds(610.0, 90.0, True), 31: Speeds(3000.0, nan, False)}
    assert stride_words("14–16", one) == (
        "At 14–16 m/s a stride was 6.78 m long, and there were 2.25 a second (90 counted)."
    )
