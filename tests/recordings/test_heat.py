"""Heat: published formulas and the pairs that authorities equate."""

from datetime import date

import pytest

from upsides.recordings.heat import vapour_pressure, wet_bulb_globe, wet_bulb_globe_estimate
from upsides.rules import HEAT_CAUTION, heat_steps

ON = date(2026, 7, 1)


@pytest.mark.parametrize(
    ("t", "humidity", "e", "expected"),
    [(20, 60, 13.9936, 20.779), (25, 50, 15.7915, 24.321), (30, 40, 16.9149, 27.598), (30, 60, 25.3723, 30.921),
     (32, 60, 28.4280, 33.256), (35, 40, 22.4066, 32.591), (35, 60, 33.6099, 36.994), (40, 25, 18.3640, 33.837)],
)  # fmt: skip
def test_the_estimate_is_the_bureaus(t: float, humidity: float, e: float, expected: float) -> None:
    """Air and moisture give the published formula's values to the printed digits.

    The formula as Australia's meteorological bureau publishes it, worked out independently to these digits.
    """
    assert vapour_pressure(t, humidity) == pytest.approx(e, abs=5e-5)
    assert wet_bulb_globe_estimate(t, humidity) == pytest.approx(expected, abs=5e-4)


def test_the_federations_notice_agrees() -> None:
    """32 °C at 60 % and 40 °C at 25 % both lie above 33, as the Australian federation's notice of 2019 equates them."""
    assert (wet_bulb_globe_estimate([32, 40], [60, 25]) > 33).all()


def test_instruments_weigh_seven_to_three() -> None:
    """Wet bulb 26 and globe 40 make 30.2 (Schroter and Marlin 1995: 0.7 and 0.3)."""
    assert wet_bulb_globe(26, 40) == pytest.approx(30.2)


def test_every_source_is_told_with_whether_it_is_reached() -> None:
    """At 30.9 the measures at 28 are reached and the limits at 32, 32.5 and 33 are not; all name a source."""
    steps = heat_steps(30.9, 30.0, ON)
    reached = {step.rule.name: step.reached for step in steps}
    assert reached == {
        "New South Wales, level 1": True, "New South Wales, level 2": True, "Victoria, moderate": True,
        "Sport horses, measures begin": True, "Victoria, high": False,
        "Fit, acclimatised horses, upper limit": False, "Sport horses, competition in question": False,
    }  # fmt: skip
    assert all(step.rule.source for step in steps)
    assert "vet" in " ".join(HEAT_CAUTION)


def test_dry_heat_is_reached_by_the_shade_alone() -> None:
    """At 36 °C in the shade and 25 by wet bulb globe New South Wales' first level is reached, and nothing else."""
    steps = heat_steps(25.0, 36.0, ON)
    assert [step.rule.name for step in steps if step.reached] == ["New South Wales, level 1"]
    assert not any(step.reached for step in heat_steps(25.0, None, ON))
