"""How much digestible energy a day a horse needs, by its mass and its work.

Source: National Research Council 2007, Nutrient Requirements of Horses, 6th edition; each figure's own standing is
with its rule. It is for grown horses; what a two-year-old needs to grow is not in it.
"""

from dataclasses import dataclass
from typing import Final, Literal

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.feeding.checking import checked_mass
from upsides.feeding.defaults import Defaults

Work = Literal["minimum", "average", "elevated", "light", "moderate", "heavy", "very heavy"]

WORKS: Final[tuple[Work, ...]] = ("minimum", "average", "elevated", "light", "moderate", "heavy", "very heavy")
"""The first three are maintenance without work."""

MCAL_MJ: Final = 4.184
"""MJ in a Mcal, exact (National Research Council 2007, chapter 1)."""


@dataclass(frozen=True, slots=True, order=True)
class Energy:
    """Digestible energy.

    Attributes:
        mj: MJ.
    """

    mj: float

    @property
    def mcal(self) -> float:
        """The same in Mcal."""
        return self.mj / MCAL_MJ


def energy_needed(mass: float, work: str, given: Defaults) -> Energy:
    """Return what a horse needs a day.

        DE = m M                     without work
        DE = k m M                   light, moderate, heavy: m is average maintenance
        DE = k m M                   very heavy: m is elevated maintenance

    Args:
        mass: body mass M, kg.
        work: one of `WORKS`.
        given: m and k, from the rules.

    Raises:
        FeedingRefusedError: the mass cannot be, or there is no such work.
    """
    checked_mass(mass)
    if work in given.maintenance:
        return Energy(given.maintenance[work].value * mass * MCAL_MJ)
    if work not in given.work:
        raise FeedingRefusedError(
            _("work"), work, _("there is no such class"), _("choose one of {works}", works=", ".join(WORKS))
        )
    base = given.maintenance["elevated" if work == "very heavy" else "average"].value
    return Energy(given.work[work].value * base * mass * MCAL_MJ)
