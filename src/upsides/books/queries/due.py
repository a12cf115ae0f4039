"""What is due over the yard: vaccinations, courses that end, vet, farrier, teeth, egg counts, worming, stand-downs.

It is made of a handful of reads over the whole yard, however many horses there are.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date, timedelta
from operator import itemgetter
from typing import Final

from upsides.books import clock
from upsides.books.models import Engagement
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.due_care import AGAIN, Fact, again, courses, worms
from upsides.books.queries.due_doses import stood_down, vaccinations
from upsides.books.queries.due_kinds import Asking, Due, DueKind, DueList
from upsides.books.queries.given import REACHES, Dosed, dosed, given
from upsides.books.queries.moments import Moment
from upsides.books.queries.vaccinated import engagements
from upsides.books.queries.yard_rules import own_place
from upsides.rules import NONE, Overrides, diseases_asked

LOOKED_BACK: Final = 400
"""Days after which a day that vet, farrier or dentist named, or an egg count, is no longer looked for."""
EGGS: Final = ("egg_count", "worming")

__all__ = ["Due", "DueKind", "DueList", "due"]


def due(moment: Moment, days: int = 7, overrides: Overrides = NONE) -> DueList:
    """Return what is due from the moment's day on within some days, and what was due and not done.

    Args:
        moment: when to look from.
        days: how many days ahead; stand-downs are listed 14 days ahead whatever it is.
        overrides: the yard's own rules.
    """
    asking = _asking(moment, days, overrides)
    doses = _by_horse(asking, dosed(moment))
    treated = [one for one in given(moment) if one.horse in asking.names]
    facts = _facts(moment, (*AGAIN, *EGGS))
    diseases = diseases_asked(asking.place, asking.day, overrides=overrides)
    lately = moment.day - timedelta(days=REACHES)
    items = [
        *vaccinations(asking, doses, diseases),
        *courses(asking, treated),
        *again(asking, [fact for fact in facts if fact.kind in AGAIN]),
        *worms(asking, [fact for fact in facts if fact.kind in EGGS]),
        *stood_down(asking, treated, [one for own in doses.values() for one in own if one.on >= lately]),
    ]
    against = {horse for horse, own in doses.items() if any(one.disease in diseases for one in own)}
    counted = {fact.horse for fact in facts if fact.kind == "egg_count"}
    undosed = _without(asking.names, against) if diseases else ()
    return DueList(_in_order(items, asking.day), asking.place, diseases, undosed, _without(asking.names, counted))


def _asking(moment: Moment, days: int, overrides: Overrides) -> Asking:
    names = dict(moments.in_the_yard(moment).values_list("id", "name"))
    ahead: dict[int, list[Engagement]] = defaultdict(list)
    for one in engagements(moment):
        ahead[one.horse_id].append(one)
    until = moment.day + timedelta(days=days)
    return Asking(moment.day, until, names, own_place(moment, overrides), overrides, ahead)


def _by_horse(asking: Asking, doses: Iterable[Dosed]) -> dict[int, list[Dosed]]:
    found: dict[int, list[Dosed]] = defaultdict(list)
    for one in doses:
        if one.horse in asking.names:
            found[one.horse].append(one)
    return found


def _facts(moment: Moment, kinds: Collection[str]) -> list[Fact]:
    zone = clock.place().zone
    rows = entries_of(moment, kinds, moment.day - timedelta(days=LOOKED_BACK), moment.day).order_by()
    found = rows.values_list("happened_at", "pk", "kind", "horse_id", "values")
    # in order here: asked to order them, SQLite reads all that happened in these months
    return [
        Fact(number, kind, horse, at.astimezone(zone).date(), values)
        for at, number, kind, horse, values in sorted(found, key=itemgetter(0, 1))
        if horse is not None
    ]


def _in_order(items: Iterable[Due], day: date) -> tuple[Due, ...]:
    """Return overdue ones first, then by the last day."""
    return tuple(
        sorted(items, key=lambda one: (not one.overdue(day), one.last or date.min, one.name.casefold(), one.kind))
    )


def _without(names: Mapping[int, str], known: Collection[int]) -> tuple[tuple[int, str], ...]:
    missing = [(number, name) for number, name in names.items() if number not in known]
    return tuple(sorted(missing, key=lambda one: one[1].casefold()))
