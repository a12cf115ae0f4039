"""What black type is worth by the trainer's own word: said on a page or by a command, kept with who and when."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from upsides.books.models import Answer, Horse, Person
from upsides.books.models.answer import BLACK_TYPE
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.placing import Race
from upsides.rules import Overrides, black_type_worth

BUILDS: Final = ("female", "entire", "gelding")
"""For whom a number is said: it is worth most to a mare at stud and to a colt, and a gelding may gain nothing."""

Worth = Mapping[str, Mapping[str, float]]
"""By currency (ISO 4217) and build, what a place among the first three of a group or listed race is worth."""


@dataclass(frozen=True, slots=True)
class Said:
    """What was said once.

    Args:
        worth: all that held from then on.
        by: the name of who said it, empty where that is not known any more.
        at: when.
    """

    worth: Worth
    by: str
    at: datetime


def black_type_said(moment: Moment) -> Worth:
    """Return what the trainer said by a moment; nothing where he never said."""
    found = moments.answer(BLACK_TYPE, moment)
    return found.values if found else {}


def black_type_history(moment: Moment) -> list[Said]:
    """Return all that was ever said by a moment, latest first."""
    return list(_history(moment))


def _history(moment: Moment) -> Iterator[Said]:
    rows = Answer.objects.filter(name=BLACK_TYPE, day__lte=moment.day)
    rows = rows if moment.at is None else rows.filter(recorded_at__lte=moment.at)
    found = list(rows.order_by("-recorded_at", "-pk"))
    names = moments.names(Person, moment, [row.made_from.get("by") for row in found])
    for row in found:
        yield Said(row.values, names.get(row.made_from.get("by"), ""), row.recorded_at)


def build_of(horse: Horse) -> str:
    """Return for which of `BUILDS` a horse counts."""
    if horse.sex in {Horse.Sex.FILLY, Horse.Sex.MARE}:
        return "female"
    return "gelding" if horse.sex == Horse.Sex.GELDING else "entire"


def worth_to(said: Worth, race: Race, horse: Horse, rules: Overrides) -> float:
    """Return what black type in a race is worth to a horse, in the currency of its prizes.

    What the trainer said goes before the file of the yard's own rules; nought where neither says anything in it.
    """
    currency = race.currency
    if not currency:
        return 0.0
    if currency in said:
        return float(said[currency].get(build_of(horse), 0.0))
    return black_type_worth(race.jurisdiction, race.day, currency, overrides=rules)
