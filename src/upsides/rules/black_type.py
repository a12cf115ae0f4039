"""What a place among the first three of a black-type race is worth beside its prize: the trainer's own number."""

from datetime import date
from typing import Final

from upsides.errors import NoRuleError
from upsides.rules.lookup import NONE, Overrides, in_force

TOPIC: Final = "black type"


def black_type_worth(jurisdiction: str, on: date, currency: str, *, overrides: Overrides = NONE) -> float:
    """Return what the yard's own rules say that it is worth, in a currency; nought where they say nothing in it.

    Nothing is shipped: nobody but the trainer knows what a mare at stud or a colt for sale gains by it.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        currency: ISO 4217 code of the race's prizes.
        overrides: the yard's own rules.
    """
    try:
        entries = in_force(TOPIC, jurisdiction, on, overrides)
    except NoRuleError:
        return 0.0
    return next((float(one.body["value"]) for one in entries if one.body["unit"] == currency), 0.0)
