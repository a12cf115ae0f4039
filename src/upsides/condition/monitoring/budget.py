"""What the yard can look at, and the limits that it makes; loads nothing that is compiled."""

from dataclasses import dataclass

from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _


@dataclass(frozen=True, slots=True)
class Budget:
    """What the yard can look at.

    Attributes:
        horses: how many horses a day may be pointed at anew with nothing behind it.
        groups: how many findings a day of a barn, a device or the whole yard.
    """

    horses: float = 1.0
    groups: float = 0.1

    def __post_init__(self) -> None:
        for name, value in (("horses a day", self.horses), ("groups a day", self.groups)):
            if not 0.0 < value < 100.0:
                raise ConditionRefusedError(
                    name, value, _("it is above 0 and below 100"), _("say how many can be looked at")
                )


@dataclass(frozen=True, slots=True)
class Limits:
    """Where charts speak, in standard deviations.

    Attributes:
        single: of one reading.
        width: of the weighted mean, in standard deviations of that mean.
        total: of the cumulative sum.
        run_length: readings until one points falsely, by all three together.
    """

    single: float
    width: float
    total: float
    run_length: float
