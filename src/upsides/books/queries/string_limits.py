"""What a morning of the yard takes: horses in fast work, on a gallop, under a rider; said by the yard or assumed."""

from collections.abc import Collection, Sequence
from datetime import date, timedelta
from math import ceil

from upsides.books.models import Gallop, Post, Role
from upsides.books.queries import moments
from upsides.books.queries.gallops_gone import gone_to
from upsides.books.queries.lots import closed_gallops
from upsides.books.queries.moments import Moment
from upsides.books.queries.staff import through
from upsides.books.queries.yard_limits import yard_limits
from upsides.planning.work.routine import Mornings
from upsides.planning.work.shared import Shared


def string_limits(moment: Moment, first: date, days: int, horses: int, assumed: Mornings) -> Shared:
    """Return what a string shares of the mornings from a day on.

    Riders of a morning are those who ride in their hours that day; where there is none on any day, horses ridden are
    not limited.

    Args:
        moment: when to look from.
        first: the first morning.
        days: how many mornings.
        horses: in the string.
        assumed: what holds where the yard said nothing.
    """
    said, on = yard_limits(moment), [first + timedelta(days=day) for day in range(days)]
    fast = [said.fast[day.weekday()] for day in on]
    usual = ceil(assumed.fast_share * horses)
    each = assumed.rides_each if said.each is None else said.each
    people = riding(moment, on)
    return Shared(
        slots={(gallop, day): most for gallop, most in said.slots.items() for day in range(days)},
        workers={day: usual if most is None else most for day, most in enumerate(fast)},
        riders={day: each * many for day, many in enumerate(people)} if any(people) else {},
        names=gallop_names(moment, said.slots),
    )


def gallop_names(moment: Moment, gallops: Collection[int]) -> dict[int, str]:
    """Return what gallops are called, by their numbers."""
    return dict(moments.rows(Gallop, moment).filter(id__in=gallops).values_list("id", "name"))


def gallops_filled(moment: Moment) -> dict[str, int]:
    """Return the gallop on which an exercise mostly went in four weeks, where its horses are limited or it is shut."""
    told = {*yard_limits(moment).slots, *closed_gallops(moment, moment.day + timedelta(days=1))}
    if not told:
        return {}
    return {one: gallop for one, gallop in gone_to(moment).items() if gallop in told}


def riding(moment: Moment, days: Sequence[date]) -> list[int]:
    """Return how many people ride on each day; a rider of whom no hours are entered rides unless off."""
    posts = set(moments.rows(Post, moment).filter(role=Role.RIDER).values_list("person", flat=True))
    there = through(moment, days)
    return [
        sum(one.days[day].rides or (not one.known and one.number in posts and not one.days[day].away) for one in there)
        for day in range(len(days))
    ]
