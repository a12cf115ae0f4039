"""Who was at the wheel on a day, from when to when, held against the rules on drivers' hours."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from upsides.books import clock
from upsides.books.diary.yard import Driven
from upsides.books.models import Person
from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.moments import Moment
from upsides.books.queries.working_limits import Ground
from upsides.errors import NoRuleError
from upsides.rules import AtTheWheel, Driving, Shift, driving, held_driving


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch at the wheel.

    Args:
        when: from when to when, in the yard's zone.
        lorry, to: which lorry, and where to; empty where nobody said.
    """

    when: Shift
    lorry: str
    to: str


@dataclass(frozen=True, slots=True)
class Drove:
    """One person's day at the wheel.

    Args:
        number: of the person.
        name: of the person.
        stretches: in order of time.
        held: against the rule; None where none is known.
        rule: what holds; None where nothing is known for the yard's country.
    """

    number: int
    name: str
    stretches: tuple[Stretch, ...]
    held: AtTheWheel | None
    rule: Driving | None


def drove(moment: Moment, day: date, on: Ground) -> list[Drove]:
    """Return who drove on a day as was written down by a moment, in order of name.

    Args:
        moment: when to look from.
        day: the day on which a stretch began, in the yard's zone.
        on: what hours are held against.
    """
    zone, (first, last) = clock.place().zone, day_span(day)
    rows = moments.entries(moment).filter(kind=Driven.name, happened_at__range=(first, last)).order_by("happened_at")
    found: dict[int, list[Stretch]] = defaultdict(list)
    for begun, values in rows.values_list("happened_at", "values"):
        said, start = Driven.kept_as(values), begun.astimezone(zone)
        when = Shift(start, start + timedelta(hours=said.hours))
        found[said.person].append(Stretch(when, said.lorry, said.to or ""))
    names = moments.names(Person, moment, list(found))
    rule = _rule(on, day)
    told = [
        Drove(number, names.get(number, ""), tuple(mine), _held(mine, rule), rule) for number, mine in found.items()
    ]
    return sorted(told, key=lambda one: (one.name, one.number))


def _held(mine: list[Stretch], rule: Driving | None) -> AtTheWheel | None:
    return None if rule is None else held_driving([one.when for one in mine], rule)


def _rule(on: Ground, day: date) -> Driving | None:
    try:
        return driving(on.jurisdiction, day, overrides=on.overrides)
    except NoRuleError:
        return None
