"""Signs at rest, as published on general veterinary pages (collected in 2026; sources differ by a few units)."""

from datetime import date

import pytest

from upsides.errors import NoRuleError
from upsides.rules import override, resting_range

ON = date(2026, 5, 1)


def test_ranges_as_published() -> None:
    """99 to 101 degrees Fahrenheit, 28 to 44 beats, 10 to 24 breaths and two seconds are given with their units."""
    temperature = resting_range("temperature", ON)
    assert [round(value * 9 / 5 + 32) for value in (temperature.low, temperature.high)] == [99, 101]
    pulse, breaths, refill = (resting_range(sign, ON) for sign in ("pulse", "breaths", "capillary refill"))
    assert (pulse.low, pulse.high, pulse.call_above, pulse.unit) == (28, 44, 50, "a minute")
    assert (breaths.low, breaths.high, breaths.call_above) == (10, 24, None)
    assert (refill.high, refill.unit) == (2, "s")


def test_a_yards_own_range_goes_first_and_an_unknown_sign_is_refused() -> None:
    """A yard's own range hides the published one; a sign that nothing is published for is refused."""
    mine = override("vital signs", "ours", "anywhere", "our vet", kind="pulse", low=26, high=40, unit="a minute")
    assert resting_range("pulse", ON, overrides=mine).rule.origin == "yard (given in code)"
    with pytest.raises(NoRuleError, match="vital signs"):
        resting_range("mood", ON)  # type: ignore[arg-type]  # the refusal is meant
