from fractions import Fraction

import pytest

from upsides.trade import units

# Source: international yard and pound agreement, as listed in racing-standards.md 3.
DEFINITIONS = [
    (units.INCH, "0.0254"),
    (units.HAND, "0.1016"),
    (units.YARD, "0.9144"),
    (units.FURLONG, "201.168"),
    (units.MILE, "1609.344"),
    (units.POUND, "0.45359237"),
    (units.STONE, "6.35029318"),
]


@pytest.mark.parametrize(("unit", "published"), DEFINITIONS)
def test_units_are_the_published_definitions_exactly(unit: Fraction, published: str) -> None:
    """Each exact unit equals its published definition with no rounding at all."""
    assert unit == Fraction(published)


def test_floats_for_arrays_are_the_nearest_to_the_exact_units() -> None:
    """The float beside each exact unit is the one nearest to it."""
    names = ("INCH", "HAND", "YARD", "FURLONG", "MILE")
    assert all(getattr(units, f"{name}_M") == float(getattr(units, name)) for name in names)
    assert (units.POUND_KG, units.STONE_KG) == (0.45359237, 6.35029318)
