"""Writes of what was given: a course's dose of today, and doses of vaccine that stand in a passport."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from uuid import UUID

from upsides.books import clock
from upsides.books.diary.medicine import Treatment
from upsides.books.models import Device, Entry, Person
from upsides.books.queries import moments
from upsides.books.queries.days import moment_on
from upsides.books.services.diary import Draft, record
from upsides.errors import EntryMissingError, EntryRefusedError
from upsides.errors.wording import gettext as _

NOON = time(12)
"""A dose of which only the day is known stands at noon."""


@dataclass(frozen=True, slots=True)
class Who:
    """Who enters something, where, and under which number.

    Args:
        author: in whose name.
        device: where it is entered, if that is known.
        client_id: the entry's number; the same number is the same entry.
    """

    author: Person
    device: Device | None
    client_id: UUID


def give_again(number: int, horse: int, who: Who) -> Entry:
    """Write the dose of today of a course that runs; who gave it is the author.

    Args:
        number: of the entry of an earlier dose.
        horse: number of its horse.
        who: who enters it.

    Raises:
        EntryMissingError: there is no such treatment that stands.
        EntryRefusedError: its course has ended.
        UpsidesError: whatever `record` raises.
    """
    found = moments.entries(moments.now()).filter(pk=number, horse=horse, kind="treatment").first()
    if found is None:
        raise EntryMissingError(number)
    treatment = Treatment.kept_as(found.values)
    if not treatment.course_end or date.fromisoformat(treatment.course_end) < clock.today():
        end = treatment.course_end or ""
        raise EntryRefusedError(_("last day of the course"), end, _("the course has ended"), _("enter a new treatment"))
    values = treatment.typed() | {"giver": ""}
    return record(Draft(who.client_id, "treatment", horse, values, clock.now()), who.author, who.device)


def enter_dose(horse: int, on: date, values: Mapping[str, object], who: Who) -> Entry:
    """Write a dose of vaccine that was given on an earlier day, as the passport has it.

    Args:
        horse: number of the horse.
        on: the day on which it was given.
        values: of the kind `vaccination`, as typed.
        who: who enters it.

    Raises:
        EntryRefusedError: the day is yet to come, or a value cannot be right.
        UpsidesError: whatever `record` raises.
    """
    if on > clock.today():
        raise EntryRefusedError(
            _("day"), on.isoformat(), _("it is yet to come"), _("write the day on which it was given")
        )
    made = clock.now()
    happened = min(moment_on(on, NOON), made)
    return record(Draft(who.client_id, "vaccination", horse, values, made, happened), who.author, who.device)
