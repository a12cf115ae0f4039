"""Which horse stands in which box, and all boxes in walking order."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from math import inf

from upsides.books.models import Box, Horse, Stand
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered


@dataclass(frozen=True, slots=True)
class Stood:
    """Where a horse stands.

    Args:
        box: number of the box.
        barn: name of its barn.
        name: name of the box, empty where only the barn is known.
        position: its place in the walk of evening stables.
        since: day from which the horse stands there.
        isolation: whether it is a box for horses that are kept apart.
    """

    box: int
    barn: str
    name: str
    position: int
    since: date
    isolation: bool = False

    @property
    def called(self) -> str:
        """Return barn and box as they are said together."""
        return f"{self.barn} {self.name}".strip()


def boxes(moment: Moment) -> Mapping[int, Stood]:
    """Return where each horse stood on the moment's day, by number of the horse; one without a box is not there."""
    return remembered("boxes", moment, (), (Stand, Box), lambda: _boxes(moment))


def _boxes(moment: Moment) -> dict[int, Stood]:
    rows = moments.rows(Stand, moment).filter(first_day__lte=moment.day).order_by("first_day", "id")
    last = {stand.horse_id: stand for stand in rows}
    known = {box.pk: box for box in all_boxes(moment)}
    return {
        horse: Stood(box.pk, box.barn, box.name, box.position, stand.first_day, box.isolation)
        for horse, stand in last.items()
        if stand.box_id is not None and (box := known.get(stand.box_id)) is not None
    }


def all_boxes(moment: Moment) -> list[Box]:
    """Return every box in walking order."""
    return list(moments.rows(Box, moment).order_by("position", "barn", "name"))


def barns(moment: Moment) -> list[str]:
    """Return the names of the barns in walking order."""
    return list(dict.fromkeys(box.barn for box in all_boxes(moment)))


def by_barn(horses: Iterable[Horse], stands: Mapping[int, Stood]) -> dict[str, list[Horse]]:
    """Return horses by barn, both in walking order; under "" and last those without a box, by name."""
    found: dict[str, list[Horse]] = {}
    for horse in in_walking_order(horses, stands):
        found.setdefault(stands[horse.pk].barn if horse.pk in stands else "", []).append(horse)
    return found


def in_walking_order(horses: Iterable[Horse], stands: Mapping[int, Stood]) -> list[Horse]:
    """Return horses in the order in which their boxes are walked, those without a box last, by name."""

    def place(horse: Horse) -> tuple[float, str]:
        return (stands[horse.pk].position if horse.pk in stands else inf, horse.name.casefold())

    return sorted(horses, key=place)
