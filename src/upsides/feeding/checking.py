"""Figures that cannot be right are refused before anything is reckoned from them."""

from math import isfinite
from typing import Final

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _

MOST_MASS: Final = 1500.0
"""kg; heavier than any horse on record, so that a mass typed in pounds or grams is noticed."""


def checked(field: str, value: float, lowest: float, highest: float, unit: str) -> float:
    """Return the value as a number.

    Args:
        field: what it is called.
        value: the value.
        lowest: the least that it may be.
        highest: the most.
        unit: what it is counted in.

    Raises:
        FeedingRefusedError: it is no number, or lies outside the bounds.
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise FeedingRefusedError(field, value, _("it is no number"), _("write it in {unit}", unit=unit))
    if not lowest <= value <= highest:
        reason = _(
            "it does not lie between {lowest:g} and {highest:g} {unit}", lowest=lowest, highest=highest, unit=unit
        )
        raise FeedingRefusedError(field, value, reason, _("correct it, and look at the unit"))
    return float(value)


def checked_mass(mass: float) -> float:
    """Return a body mass in kg.

    Raises:
        FeedingRefusedError: it is not above 0, or heavier than any horse.
    """
    if mass == 0:
        raise FeedingRefusedError(_("body mass"), mass, _("no horse weighs nothing"), _("weigh it, or tape it"))
    return checked(_("body mass"), mass, 0, MOST_MASS, _("kg"))


def checked_name(field: str, name: str) -> str:
    """Return a name as it is.

    Raises:
        FeedingRefusedError: it is empty.
    """
    if not name.strip():
        raise FeedingRefusedError(field, name, _("it has no name"), _("name it as the yard does"))
    return name
