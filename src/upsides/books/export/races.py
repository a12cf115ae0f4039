"""What was said of races and which were let go, as tables: of the horses whose plans are open to the reader.

Chances are inside information of their own and in neither.
"""

from collections.abc import Iterator
from datetime import date, datetime
from typing import TYPE_CHECKING, Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from upsides.books import clock
from upsides.books.export.cells import Cell
from upsides.books.models import Decision, Inside, LetGo, Person
from upsides.books.queries import moments
from upsides.books.queries.let_go import let_go
from upsides.books.queries.visitors import opened

if TYPE_CHECKING:
    from upsides.books.export.tables import Asked

DECISIONS: Final = "decisions"
LET_GO: Final = "races-let-go"
TITLES: Final[dict[str, str | Promise]] = {
    DECISIONS: lazy("What was said of races, as far as plans are open to you"),
    LET_GO: lazy("Races let go, as far as plans are open to you"),
}
HEADINGS: Final[dict[str, list[str | Promise]]] = {
    DECISIONS: [
        lazy("Said, yard's time"), lazy("Recorded, yard's time"), lazy("Horse"), lazy("Race"), lazy("Course"),
        lazy("Day"), lazy("What"), lazy("Said by"), lazy("Cost"), lazy("Currency"), lazy("Jockey"), lazy("Claim (lb)"),
        lazy("Certified by a vet"), lazy("Why"),
    ],
    LET_GO: [
        lazy("Day"), lazy("Race"), lazy("Course"), lazy("Horse"), lazy("Weight on the card"), lazy("Unit"),
        lazy("To the winner"), lazy("Currency"), lazy("Meant for instead"), lazy("Why"), lazy("More"), lazy("Said by"),
    ],
}  # fmt: skip
"""The columns of each, with the unit where there is one."""


def decisions(asked: "Asked") -> Iterator[list[Cell]]:
    """Yield what was said of races on the days that are asked for, in the order in which it was recorded."""
    open_to = opened(asked.reader, Inside.PLANS)
    found = Decision.objects.select_related("engagement__horse", "by", "rider").order_by("recorded_at", "pk")
    for one in found.iterator(chunk_size=1000):
        row, said = one.engagement, _local(one.said_at)
        if row.horse_id not in open_to or not _within(said.date(), asked):
            continue
        jockey = _name(one.rider) if one.rider else one.jockey
        cost = None if one.cost is None else float(one.cost)
        yield [
            said, _local(one.recorded_at), row.horse.name, row.race, row.course, row.day, str(one.get_step_display()),
            _name(one.by), cost, one.currency, jockey, one.claim_lb, one.certified, one.why,
        ]  # fmt: skip


def races_let_go(asked: "Asked") -> Iterator[list[Cell]]:
    """Yield the races let go of the days that are asked for, as they stood when entries closed, with why."""
    open_to = opened(asked.reader, Inside.PLANS)
    authors = {one.pk: one for one in Person.objects.all()}
    for one in let_go(moments.now(), asked.first or date.min, asked.last or date.max):
        if one.horse.pk not in open_to:
            continue
        row, known, why = one.row, one.row.known, one.why
        reason = str(LetGo.Reason(why.reason).label) if why else ""
        by = authors.get(why.by_id) if why and why.by_id else None
        yield [
            row.day, row.race, row.course, one.horse.name, known.get("weight"), known.get("unit"), known.get("prize"),
            known.get("currency"), known.get("elsewhere"), reason, why.note if why else "", _name(by) if by else "",
        ]  # fmt: skip


ROWS: Final = {DECISIONS: decisions, LET_GO: races_let_go}


def _within(day: date, asked: "Asked") -> bool:
    return (asked.first is None or day >= asked.first) and (asked.last is None or day <= asked.last)


def _local(when: datetime) -> datetime:
    return when.astimezone(clock.place().zone).replace(tzinfo=None)


def _name(one: Person) -> str:
    return _("name removed") if one.erased_at else one.name
