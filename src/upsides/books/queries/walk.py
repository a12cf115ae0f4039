"""All boxes in walking order with who stands in each on a day, and the horses that stand in none."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from upsides.books.models import Box, Horse, Move
from upsides.books.queries import moments
from upsides.books.queries.boxes import all_boxes, boxes
from upsides.books.queries.moments import Moment


@dataclass(frozen=True, slots=True)
class Inmate:
    """A horse in a box.

    Args:
        horse: its row.
        since: day from which it stands there.
        place: where it is while the box is kept for it; None for one that is in training.
    """

    horse: Horse
    since: date | None
    place: Move | None


@dataclass(frozen=True, slots=True)
class Place:
    """A box and the horses in it, in order of name."""

    box: Box
    horses: tuple[Inmate, ...]

    @property
    def crowded(self) -> bool:
        """Return whether more than one horse stands in it; any number may be "somewhere in the barn"."""
        return bool(self.box.name) and len(self.horses) > 1


@dataclass(frozen=True, slots=True)
class Walk:
    """The yard on a day.

    Args:
        day: the day.
        barns: their names and boxes, in walking order; a barn to which the walk comes back stands twice.
        without: horses in training without a box, in order of name.
    """

    day: date
    barns: tuple[tuple[str, tuple[Place, ...]], ...]
    without: tuple[Horse, ...]

    @property
    def places(self) -> tuple[Place, ...]:
        """Return all boxes in walking order."""
        return tuple(place for _, places in self.barns for place in places)


def walk(moment: Moment) -> Walk:
    """Return the yard on the moment's day."""
    here = {horse.pk: horse for horse in moments.in_the_yard(moment).order_by("name")}
    away = {number: move for number, move in moments.whereabouts(moment).items() if move.to != Move.To.TRAINING}
    stood = boxes(moment)
    within: dict[int, list[Inmate]] = {}
    for number, horse in here.items():
        if number in stood:
            within.setdefault(stood[number].box, []).append(Inmate(horse, stood[number].since, away.get(number)))
    places = [Place(box, tuple(within.get(box.pk, ()))) for box in all_boxes(moment)]
    without = tuple(horse for number, horse in here.items() if number not in stood and number not in away)
    return Walk(moment.day, _by_barn(places), without)


def _by_barn(places: Sequence[Place]) -> tuple[tuple[str, tuple[Place, ...]], ...]:
    found: list[tuple[str, list[Place]]] = []
    for place in places:
        if not found or found[-1][0] != place.box.barn:
            found.append((place.box.barn, []))
        found[-1][1].append(place)
    return tuple((barn, tuple(boxes_)) for barn, boxes_ in found)
