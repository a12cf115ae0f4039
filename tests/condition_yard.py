"""How a horse of the invented yard is, as its trainer sees it, for tests that write down what it did."""

from datetime import date

import worlds
from mornings import who
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.condition import Condition, condition_of
from upsides.books.queries.visitors import Visitor, visitor


def unraced() -> Horse:
    """Return a horse that never ran, of which nothing is entered yet."""
    ran = set(worlds.world().runs["source_horse"])
    found = next(one for one in moments.in_training(moments.now()) if one.horse_key not in ran)
    Horse.objects.filter(pk=found.pk).update(joined=date(2026, 1, 5))
    return Horse.objects.get(pk=found.pk)


def trainer() -> Visitor:
    return visitor(who("trainer"), barn=False)


def of(horse: Horse) -> Condition:
    return condition_of(worlds.yard().library, trainer(), moments.now(), horse)
