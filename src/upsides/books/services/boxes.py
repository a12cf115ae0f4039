"""Writes about boxes: which there are, in which order they are walked, and which horse stands where from a day on."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Box, Horse, Person, Stand, Yard
from upsides.books.services.meanwhile import delete, held, merge, save, unchanged
from upsides.errors import (
    BoxRefusedError,
    BoxTakenError,
    ChangedMeanwhileError,
    LineRefusedError,
    MovedMeanwhileError,
)
from upsides.errors.wording import gettext as _

AHEAD: Final = timedelta(days=366)
"""How far ahead something may be written down."""
LONGEST_BARN: Final = 60
LONGEST_BOX: Final = 20
MANY: Final = 200
_RANGE: Final = re.compile(r"(\d{1,4})\s*[-–]\s*(\d{1,4})")


class Taken(StrEnum):
    """What is to be done where another horse stands in the box."""

    ASK = "ask"
    SWAP = "swap"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class Put:
    """A horse that is put into a box from a day on, until what is written down after it.

    Args:
        horse: number of the horse.
        box: number of the box, None for none.
        day: the first day.
        seen: number of the box in which the page showed it on that day, None for none.
        taken: what to do where the box is taken.
        other: number of the horse to swap with.
    """

    horse: int
    box: int | None
    day: date
    seen: int | None
    taken: Taken = Taken.ASK
    other: int | None = None


@transaction.atomic
def put(asked: Put, by: Person) -> None:
    """Put a horse into a box; with a swap both horses change places in one step.

    Raises:
        LineGoneError: the horse or the box is not in the books.
        LineRefusedError: the day lies before the horse came, after it left, or more than a year ahead.
        MovedMeanwhileError: the horse stands somewhere else than the page showed.
        BoxTakenError: another horse stands there, or comes while this one is there.
    """
    _one_at_a_time()
    horse = held(Horse, asked.horse)
    _day_fits(horse, asked.day)
    there = _box_on(horse.pk, asked.day)
    if there != asked.seen:
        raise MovedMeanwhileError(horse.name, _called(there))
    if asked.box == there:
        return
    box = held(Box, asked.box) if asked.box else None
    if asked.taken is Taken.SWAP and asked.other and _box_on(asked.other, asked.day) == asked.box:
        _stand(asked.other, there, asked.day, by)
        _stand(horse.pk, asked.box, asked.day, by)
        _nobody_else(asked.other, held(Box, there) if there else None, asked.day)
    else:
        _stand(horse.pk, asked.box, asked.day, by)
    if asked.taken is not Taken.BOTH:
        _nobody_else(horse.pk, box, asked.day)


@transaction.atomic
def take_out_stand(number: int, seen: int, by: Person) -> None:
    """Take a line of a horse's boxes out, so that the one before goes on.

    Raises:
        LineGoneError, ChangedMeanwhileError: it is gone, or was changed.
        BoxTakenError: another horse stands where this one would stay.
    """
    _one_at_a_time()
    stand = held(Stand, number)
    unchanged(stand, seen)
    horse, day = stand.horse_id, stand.first_day
    delete(stand, by)
    before = _box_on(horse, day)
    _nobody_else(horse, held(Box, before) if before else None, day)


@transaction.atomic
def add_boxes(barn: str, names: str, by: Person, *, isolation: bool = False) -> list[Box]:
    """Add boxes to a barn, at the end of its walk; a new barn comes last.

    Args:
        barn: its name.
        names: of the boxes: "1-12, 14, Foaling box"; empty for "somewhere in the barn".
        by: who adds them.
        isolation: whether they stand apart.

    Raises:
        BoxRefusedError: a name cannot be used.
    """
    _one_at_a_time()
    barn = _line(barn, _("barn"), LONGEST_BARN)
    if not barn:
        raise BoxRefusedError(_("barn"), _("a box stands in a barn"), _("write the barn's name"))
    wanted = _names(names)
    walk = list(Box.objects.order_by("position", "barn", "name"))
    last = max((place for place, box in enumerate(walk, 1) if box.barn == barn), default=len(walk))
    there = {box.name.casefold() for box in walk if box.barn == barn}
    again = [name for name in wanted if name.casefold() in there]
    if again:
        raise BoxRefusedError(
            _("names"),
            _("{barn} has {again} already", barn=barn, again=", ".join(again) or _("no names")),
            _("leave those out"),
        )
    made = [Box(barn=barn, name=name, isolation=isolation) for name in wanted]
    _number(walk[:last] + made + walk[last:], by)
    return made


@transaction.atomic
def change_box(number: int, seen: int, by: Person, *, barn: str, name: str, isolation: bool) -> None:
    """Call a box something else, or say whether it stands apart.

    Raises:
        LineGoneError, ChangedMeanwhileError: it is gone, or somebody else changed the same.
        BoxRefusedError: the name cannot be used.
    """
    box = held(Box, number)
    typed = {"barn": _line(barn, _("barn"), LONGEST_BARN), "name": _line(name, _("name"), LONGEST_BOX)}
    if not typed["barn"]:
        raise BoxRefusedError(_("barn"), _("a box stands in a barn"), _("write the barn's name"))
    same = Box.objects.filter(barn=typed["barn"], name__iexact=typed["name"]).exclude(pk=number)
    if same.exists():
        raise BoxRefusedError(_("name"), _("{typed} has a box of that name", typed=typed["barn"]), _("choose another"))
    if merge(box, seen, typed | {"isolation": isolation}):
        save(box, by)


@transaction.atomic
def remove_box(number: int, seen: int, by: Person) -> None:
    """Take away a box in which no horse ever stood.

    Raises:
        LineGoneError, ChangedMeanwhileError: it is gone, or was changed.
        BoxRefusedError: a horse stood in it, and that stays in the books.
    """
    _one_at_a_time()
    box = held(Box, number)
    unchanged(box, seen)
    if Stand.objects.filter(box=box).exists():
        raise BoxRefusedError(
            "",
            _("horses have stood in {box}, and that stays in the books", box=box),
            _("leave it empty, or call it something else"),
        )
    delete(box, by)


@transaction.atomic
def set_walk(seen: Sequence[int], wanted: Sequence[int], by: Person) -> None:
    """Set the order in which boxes are walked.

    Args:
        seen: numbers of the boxes in the order that the page showed.
        wanted: the same numbers in the new order.
        by: who sets it.

    Raises:
        ChangedMeanwhileError: the boxes or their order are not what the page showed.
        BoxRefusedError: the two do not hold the same boxes.
    """
    _one_at_a_time()
    walk = {box.pk: box for box in Box.objects.order_by("position", "barn", "name")}
    if list(walk) != list(seen):
        raise ChangedMeanwhileError(("the order",), "")
    if sorted(wanted) != sorted(seen):
        raise BoxRefusedError("", _("some boxes are missing from that order"), _("load the page again"))
    _number([walk[number] for number in wanted], by)


def _one_at_a_time() -> None:
    """Let nobody else move horses or boxes until the transaction ends."""
    Yard.objects.select_for_update().first()


def _day_fits(horse: Horse, day: date) -> None:
    if day < horse.joined:
        raise LineRefusedError(
            _("day"), _("{name} came on {joined}", name=horse.name, joined=horse.joined), _("choose a day from then on")
        )
    if horse.left and day >= horse.left:
        raise LineRefusedError(
            _("day"), _("{name} left on {left}", name=horse.name, left=horse.left), _("choose a day before")
        )
    if day > clock.today() + AHEAD:
        raise LineRefusedError(_("day"), _("{day} is more than a year ahead", day=day), _("choose an earlier day"))


def _box_on(horse: int, day: date) -> int | None:
    rows = Stand.objects.filter(horse=horse, first_day__lte=day).order_by("-first_day", "-pk")
    return rows.values_list("box", flat=True).first()


def _called(number: int | None) -> str:
    return str(Box.objects.filter(pk=number).first() or "") if number else ""


def empty_from(horse: int, day: date, by: Person | None) -> None:
    """Let a horse stand in no box from a day on; what was written down for later days goes."""
    for later in Stand.objects.filter(horse=horse, first_day__gt=day):
        delete(later, by)
    _stand(horse, None, day, by)


def _stand(horse: int, box: int | None, day: date, by: Person | None) -> None:
    """Let a horse stand in a box from a day on; a line that would say what the one before says is not needed."""
    row = Stand.objects.filter(horse=horse, first_day=day).first()
    before = _box_on(horse, day - timedelta(days=1))
    if before == box:
        if row is not None:
            delete(row, by)
        return
    if row is None:
        row = Stand(horse_id=horse, first_day=day)
    row.box_id = box
    save(row, by)


def _nobody_else(horse: int, box: Box | None, day: date) -> None:
    """Refuse a box in which another horse is while this one is there; any number are "somewhere in the barn"."""
    if box is None or not box.name:
        return
    until = Stand.objects.filter(horse=horse, first_day__gt=day).order_by("first_day").first()
    for other in Horse.objects.filter(stands__box=box).exclude(pk=horse).distinct():
        both = _first_day_in(other, box.pk, day, until.first_day if until else date.max)
        if both is not None:
            raise BoxTakenError(str(box), other.name, other.pk, both)


def _first_day_in(horse: Horse, box: int, first: date, until: date) -> date | None:
    """Return the first day from `first` on and before `until` on which a horse stands in a box."""
    rows = list(Stand.objects.filter(horse=horse).order_by("first_day", "pk"))
    ends = [row.first_day for row in rows[1:]] + [date.max]
    gone = horse.left or date.max
    for row, end in zip(rows, ends, strict=True):
        begins = max(row.first_day, first)
        if row.box_id == box and begins < min(end, until, gone):
            return begins
    return None


def _number(walk: Iterable[Box], by: Person) -> None:
    for place, box in enumerate(walk, 1):
        if box.position != place or box.pk is None:
            box.position = place
            save(box, by)


def _names(typed: str) -> list[str]:
    """Read names of boxes: "1-12, 14, Foaling box"."""
    found: list[str] = []
    for part in typed.replace(";", ",").split(","):
        name = _line(part, _("names"), LONGEST_BOX)
        spread = _RANGE.fullmatch(name)
        if spread:
            low, high = int(spread[1]), int(spread[2])
            if high < low or high - low >= MANY:
                raise BoxRefusedError(
                    _("names"),
                    _("{name} is no row of boxes", name=name),
                    _("write at most {many}, like 1-12", many=MANY),
                )
            found += [str(number) for number in range(low, high + 1)]
        elif name or not typed.strip():
            found.append(name)
    twice = {name for name in found if [one.casefold() for one in found].count(name.casefold()) > 1}
    if twice or not found or len(found) > MANY:
        what = (
            _("{twice} stands there twice", twice=", ".join(sorted(twice))) if twice else _("that is no list of boxes")
        )
        raise BoxRefusedError(_("names"), what, _("write each once, at most {many}, like 1-12, 14", many=MANY))
    return found


def _line(text: str, field: str, longest: int) -> str:
    line = " ".join(text.split())
    if len(line) > longest:
        raise BoxRefusedError(
            field, _("{line}... is too long", line=line[:20]), _("use at most {longest} letters", longest=longest)
        )
    if not line.isprintable():
        raise BoxRefusedError(field, _("there are signs in it that cannot be seen"), _("type it again"))
    return line
