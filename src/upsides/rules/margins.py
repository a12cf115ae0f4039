"""Named winning margins in lengths, by jurisdiction and date, and in seconds where slits define them."""

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from upsides.errors import NotPublishedError
from upsides.errors.wording import gettext as _
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Entry, Ruled

TOPIC: Final = "margins"
GENERAL: Final = "general"


def margin_lengths(
    jurisdiction: str, on: date, margin: str, *, list_name: str = GENERAL, overrides: Overrides = NONE
) -> Ruled:
    """Return the lengths that a named margin stands for.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        margin: the margin in full, e.g. "short head", "three-quarter length".
        list_name: the list; "smaller values" asks for the second British list, which contradicts it.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: no list is in force.
        NotPublishedError: the list in force does not have the margin.
    """
    return _margin(jurisdiction, on, margin, list_name, overrides, "lengths")


def margin_seconds(jurisdiction: str, on: date, margin: str, *, overrides: Overrides = NONE) -> Ruled:
    """Return the seconds that a named margin stands for, where slits of the photo-finish define it (Japan).

    Raises:
        NoRuleError: the jurisdiction does not define margins by time.
        NotPublishedError: the list in force has no count of slits for the margin.
    """
    return _margin(jurisdiction, on, margin, GENERAL, overrides, "slits")


def _margin(jurisdiction: str, on: date, margin: str, list_name: str, overrides: Overrides, field: str) -> Ruled:
    def wanted(body: Mapping[str, Any]) -> bool:
        return body.get("list", GENERAL) == list_name and field in body

    entry = in_force(TOPIC, jurisdiction, on, overrides, wanted)[0]
    listed = entry.body[field]
    name = margin.strip().lower()
    if name not in listed:
        raise NotPublishedError(TOPIC, _("{margin!r} in {rule}", margin=margin, rule=entry.rule), list(listed))
    return _ruled(entry, listed[name], field)


def _ruled(entry: Entry, value: float, field: str) -> Ruled:
    if field == "slits":
        return Ruled(value * float(entry.body["seconds_per_slit"]), "s", entry.rule)
    return Ruled(float(value), "lengths", entry.rule)
