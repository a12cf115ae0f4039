"""What a register of medicines must hold, and for how long."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from upsides.rules.book_words import MedicineEvent, RegisterField
from upsides.rules.counting import add_months
from upsides.rules.lookup import NONE, Overrides, candidates, unhidden
from upsides.rules.rule import Entry, Rule


@dataclass(frozen=True, slots=True)
class RegisterRequirement:
    """One thing that a line of the register must hold, and the rules that say so."""

    field: RegisterField
    rules: tuple[Rule, ...]


def register_requires(
    event: MedicineEvent, jurisdiction: str, on: date, *, overrides: Overrides = NONE
) -> tuple[RegisterRequirement, ...]:
    """Return what a line on `event` must hold in a jurisdiction on a day, first rule's fields first.

    A place without a rule of its own asks for nothing here; it may ask for much. Where a vet gives the medicine, what
    must be held of any giving is asked for too.
    """
    asked: dict[RegisterField, list[Rule]] = {}
    for entry in _rules(event, jurisdiction, on, overrides):
        for field in entry.body["fields"]:
            asked.setdefault(RegisterField(field), []).append(entry.rule)
    return tuple(RegisterRequirement(field, tuple(rules)) for field, rules in asked.items())


def register_lacks(
    event: MedicineEvent,
    has: Collection[RegisterField],
    jurisdiction: str,
    on: date,
    *,
    overrides: Overrides = NONE,
) -> tuple[RegisterRequirement, ...]:
    """Return what a line that holds `has` lacks."""
    wanted = register_requires(event, jurisdiction, on, overrides=overrides)
    return tuple(required for required in wanted if required.field not in has)


def kept_until(
    event: MedicineEvent, jurisdiction: str, on: date, *, overrides: Overrides = NONE
) -> tuple[date, Rule] | None:
    """Return the day to which a line of `on` must be kept, and the rule that asks longest; None where none is known."""
    found = [
        (add_months(on, entry.body["keep_months"]), entry.rule) for entry in _rules(event, jurisdiction, on, overrides)
    ]
    return max(found, key=lambda pair: pair[0], default=None)


def _rules(event: MedicineEvent, jurisdiction: str, on: date, overrides: Overrides) -> list[Entry]:
    events = {event, MedicineEvent.GIVEN} if event is MedicineEvent.GIVEN_BY_VET else {event}
    found = candidates("medicine register", jurisdiction, overrides, lambda body: body["event"] in events)
    return unhidden([entry for entry in found if entry.rule.in_force(on)], ("kind", "event"))
