"""Official ages: every horse turns a year older on one day, which depends on the hemisphere."""

from datetime import date
from typing import Final

from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Entry, Ruled
from upsides.trade.age import season

TOPIC: Final = "official birthday"


def official_age(foaled: date, on: date, jurisdiction: str, *, overrides: Overrides = NONE) -> Ruled:
    """Return a horse's official age: how many official birthdays it has passed since its foaling.

    Args:
        foaled: day of foaling; a foal is 0 until the next official birthday.
        on: the day asked about.
        jurisdiction: where it is counted; the northern hemisphere's 1 January where nothing else is known.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: a rule of the yard's own leaves no other in force.
    """
    entry = _entry(jurisdiction, on, overrides)
    return Ruled(float(_season(on, entry) - _season(foaled, entry)), "years", entry.rule)


def foaling_season(age: int, on: date, jurisdiction: str, *, overrides: Overrides = NONE) -> int:
    """Return the year in which the foaling season of a horse of that official age began.

    In the northern hemisphere that is the year of foaling; a season that begins on 1 August 2010 holds the
    foals of the spring of 2010 and is called 2010.
    """
    return _season(on, _entry(jurisdiction, on, overrides)) - age


def _entry(jurisdiction: str, on: date, overrides: Overrides) -> Entry:
    return in_force(TOPIC, jurisdiction, on, overrides)[0]


def _season(day: date, entry: Entry) -> int:
    return season(day, (entry.body["month"], entry.body["day"]))
