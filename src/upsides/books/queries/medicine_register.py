"""The medicine register of a period, built from the diary's treatments and wormers.

The diary is added to and never changed, and so is the register: a line that was corrected or withdrawn stays, struck,
with what took its place. Numbers count the lines as they were written down, so a line that is missing would show.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from django.db.models import QuerySet

from upsides.books import clock
from upsides.books.diary.medicine import Treatment, Worming
from upsides.books.models import Entry, Horse, Person, Post, Role
from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.given import first_authors
from upsides.books.queries.moments import Moment
from upsides.rules import (
    NONE,
    MedicineEvent,
    Overrides,
    RegisterField,
    RegisterRequirement,
    register_lacks,
    register_requires,
)

KINDS: Final[dict[str, type[Treatment | Worming]]] = {"treatment": Treatment, "worming": Worming}
"""Kinds of entries that are lines of the register."""
NOT_HERE: Final = frozenset({RegisterField.SUPPLIER, RegisterField.SUPPLIER_ADDRESS})
"""What the diary has no place for: it stands on the invoices, which are kept with the register."""


@dataclass(frozen=True, slots=True)
class After:
    """What took the place of a line, or took it back.

    Args:
        number: of the line that took its place; None for a withdrawal.
        author: who did it.
        at: when, in the yard's time.
    """

    number: int | None
    author: Person
    at: datetime


@dataclass(frozen=True, slots=True)
class RegisterLine:
    """One line of the register.

    Args:
        number: counts the lines of the register as they were written down.
        entry: the entry of the diary.
        horse: the horse as it was, with passport and microchip.
        given: when it was given, in the yard's time.
        recorded: when it was written down, in the yard's time.
        medicine: what was given.
        author: who wrote it down.
        prescriber: who prescribed it; None where nobody was named.
        giver: who gave it: whoever wrote it down first where nobody else was named.
        event: whether a vet gave it.
        corrects: number of the line whose place it took, None for a first one.
        after: what took its place; nothing where it stands.
        lacks: what a register must hold and this line does not.
    """

    number: int
    entry: Entry
    horse: Horse
    given: datetime
    recorded: datetime
    medicine: Treatment | Worming
    author: Person
    prescriber: Person | None
    giver: Person
    event: MedicineEvent
    corrects: int | None
    after: tuple[After, ...]
    lacks: tuple[RegisterRequirement, ...]

    @property
    def struck(self) -> bool:
        """Return whether it no longer stands."""
        return bool(self.after)


@dataclass(frozen=True, slots=True)
class Rulebook:
    """Whose rules a register is held against.

    Args:
        place: a jurisdiction.
        overrides: the yard's own rules.
    """

    place: str
    overrides: Overrides = NONE

    def requires(self, event: MedicineEvent, on: date) -> tuple[RegisterRequirement, ...]:
        """Return what a line must hold."""
        return register_requires(event, self.place, on, overrides=self.overrides)


def register(
    moment: Moment, first: date, last: date, book: Rulebook, horse: int | None = None
) -> tuple[RegisterLine, ...]:
    """Return the lines of a period in the order in which they were written down.

    Args:
        moment: when to look from.
        first: first day on which it was given.
        last: last day, itself included.
        book: whose rules the lines are held against.
        horse: number of one horse, None for all.
    """
    rows = list(_recorded(moment).filter(happened_at__range=day_span(first, (last - first).days + 1)))
    lines = [row for row in rows if not row.withdrawn and horse in {None, row.horse_id}]
    read = {row.pk: KINDS[row.kind].kept_as(row.values) for row in lines}
    made = _Made(moment, lines, read.values())
    return tuple(_line(row, read[row.pk], made, book) for row in lines if row.horse_id in made.horses)


class _Made:
    """What lines are made of: numbers, horses and people as they were, and what took whose place."""

    def __init__(self, moment: Moment, lines: Collection[Entry], read: Iterable[Treatment | Worming]) -> None:
        self.zone = clock.place().zone
        numbers = _recorded(moment).filter(withdrawn=False).values_list("pk", flat=True)
        self.numbers = {pk: count for count, pk in enumerate(numbers, 1)}
        self.after: dict[int, list[Entry]] = {}
        for row in _recorded(moment).filter(supersedes__in=[line.pk for line in lines]):
            self.after.setdefault(row.supersedes_id or 0, []).append(row)
        horses = moments.rows(Horse, moment).filter(id__in={line.horse_id for line in lines})
        self.horses = {one.id: one for one in horses}
        self.first = first_authors([line.pk for line in lines])
        named = {number for one in read for _, number in one.rows()} | set(self.first.values())
        authors = {row.author for row in (*lines, *(row for rows in self.after.values() for row in rows))}
        self.people = moments.people(moment, [*Person.objects.filter(pk__in=named), *authors])
        posts = moments.rows(Post, moment).filter(role=Role.VET)
        self.vets = set(posts.values_list("person_id", flat=True))


def _line(row: Entry, medicine: Treatment | Worming, made: _Made, book: Rulebook) -> RegisterLine:
    giver = medicine.giver if medicine.giver in made.people else made.first[row.pk]
    prescriber = medicine.prescriber if isinstance(medicine, Treatment) else None
    event = MedicineEvent.GIVEN_BY_VET if giver in made.vets else MedicineEvent.GIVEN
    given = row.happened_at.astimezone(made.zone)
    after = tuple(
        After(made.numbers.get(one.pk), made.people[one.author_id], one.recorded_at.astimezone(made.zone))
        for one in made.after.get(row.pk, [])
    )
    return RegisterLine(
        made.numbers[row.pk],
        row,
        made.horses[row.horse_id or 0],
        given,
        row.recorded_at.astimezone(made.zone),
        medicine,
        made.people[row.author_id],
        made.people.get(prescriber or 0),
        made.people[giver or 0],
        event,
        made.numbers.get(row.supersedes_id or 0),
        after,
        lacking(medicine, given.date(), event, book) if not after else (),
    )


def lacking(
    medicine: Treatment | Worming, on: date, event: MedicineEvent, book: Rulebook
) -> tuple[RegisterRequirement, ...]:
    """Return what a line must hold and does not; what stands on invoices is not asked of it."""
    missing = register_lacks(event, held(medicine, event), book.place, on, overrides=book.overrides)
    return tuple(one for one in missing if one.field not in NOT_HERE)


def held(medicine: Treatment | Worming, event: MedicineEvent) -> frozenset[RegisterField]:
    """Return what a line holds.

    A wormer goes in by mouth and needs no vet, and one day is its course; what is declared not for food has no
    withdrawal period to wait for.
    """
    said: Mapping[RegisterField, object] = {
        RegisterField.PRODUCT: medicine.product,
        RegisterField.BATCH: medicine.batch,
        RegisterField.QUANTITY: medicine.quantity,
    }
    found = {each for each, value in said.items() if value} | {
        RegisterField.DATE,
        RegisterField.TIME,
        RegisterField.HORSE,
        RegisterField.GIVEN_BY,
        RegisterField.ROUTE,
        RegisterField.DURATION,
    }
    if isinstance(medicine, Worming) or medicine.prescriber is not None or event is MedicineEvent.GIVEN_BY_VET:
        found.add(RegisterField.VET)
    if medicine.withdrawal_days is not None or medicine.food == "out":
        found.add(RegisterField.WITHDRAWAL_PERIOD)
    return frozenset(found)


def _recorded(moment: Moment) -> QuerySet[Entry]:
    """Return every row of the register's kinds that was recorded by the moment, in that order."""
    rows = Entry.objects.filter(kind__in=KINDS).select_related("author").order_by("pk")
    return rows if moment.at is None else rows.filter(recorded_at__lte=moment.at)
