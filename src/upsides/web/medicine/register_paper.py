"""The medicine register as a printed sheet."""

from datetime import date

from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from upsides.books.diary.medicine import Treatment
from upsides.books.queries.given import Given, reasons
from upsides.books.queries.medicine_register import RegisterLine, Rulebook
from upsides.books.queries.moments import Moment
from upsides.paper import MedicineRegister, RegisterEntry, RegisterTitles
from upsides.rules import CAUTION, first_day_for
from upsides.web.medicine.asking import Period
from upsides.web.medicine.register_page import course_end, food, keeping, lines_of, reason, route
from upsides.web.medicine.sentences import about_register, lacks, replaced
from upsides.web.medicine.words import called, listed, span
from upsides.web.shell.printing import masthead
from upsides.web.shell.refusals import in_words


def register_sheet(moment: Moment, period: Period) -> MedicineRegister:
    """Return the sheet of a period."""
    lines, book, _fault = lines_of(moment, period)
    sentence = f"{about_register(lines, period.first, period.last)} {keeping(book, period)}".strip()
    return MedicineRegister(
        masthead(moment, _("Medicine register"), span(period.first, period.last), " ".join(map(in_words, CAUTION))),
        sentence,
        _titles(),
        tuple(_entry(line, book) for line in lines),
        _("Nothing was given in this period."),
    )


def _titles() -> RegisterTitles:
    return RegisterTitles(
        number=_("No"),
        given=_("Given"),
        horse=_("Horse, passport, microchip"),
        product=_("Product"),
        batch=_("Batch"),
        quantity=_("Quantity, route"),
        prescribed_by=_("Prescribed by"),
        given_by=_("Given by, written down"),
        reason=_("Reason"),
        course_ends=_("Course ends"),
        food_chain=_("Food chain"),
        stand_down=_("First day to race by the rules known here"),
    )


def _entry(line: RegisterLine, book: Rulebook) -> RegisterEntry:
    medicine = line.medicine
    substance = medicine.substance if isinstance(medicine, Treatment) else None
    told = {"giver": called(line.giver), "author": called(line.author), "when": date_format(line.recorded, "j M Y H:i")}
    alone = line.giver.pk == line.author.pk
    written = _("%(giver)s, written down %(when)s") if alone else _("%(giver)s; written down by %(author)s %(when)s")
    missing = lacks(line)
    return RegisterEntry(
        number=str(line.number),
        given=date_format(line.given, "j M Y H:i"),
        horse=line.horse.name,
        identity="\n".join(part for part in (line.horse.passport, line.horse.microchip) if part),
        product=listed(part for part in (medicine.product, substance) if part),
        batch=medicine.batch or "",
        quantity=listed([medicine.quantity, route(line)]),
        prescribed_by=called(line.prescriber) if line.prescriber else "",
        given_by=written % told,
        reason=capfirst(reason(line)),
        course_ends=date_format(date.fromisoformat(ends), "j M Y") if (ends := course_end(line)) else "",
        food_chain=food(line),
        stand_down=_stand_down(line, book),
        struck=line.struck,
        remark=" ".join(part for part in (replaced(line), missing) if part),
    )


def _stand_down(line: RegisterLine, book: Rulebook) -> str:
    if not isinstance(line.medicine, Treatment):
        return ""
    given = Given(line.entry.pk, line.horse.id, line.given, line.medicine)
    found = [one.stand_down for one in reasons([given], [], book.place, book.overrides)]
    longest = first_day_for("race", found)
    if longest is None or longest.first_day is None:
        return ""
    return listed([date_format(longest.first_day, "j M Y"), longest.rule.name])
