"""From which heat on authorities act. They disagree, so all are told; none is a limit below which nothing happens."""

from dataclasses import dataclass
from datetime import date

from upsides.errors.wording import gettext as _
from upsides.rules.jurisdictions import ANYWHERE
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Entry, Rule

HEAT_CAUTION = (
    _(
        "A horse can overheat below every one of these: one that is excited, unfit, heavy-coated, newly come from a "
        "cool place, or that has been ill from heat before."
    ),
    _(
        "The authority of the day and the vet decide. A horse that staggers, blows and does not recover, or does not "
        "sweat, is an emergency: cool it at once and call the vet."
    ),
)
"""What always stands beside a reading."""


@dataclass(frozen=True, slots=True)
class HeatStep:
    """What one source says of a reading.

    Attributes:
        reached: whether the reading is as hot as the source speaks of.
        says: what it says from there on.
        from_c: from which value on, in degrees Celsius, of the reading that it names.
        reading: "wet bulb globe" or "shade" (plain air temperature).
        or_wet_bulb_globe: the other value that will do; None where there is none.
        rule: whose it is.
    """

    reached: bool
    says: str
    from_c: float
    reading: str
    or_wet_bulb_globe: float | None
    rule: Rule


def heat_steps(
    wet_bulb_globe_c: float, shade_c: float | None, on: date, *, overrides: Overrides = NONE
) -> list[HeatStep]:
    """Return what every source says of a reading, lowest first, whether it is reached or not.

    Args:
        wet_bulb_globe_c: wet bulb globe temperature, degrees Celsius.
        shade_c: air temperature in the shade, degrees Celsius; None where it was not read.
        on: the day.
        overrides: a yard's own rules.
    """
    found = [_step(entry, wet_bulb_globe_c, shade_c) for entry in in_force("heat", ANYWHERE, on, overrides)]
    return sorted(found, key=lambda step: (step.or_wet_bulb_globe or step.from_c, step.from_c))


def _step(entry: Entry, wet_bulb_globe_c: float, shade_c: float | None) -> HeatStep:
    body = entry.body
    value, other = float(body["value"]), body.get("or_wet_bulb_globe")
    by_shade = body["reading"] == "shade"
    reached = (shade_c is not None and shade_c >= value) if by_shade else wet_bulb_globe_c >= value
    reached = reached or (other is not None and wet_bulb_globe_c >= other)
    return HeatStep(reached, body["says"], value, body["reading"], None if other is None else float(other), entry.rule)
