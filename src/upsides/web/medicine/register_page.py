"""The medicine register as a page and as a table."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from django.conf import settings
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.diary.medicine import FOOD, ROUTES, Treatment
from upsides.books.export.cells import Cell
from upsides.books.export.tables import Sheet
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.medicine_register import RegisterLine, Rulebook, register
from upsides.books.queries.moments import Moment
from upsides.books.queries.yard_rules import YardRules, own_place, yard_rules
from upsides.rules import CAUTION, MedicineEvent, Rule, kept_until
from upsides.web.medicine.asking import Period
from upsides.web.medicine.sentences import about_register, lacks, replaced
from upsides.web.medicine.words import HELD, called, day, listed


def rules_here() -> YardRules:
    """Return the rules of the yard's own."""
    return yard_rules(settings.UPSIDES_LIBRARY)


def lines_of(moment: Moment, period: Period) -> tuple[tuple[RegisterLine, ...], Rulebook, str]:
    """Return the lines of a period, the rules that they are held against, and what is wrong with the yard's own."""
    own = rules_here()
    book = Rulebook(own_place(moment, own.overrides), own.overrides)
    return register(moment, period.first, period.last, book, period.horse), book, own.fault


def register_page(moment: Moment, period: Period, as_of: str) -> dict[str, Any]:
    """Return what the page of a register shows."""
    lines, book, fault = lines_of(moment, period)
    return {
        "moment": moment,
        "period": period,
        "query": period.address(as_of),
        "horses": moments.rows(Horse, moment).order_by("name"),
        "sentence": about_register(lines, period.first, period.last),
        "lines": [_shown(line) for line in lines],
        "place": book.place,
        "required": required(book, period),
        "fault": fault,
        "caution": CAUTION,
    }


def _shown(line: RegisterLine) -> dict[str, Any]:
    end = course_end(line)
    return {
        "line": line,
        "missing": lacks(line),
        "after": replaced(line),
        "route": route(line),
        "reason": reason(line),
        "food": food(line),
        "course_end": date.fromisoformat(end) if end else None,
    }


def required(book: Rulebook, period: Period) -> list[tuple[Rule, str]]:
    """Return the rules on what a line must hold, each with what it asks for."""
    asked: dict[Rule, list[str]] = {}
    for event in (MedicineEvent.GIVEN, MedicineEvent.GIVEN_BY_VET):
        for one in book.requires(event, period.last):
            for rule in one.rules:
                word = str(HELD[one.field])
                if word not in asked.setdefault(rule, []):
                    asked[rule].append(word)
    return [(rule, listed(words)) for rule, words in asked.items()]


def keeping(book: Rulebook, period: Period) -> str:
    """Return until when the last line of a period must be kept; empty where no rule is known."""
    found = kept_until(MedicineEvent.GIVEN, book.place, period.last, overrides=book.overrides)
    return _("To be kept until %(day)s at least.") % {"day": day(found[0])} if found else ""


def route(line: RegisterLine) -> str:
    """Return how it was given; a wormer by mouth."""
    medicine = line.medicine
    return str(ROUTES.get(medicine.route, medicine.route)) if isinstance(medicine, Treatment) else str(ROUTES["oral"])


def food(line: RegisterLine) -> str:
    """Return what is said of the food chain and of the withdrawal time that the vet set; empty for nothing."""
    medicine = line.medicine
    parts = [str(FOOD.get(medicine.food, medicine.food))] if medicine.food else []
    if medicine.withdrawal_days is not None:
        parts.append(_("withdrawal %(days)s days") % {"days": f"{medicine.withdrawal_days:g}"})
    return capfirst(listed(parts))


def reason(line: RegisterLine) -> str:
    """Return why it was given."""
    return line.medicine.reason if isinstance(line.medicine, Treatment) else _("worming")


def course_end(line: RegisterLine) -> str:
    """Return the last day of the course as ISO 8601, empty for one day."""
    return (line.medicine.course_end or "") if isinstance(line.medicine, Treatment) else ""


def register_table(lines: Sequence[RegisterLine]) -> Sheet:
    """Return the register as a table of a spreadsheet, withdrawn and replaced lines among them."""
    headings = [
        _("Number"), _("Given"), _("Horse"), _("Passport"), _("Microchip"), _("Product"), _("Substance"), _("Batch"),
        _("Quantity"), _("Route"), _("Prescribed by"), _("Given by"), _("Reason"), _("Course ends"), _("Food chain"),
        _("Withdrawal time that the vet set, days"), _("Written down by"), _("Written down"), _("Stands"),
        _("What took its place"), _("Lacks"),
    ]  # fmt: skip
    return Sheet("medicine-register", _("Medicine register"), headings, lambda: _cells(lines))


def _cells(lines: Iterable[RegisterLine]) -> Iterator[Sequence[Cell]]:
    zone = clock.place().zone
    for line in lines:
        medicine = line.medicine
        own = medicine if isinstance(medicine, Treatment) else None
        yield (
            line.number, line.given, line.horse.name, line.horse.passport, line.horse.microchip, medicine.product,
            own.substance if own else None, medicine.batch, medicine.quantity, route(line),
            called(line.prescriber) if line.prescriber else None, called(line.giver), reason(line), course_end(line),
            str(FOOD.get(medicine.food, "")) if medicine.food else None, medicine.withdrawal_days,
            called(line.author), line.recorded.astimezone(zone), not line.struck, replaced(line), lacks(line),
        )  # fmt: skip
