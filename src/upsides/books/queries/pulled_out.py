"""When each lot of a day pulled out, as far as the books tell, and which horses were out with a recording when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import lru_cache, reduce
from operator import or_
from pathlib import Path
from statistics import median
from typing import Final

from django.conf import settings
from django.db.models import Q

from upsides.books import clock
from upsides.books.models import Outing
from upsides.books.queries import moments
from upsides.books.queries.lot_morning import OWN_LOTS
from upsides.books.queries.moments import Moment
from upsides.books.queries.stretches import LONGEST, Span, joined, meet, span_of
from upsides.errors import MorningRefusedError
from upsides.planning.defaults import Defaults, read_defaults
from upsides.planning.prices import SHIPPED

SEEN: Final = 2
"""Recordings of so many horses of a lot tell when it pulled out; one alone may be of a horse that changed lots."""
NEAR: Final = timedelta(minutes=45)
"""A recording that began farther from when a lot pulled out is not plainly of that lot. Our own choice."""
MOST_STRETCHES: Final = 100
"""So many stretches are held beside other recordings; one recording has a few."""


@dataclass(frozen=True, slots=True)
class PulledOut:
    """When lots pulled out.

    Args:
        seen: by lot, as recordings of its horses tell.
        day: the morning, by whose defaults the others pull out.
        defaults: the yard's own, or the shipped ones.
        own: whether they are the yard's own.
    """

    seen: Mapping[int, datetime]
    day: date
    defaults: Defaults
    own: bool

    def at(self, lot: int) -> datetime:
        """Return when a lot pulled out, or was to."""
        midnight = datetime.combine(self.day, time(), clock.place().zone)
        return self.seen.get(lot) or midnight + timedelta(minutes=self.defaults.lot(lot).starts)

    def known(self, lot: int) -> bool:
        """Return whether the yard itself tells it."""
        return self.own or lot in self.seen


@dataclass(frozen=True, slots=True)
class Out:
    """Horses out with another recording.

    Args:
        then: those whose recording is of the same time.
        began: when the first of each began that day, by number of the horse.
    """

    then: frozenset[int] = frozenset()
    began: Mapping[int, datetime] = field(default_factory=dict)


def pulled_out(day: date, lots: Mapping[int, int], began: Mapping[int, datetime]) -> PulledOut:
    """Return when lots pulled out.

    Args:
        day: the morning.
        lots: the lot that each horse was ordered for, by its number.
        began: when its recording of that morning began.
    """
    of: dict[int, list[float]] = {}
    for horse, lot in lots.items():
        if horse in began:
            of.setdefault(lot, []).append(began[horse].timestamp())
    zone = clock.place().zone
    seen = {lot: datetime.fromtimestamp(median(found), zone) for lot, found in of.items() if len(found) >= SEEN}
    own = Path(settings.UPSIDES_LIBRARY) / OWN_LOTS
    try:
        changed = own.stat().st_mtime_ns
        return PulledOut(seen, day, _defaults(own, changed), own=True)
    except (OSError, MorningRefusedError):  # the page of lots says what is wrong with the file
        return PulledOut(seen, day, _defaults(SHIPPED, 0), own=False)


def out_on(moment: Moment, day: date, stretches: Sequence[Span]) -> Out:
    """Return the horses out with another recording on a day, and those of them in some stretches of time."""
    if not stretches:
        return Out()
    standing = moments.standing(Outing, moment)
    of_day = standing.filter(day=day).values_list("horse", "began")
    began: dict[int, datetime] = {}
    for horse, at in of_day:
        began[horse] = min(at, began.get(horse, at))
    meets = [Q(began__lt=last, recorded__ended__gt=first) for first, last in stretches[:MOST_STRETCHES]]
    near = standing.filter(reduce(or_, meets))
    then: set[int] = set()
    long: list[int] = []
    for number, horse, start, end in near.values_list("pk", "horse", "began", "recorded__ended"):
        if end is not None and end - start > LONGEST:
            long.append(number)
        else:
            then.add(horse)
    for horse, bouts in standing.filter(pk__in=long).values_list("horse", "measured__bouts") if long else ():
        if meet(joined([span_of(one["start"], one["seconds"]) for one in bouts or ()]), stretches):
            then.add(horse)
    return Out(frozenset(then), began)


@lru_cache(maxsize=8)
def _defaults(path: Path, _changed: int) -> Defaults:
    return read_defaults(path)
