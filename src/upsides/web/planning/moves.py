"""Days of a horse's plan moved by hand: to which days each can go, and what is said of those that were moved."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from django.http import QueryDict
from django.utils.translation import gettext as _

from upsides.books.diary.work import Ordered
from upsides.books.morning_words import work_words
from upsides.books.queries.plan_values import HorsePlan
from upsides.books.services.plan_moves import Moved
from upsides.web.diary.forms import row_number
from upsides.web.planning.words import day_words

NO_DAY: Final = date.min
"""What is meant where no day was sent: a day that no plan has."""


@dataclass(frozen=True, slots=True)
class MovedLine:
    """A day to which work was moved: the day, in words what was moved from where, what the plan has there now."""

    day: date
    words: str


def asked(sent: QueryDict) -> tuple[int | None, tuple[date, date]]:
    """Return what was sent to move a day: the answer's number, from which day, to which."""
    return row_number(sent.get("answer", "")), (day_of(sent, "from"), day_of(sent, "to"))


def day_of(sent: QueryDict, name: str) -> date:
    """Return a day that was sent."""
    try:
        return date.fromisoformat(sent.get(name, ""))
    except ValueError:
        return NO_DAY


def moves_of(found: HorsePlan, today: date) -> dict[date, list[tuple[date, str]]]:
    """Return of each day that can be moved to which days it can go, in words: day, and what stands there now."""
    days = found.planned.days if found.planned is not None else ()
    ahead = [one.day for one in days if one.day > today and one.exercise != "race"]
    free = {day for day in ahead if day not in found.gone}
    home = {day: date.fromisoformat(order.moved_from or "") for day, order in found.moved.items()}
    to = {day: [other for other in ahead if other != day and other in {*free, home.get(day)}] for day in sorted(free)}
    return {day: [(other, day_words(other)) for other in others] for day, others in to.items()}


def moved_lines(found: HorsePlan) -> dict[date, MovedLine]:
    """Return each day to which work was moved by hand, in words: what, where the plan has not got it there yet."""
    has = {one.day for one in found.planned.days} if found.planned is not None else set()
    return {
        day: MovedLine(day, _from_words(order, planned=day in has and day not in found.otherwise))
        for day, order in found.moved.items()
    }


def gone_words(found: HorsePlan, day: date) -> str:
    """Return where the work of a day went that was moved by hand since the plan was made; empty where none was."""
    to = found.gone.get(day)
    return _("its work was moved to %(day)s") % {"day": day_words(to)} if to is not None else ""


def _from_words(order: Ordered, *, planned: bool) -> str:
    told = {"work": work_words(order), "day": day_words(date.fromisoformat(order.moved_from or ""))}
    if planned:
        return _("moved here by hand from %(day)s") % told
    return _("%(work)s moved here by hand from %(day)s") % told


def moved_words(moved: Moved) -> str:
    """Return what was moved, and that the rest is planned round it."""
    told = {"work": work_words(moved.work), "from": day_words(moved.from_), "to": day_words(moved.to)}
    text = _("Moved from %(from)s to %(to)s: %(work)s. The string's work is being planned round it.") % told
    if moved.freed:
        text += " " + _("What was ordered for %(from)s is taken back.") % told
    return text


def back_words(back: Moved) -> str:
    """Return what was taken back, and what is planned now."""
    told = {"work": work_words(back.work), "day": day_words(back.to)}
    return _("Taken back: %(work)s on %(day)s. The string's work is being planned as it was before.") % told
