"""From where a horse is looked at before the others in a morning; none of it is a limit between well and ill."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.rules.jurisdictions import ANYWHERE
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule

TOPIC: Final = "looking first"


@dataclass(frozen=True, slots=True)
class LookingFirst:
    """What draws the eye.

    Attributes:
        temperature: °C.
        above_own: °C above what is usual for the horse.
        mass: per cent of its own mean mass, either way.
        days_without_mass: days after which a missing mass is a finding.
        hours_unseen: hours without anybody's entry, likewise.
        hours_in_sight: hours for which something not right is kept in sight.
        days_open: days for which what was seen stays open for the vet; `days_open_droppings` those of droppings.
        horses: how many horses can be looked at before the others.
        for_nothing: how many horses a day readings may point at with nothing behind it.
        groups_for_nothing: how many findings a day of a barn, a device or the yard, likewise.
        rules: where each comes from, by its kind.
    """

    temperature: float
    above_own: float
    mass: float
    days_without_mass: float
    hours_unseen: float
    hours_in_sight: float
    days_open: int
    days_open_droppings: int
    horses: int
    for_nothing: float
    groups_for_nothing: float
    rules: Mapping[str, Rule]


def looking_first(on: date, overrides: Overrides = NONE) -> LookingFirst:
    """Return the values in force on a day, the yard's own first."""
    found: dict[str, float] = {}
    rules: dict[str, Rule] = {}
    for entry in in_force(TOPIC, ANYWHERE, on, overrides):
        if entry.body["kind"] not in found:
            found[entry.body["kind"]], rules[entry.body["kind"]] = float(entry.body["value"]), entry.rule
    return LookingFirst(
        temperature=found["temperature"],
        above_own=found["temperature above own"],
        mass=found["mass"],
        days_without_mass=found["days without mass"],
        hours_unseen=found["hours unseen"],
        hours_in_sight=found["hours in sight"],
        days_open=int(found["days open"]),
        days_open_droppings=int(found["days open, droppings"]),
        horses=int(found["horses"]),
        for_nothing=found["pointed at for nothing"],
        groups_for_nothing=found["groups for nothing"],
        rules=rules,
    )
