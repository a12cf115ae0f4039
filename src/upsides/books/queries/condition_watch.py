"""The yard's readings of every kind that is watched."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np

from upsides.books.models import Box, Horse, Stand
from upsides.books.queries import moments
from upsides.books.queries.condition_tracked import PLACE, Read, tracked
from upsides.books.queries.days import entries_of, told_in
from upsides.books.queries.moments import Moment
from upsides.books.queries.uncollected import uncollected
from upsides.condition.fresh.words import LEFT
from upsides.condition.monitoring.readings import Readings, readings_of

DAYS: Final = 425
"""So many days are watched: a year to learn from, and the first weeks that point at nobody."""
EPOCH: Final = date(1970, 1, 1).toordinal()
VALUES: Final = {"mass": ("kg", "scale"), "temperature": ("celsius",), "pulse": ("beats",), "feed_left": ("left",)}
"""What of an entry is read, by its kind."""
KIND_OF: Final = {
    "mass": PLACE["mass"], "temperature": PLACE["temperature"], "pulse": PLACE["resting pulse"],
    "feed_left": PLACE["feed left"],
}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class YardReadings:
    """Readings with what their codes stand for.

    Attributes:
        readings: as the watch takes them.
        horses, barns, devices: numbers of horses, names of barns and devices, by code.
        here: horses in training by code, with the day each came, as days since 1970-01-01.
    """

    readings: Readings
    horses: tuple[int, ...]
    barns: tuple[str, ...]
    devices: tuple[str, ...]
    here: dict[int, int]


@uncollected()
def yard_readings(moment: Moment) -> YardReadings:
    """Return the readings of the year up to a moment's day."""
    first = moment.day - timedelta(days=DAYS)
    found = [*_entered(moment, first), *tracked(moment, first)]
    horses = tuple(sorted({one.horse for one in found}))
    devices = tuple(sorted({f"{one.kind} {one.device}" for one in found if one.device}))
    barns, barn_of = barns_of(moment)
    code = {number: place for place, number in enumerate(horses)}
    by_device = {name: place for place, name in enumerate(devices)}
    born = {horse.pk: _day(horse.foaled_on or date(horse.foaled, 3, 1)) for horse in moments.rows(Horse, moment)}
    readings = readings_of(
        [code[one.horse] for one in found],
        [one.kind for one in found],
        [_day(one.day) for one in found],
        [one.value for one in found],
        barn=np.array([barn_of(one.horse, one.day) for one in found], dtype=np.int64),
        device=np.array([by_device.get(f"{one.kind} {one.device}", -1) for one in found], dtype=np.int64),
        sd=[one.sd for one in found],
        foaled=[float(born[number]) if number in born else np.nan for number in horses],
    )
    here = {code[horse.pk]: _day(horse.joined) for horse in moments.in_training(moment) if horse.pk in code}
    return YardReadings(readings, horses, barns, tuple(name.partition(" ")[2] for name in devices), here)


def _entered(moment: Moment, first: date) -> Iterator[Read]:
    """Yield what people read, of a day the last; of what was left the most."""
    for kind, names in VALUES.items():
        last: dict[tuple[int, date], Read] = {}
        for horse, day, (value, *more) in told_in(entries_of(moment, [kind], first, moment.day), *names):
            if horse is None:
                continue
            number = LEFT[value] if kind == "feed_left" else float(value)
            before = last.get((horse, day))
            if before is None or kind != "feed_left" or number > before.value:
                last[horse, day] = Read(horse, KIND_OF[kind], day, number, more[0] or "" if more else "")
        yield from last.values()


def barns_of(moment: Moment) -> tuple[tuple[str, ...], Callable[[int, date], int]]:
    """Return the names of the barns, and what tells in which a horse stood on a day, -1 for none known."""
    boxes = dict(moments.rows(Box, moment).values_list("id", "barn"))
    barns = tuple(sorted(set(boxes.values())))
    code = {name: place for place, name in enumerate(barns)}
    stands: dict[int, list[tuple[date, int]]] = {}
    for stand in moments.rows(Stand, moment).order_by("first_day", "id"):
        barn = code[boxes[stand.box_id]] if stand.box_id in boxes else -1
        stands.setdefault(stand.horse_id, []).append((stand.first_day, barn))

    def barn_of(horse: int, day: date) -> int:
        return next((barn for first, barn in reversed(stands.get(horse, ())) if first <= day), -1)

    return barns, barn_of


def _day(when: date) -> int:
    return when.toordinal() - EPOCH
