"""All that the books keep of one horse in dated lines, as of a moment."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from upsides.books.models import (
    Box,
    Caution,
    Declarable,
    Engagement,
    Horse,
    Move,
    OfficialMark,
    Person,
    Share,
    Stand,
    Yard,
)
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.ownership import Fault, ownership_faults
from upsides.books.queries.yard_rules import yard_rules
from upsides.errors import NoRuleError
from upsides.rules import NONE, Overrides, ToDeclare, to_declare


@dataclass(frozen=True, slots=True)
class Told:
    """Something that must be declared, and what is asked for.

    Args:
        row: the line.
        rule: what the rules ask; None where none speaks of it.
        ran: day of the first run after it that the results hold, None for none.
        next: the next race that it is meant for or entered in, None for none.
    """

    row: Declarable
    rule: ToDeclare | None
    ran: date | None
    next: Engagement | None

    @property
    def open(self) -> bool:
        """Return whether it has still to be declared."""
        return self.row.declared_on is None


@dataclass(frozen=True, slots=True)
class Owned:
    """A share with the names in it."""

    share: Share
    owner: str
    leased_from: str


@dataclass(frozen=True, slots=True)
class Book:
    """What is kept of a horse; lines latest first.

    Args:
        stands: in which box from which day on; no box where it left one for none.
        moves: where it went.
        marks: official handicap marks.
        told: what must be declared.
        cautions: what whoever handles or rides it must know, ended ones too.
        day: the moment's day.
    """

    stands: Sequence[tuple[Stand, Box | None]]
    moves: Sequence[Move]
    marks: Sequence[OfficialMark]
    told: Sequence[Told]
    cautions: Sequence[Caution]
    day: date

    @property
    def marks_now(self) -> list[OfficialMark]:
        """Return the mark that holds for each ground and country."""
        last: dict[tuple[str, str], OfficialMark] = {}
        for mark in reversed(self.marks):
            if mark.effective <= self.day:
                last[mark.ground, mark.country] = mark
        return list(last.values())

    @property
    def cautions_now(self) -> list[Caution]:
        """Return the cautions that hold on the day."""
        return [
            one for one in self.cautions if one.first_day <= self.day and (not one.last_day or one.last_day >= self.day)
        ]

    @property
    def to_tell(self) -> list[Told]:
        """Return what has still to be declared."""
        return [one for one in self.told if one.open]


def book(moment: Moment, number: int, runs: Sequence[date], library: Path) -> Book:
    """Return what is kept of a horse.

    Args:
        moment: when to look from.
        number: of the horse.
        runs: the days on which it ran.
        library: folder with the yard's own rules.
    """
    boxes = {box.pk: box for box in moments.rows(Box, moment)}
    stands = list(_lines(Stand, moment, number, "first_day"))
    return Book(
        [(stand, boxes.get(stand.box_id or 0)) for stand in stands],
        list(_lines(Move, moment, number, "first_day")),
        list(_lines(OfficialMark, moment, number, "effective")),
        _told(moment, number, runs, library),
        list(_lines(Caution, moment, number, "first_day")),
        moment.day,
    )


def owned(moment: Moment, horse: Horse) -> tuple[list[Owned], list[Fault]]:
    """Return everybody who owned a part of a horse, latest first, and the days on which the parts are not one."""
    shares = list(_lines(Share, moment, horse.pk, "first_day"))
    wanted = {share.owner_id for share in shares} | {share.leased_from_id for share in shares}
    names = moments.names(Person, moment, wanted)
    listed = [Owned(one, names.get(one.owner_id, ""), names.get(one.leased_from_id, "")) for one in shares]
    return listed, ownership_faults(horse, shares)


def _lines(model: Any, moment: Moment, number: int, day: str) -> Any:
    return moments.rows(model, moment).filter(horse=number).order_by(f"-{day}", "-id")


def _told(moment: Moment, number: int, runs: Sequence[date], library: Path) -> list[Told]:
    rows = list(_lines(Declarable, moment, number, "happened_on"))
    if not rows:
        return []
    yard = moments.rows(Yard, moment).first()
    place, own = yard.jurisdiction if yard else "", yard_rules(library).overrides
    ahead = moments.rows(Engagement, moment).filter(horse=number, day__gte=moment.day).exclude(state="withdrawn")
    race = ahead.order_by("day", "id").first()
    return [Told(row, _rule(row, place, own), _first_after(runs, row.happened_on), race) for row in rows]


def _rule(row: Declarable, place: str, own: Overrides = NONE) -> ToDeclare | None:
    try:
        return to_declare(row.what, place, row.happened_on, overrides=own)
    except NoRuleError:
        return None


def _first_after(runs: Sequence[date], day: date) -> date | None:
    """Return the first run after a day; a thing of the day itself was told for that day's run."""
    return min((run for run in runs if run > day), default=None)
