"""Who works when, in words."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from django.contrib.humanize.templatetags.humanize import apnumber
from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.models import Bond, DayOff
from upsides.books.queries.staff import WorkDay, Worker
from upsides.books.queries.working_limits import Held
from upsides.rules import Limit, OverLimit
from upsides.web.staff.table import WeekTable, hours_in_words

OVER: dict[Limit, Promise] = {
    Limit.DAY: gettext_lazy("%(days)s: %(value)s hours of work; at most %(allowed)s in a day."),
    Limit.WEEK: gettext_lazy("%(days)s: %(value)s hours of work; at most %(allowed)s in a week."),
    Limit.AVERAGE: gettext_lazy(
        "%(days)s: %(value)s hours a week on average; at most %(allowed)s, unless agreed in writing."
    ),
    Limit.DAILY_REST: gettext_lazy(
        "%(days)s: %(value)s hours of rest between two days; at least %(allowed)s are asked for."
    ),
    Limit.WEEKLY_REST: gettext_lazy(
        "%(days)s: %(value)s hours free in a row; at least %(allowed)s in a week are asked for."
    ),
    Limit.BREAK: gettext_lazy("%(days)s: a long stretch without a break; at least %(minutes)s minutes are asked for."),
    Limit.NIGHT: gettext_lazy("%(days)s: %(value)s hours of work at night, when none is allowed at this age."),
    Limit.SCHOOL_AGE: gettext_lazy(
        "%(days)s: %(years)s years old; the rules for children are not kept here, ask the authority."
    ),
}
"""What is said where a limit is gone over."""


def about_today(workers: Sequence[Worker], today: date, *, why: bool) -> str:
    """Return how many are at work today, how many ride, and who is off sick where the reader may know that.

    Args:
        workers: those who work in the yard, with a day that is today.
        today: the day.
        why: whether the reader may know why somebody is off.
    """
    days = [(worker, next(one for one in worker.days if one.day == today)) for worker in workers]
    if not any(worker.known for worker in workers):
        return _("No working hours are entered yet; begin with one person.")
    at_work, ride = sum(bool(one.spans) for _who, one in days), sum(one.rides for _who, one in days)
    parts = [
        ngettext("%(at_work)s of %(all)s at work today", "%(at_work)s of %(all)s at work today", at_work)
        % {"at_work": at_work, "all": len(workers)},
        ngettext("%(ride)s rides work", "%(ride)s ride work", ride) % {"ride": ride},
    ]
    sick = sum(one.away == DayOff.Why.SICK for _who, one in days)
    if sick and why:
        parts.append(ngettext("%(sick)s is off sick", "%(sick)s are off sick", sick) % {"sick": apnumber(sick)})
    return _("%(parts)s.") % {"parts": "; ".join(parts)}


def about_week(table: WeekTable) -> str:
    """Return how many hours are worked in a week, and by how many."""
    monday, sunday = table.days[0][0], table.days[-1][0]
    working = sum(any(cell.lines for cell in row.cells) for row in table.rows)
    days = {"first": date_format(monday, "j F"), "last": date_format(sunday, "j F Y")}
    if not working:
        return _("From %(first)s to %(last)s no working hours are entered.") % days
    text = ngettext(
        "From %(first)s to %(last)s one person works %(hours)s hours.",
        "From %(first)s to %(last)s %(number)s people work %(hours)s hours between them.",
        working,
    )
    return text % (days | {"number": working, "hours": table.total})


def about_hours(hours: float, rides: int) -> str:
    """Return what somebody works in a usual week."""
    if not hours:
        return _("No working hours are entered.")
    if not rides:
        return _("Works %(hours)s hours a week.") % {"hours": hours_in_words(hours)}
    text = ngettext(
        "Works %(hours)s hours a week and rides work on %(number)s day.",
        "Works %(hours)s hours a week and rides work on %(number)s days.",
        rides,
    )
    return text % {"hours": hours_in_words(hours), "number": apnumber(rides)}


def not_entered(workers: Iterable[Worker]) -> str:
    """Return of whom no hours are entered, empty where there is nobody."""
    names = [worker.name for worker in workers if not worker.known]
    if not names:
        return ""
    text = ngettext("No hours are entered for %(names)s.", "No hours are entered for %(names)s.", len(names))
    return text % {"names": ", ".join(names)}


def off_today(one: WorkDay) -> str:
    """Return that somebody is off, why, and until when; empty for nobody who is."""
    if not one.away or one.away_until is None:
        return ""
    why = capfirst(str(DayOff.Why(one.away).label))
    if one.away_until == one.day:
        return _("%(why)s today.") % {"why": why}
    return _("%(why)s until %(day)s.") % {"why": why, "day": date_format(one.away_until, "l j F")}


def days_in_words(row: DayOff) -> str:
    """Return days off as "1 to 14 August 2026" or one day."""
    if row.first_day == row.last_day:
        return date_format(row.first_day, "D j F Y")
    first = date_format(row.first_day, "D j F" if row.first_day.year == row.last_day.year else "D j F Y")
    return _("%(first)s to %(last)s") % {"first": first, "last": date_format(row.last_day, "D j F Y")}


def bond_in_words(row: Bond) -> str:
    """Return what binds a jockey."""
    values = {"owner": row.owner.name if row.owner else "", "country": row.country}
    if row.kind == Bond.Kind.RETAINER:
        text = _("Rides for %(owner)s first, in %(country)s") if row.country else _("Rides for %(owner)s first")
    else:
        text = _("Suspended in %(country)s") if row.country else _("Suspended")
    return text % values


def over_in_words(over: OverLimit) -> str:
    """Return one limit that is gone over, with what is planned and what the rule says."""
    values = {
        "days": _days(over),
        "value": hours_in_words(over.value),
        "allowed": hours_in_words(over.allowed),
        "minutes": f"{over.allowed:.0f}",
        "years": f"{over.value:.0f}",
    }
    return str(OVER[over.limit]) % values


def source_in_words(over: OverLimit) -> str:
    """Return under which rule it is, who says so, and what the rule leaves out; empty for school age."""
    rule = over.rule
    if rule is None:
        return ""
    told = _("%(rule)s. Source: %(source)s.") % {"rule": rule.name, "source": rule.source.removesuffix(".")}
    return f"{told} {rule.note}".strip()


def about_limits(held: Held, names: dict[int, str], country: str) -> str:
    """Return how many go over a limit, or that none is known for the country.

    Args:
        held: what was looked at.
        names: names of those who were looked at.
        country: the yard's.
    """
    if not held.ruled:
        return no_limits(country)
    if not held.over:
        return _("As planned no hours go over a limit that is kept here.")
    told = ", ".join(names[number] for number in names if number in held.over)
    text = ngettext(
        "The hours of %(names)s go over a limit.",
        "The hours of %(number)s people go over a limit: %(names)s.",
        len(held.over),
    )
    return text % {"names": told, "number": apnumber(len(held.over))}


def no_limits(country: str) -> str:
    """Return that no limit is known for a country."""
    text = _("For %(country)s no limits on working hours are kept here, so none was looked at; ask the authority.")
    return text % {"country": country}


def about_ages(ageless: int) -> str:
    """Return that for some no day of birth is entered; empty where there is nobody."""
    text = ngettext(
        "For %(number)s person no day of birth is entered; the limits of adults were taken.",
        "For %(number)s people no day of birth is entered; the limits of adults were taken.",
        ageless,
    )
    return text % {"number": apnumber(ageless)} if ageless else ""


def _days(over: OverLimit) -> str:
    if over.first == over.last:
        return date_format(over.first, "l j F")
    first, last = date_format(over.first, "j F"), date_format(over.last, "j F")
    if over.last - over.first == timedelta(days=6):
        return _("Week of %(first)s to %(last)s") % {"first": first, "last": last}
    return _("%(first)s to %(last)s") % {"first": first, "last": last}
