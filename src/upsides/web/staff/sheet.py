"""The staff's week as a printed sheet."""

from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.queries import staff as reads
from upsides.books.queries.moments import Moment
from upsides.paper.week import DayOfWork, PersonsWeek, StaffWeek
from upsides.web.shell.printing import masthead
from upsides.web.staff import sentences
from upsides.web.staff.table import Row, WeekTable, week_table


def week_sheet(moment: Moment, monday: date) -> StaffWeek:
    """Return the sheet of the week from a Monday on."""
    zone = clock.place().zone
    table = week_table(reads.week(moment, monday), monday, moment.day, zone, why=False)
    return StaffWeek(
        masthead=masthead(moment, _("The staff's week"), _days(table)),
        sentence=sentences.about_week(table),
        person=_("Name"),
        days=tuple(date_format(day, "D j M") for day, _today in table.days),
        total=_("Hours"),
        people=tuple(_person(row) for row in table.rows),
        sums_title=_("At work"),
        sums=(*(str(number) for number in table.at_work), table.total),
        nothing=_("Nobody works in the yard yet."),
    )


def _days(table: WeekTable) -> str:
    first, last = table.days[0][0], table.days[-1][0]
    return _("%(first)s to %(last)s") % {"first": date_format(first, "j F"), "last": date_format(last, "j F Y")}


def _person(row: Row) -> PersonsWeek:
    days = tuple(
        DayOfWork(hours=", ".join(cell.lines), rides=_("rides") if cell.rides else "", off=cell.off)
        for cell in row.cells
    )
    return PersonsWeek(row.name, row.duty, days, row.total)
