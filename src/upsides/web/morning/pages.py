"""What the pages of a morning show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books import morning_words as say
from upsides.books.diary.fields import Names
from upsides.books.diary.work import ORDERERS, Ordered
from upsides.books.models import Gallop, Horse, Inside, Person
from upsides.books.queries import moments
from upsides.books.queries.lots import Lot, Ride, orders, unasked
from upsides.books.queries.moments import Moment
from upsides.books.queries.morning import away_on, lots_of, missed, morning
from upsides.books.queries.names import lists
from upsides.books.queries.string_plan import planned_orders
from upsides.books.queries.usual import usual
from upsides.books.queries.visitors import Open, Visitor, opened
from upsides.books.services.lists import DONE_WITHIN
from upsides.books.services.sights import saw
from upsides.web.diary.forms import Filled, filled
from upsides.web.morning.done_words import anew_words, did_words, done_words
from upsides.web.shell.access import may_open
from upsides.web.shell.moments import asked_day

MOST_DUE: Final = 20
"""Due things that a morning lists; the page of what is due has all."""


@dataclass(frozen=True, slots=True)
class Line:
    """One horse of a lot as a page shows it: the ride, and it in words.

    `done` is what it did, with what differs from the order; `anew` that order or entry were changed afterwards;
    `company` with which horses it works.
    """

    ride: Ride
    work: str
    advice: str
    against: str
    changed: str = ""
    done: str = ""
    anew: tuple[tuple[str, int], ...] = ()
    company: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """One lot as a page shows it; `open` is whether it stands open on a phone."""

    lot: Lot
    title: str
    summary: str
    lines: tuple[Line, ...]
    open: bool = True

    @property
    def against(self) -> list[Line]:
        """Return the lines that something stands in the way of."""
        return [line for line in self.lines if line.against]


def morning_page(folder: Path, who: Visitor, moment: Moment, path: str) -> dict[str, Any]:
    """Return the morning of the moment's day; a look at plans is written down."""
    plans = opened(who, Inside.PLANS)
    shown = morning(folder, moment, plans)
    if shown.deadlines:
        saw(who, Inside.PLANS, path)
    return {
        "moment": moment,
        "shown": shown,
        "sentence": say.about_morning(shown),
        "first": [look for look in shown.looks if look.eyes_on],
        "later": [look for look in shown.looks if not look.eyes_on],
        "groups": groups(shown.lots),
        "deadlines": [(one, say.deadline_words(one, shown.cannot_run)) for one in shown.deadlines],
        "due": [(one, say.due_words(one, moment.day)) for one in shown.due][:MOST_DUE],
        "orders": bool(who.roles & ORDERERS),
        "plans": bool(plans),
        "race_day": may_open("race_day", who.roles) and not who.barn,
        "look_at": may_open("look_at", who.roles) and not who.barn,
        "unchecked": sum(len(one.horses) for one in shown.unchecked),
        "missed": missed(shown.lots, shown.away) if who.roles & ORDERERS else [],
    }


def groups(
    found: tuple[Lot, ...] | list[Lot], before: Mapping[int, Ordered] | None = None, known: Names | None = None
) -> list[Group]:
    """Return lots as a page shows them; where the orders of the day before are given, with what changed."""
    names = known or Names()
    lines = [tuple(line_of(ride, before, names) for ride in lot.rides) for lot in found]
    return [Group(lot, say.lot_title(lot), say.lot_summary(lot), own) for lot, own in zip(found, lines, strict=True)]


def _folded(shown: list[Group]) -> list[Group]:
    """Return lots of which the next stands open, and those in which a vet advised something or something is wrong."""
    now = next((one for one in shown if not one.lot.out), None)
    return [replace(one, open=one is now or any(line.against or line.advice for line in one.lines)) for one in shown]


def _over(one: Group) -> Group:
    """Return a lot of a day that is over; one stands open of which not all is written, or not all was as ordered."""
    return replace(one, open=any(line.done != line.work or line.anew for line in one.lines))


def line_of(ride: Ride, before: Mapping[int, Ordered] | None, known: Names) -> Line:
    """Return a ride as a page shows it; with what changed where the orders of the day before are given."""
    changed = say.changed(ride.order, before.get(ride.horse.pk), known) if before is not None else ""
    return Line(
        ride,
        say.work_words(ride.order),
        say.advice_words(ride.advised),
        say.against_words(ride),
        changed,
        done_words(ride),
        anew_words(ride),
        say.company_words(ride),
    )


def lots_page(who: Visitor, moment: Moment, asked: Mapping[str, str]) -> dict[str, Any]:
    """Return the lots of a day, today's where none is asked for."""
    day = asked_day(asked.get("day", ""), moment)
    away = away_on(moment, day)
    found = lots_of(moment, day, away)
    orderer, past = bool(who.roles & ORDERERS), day < moment.day
    plans = orderer and not past
    return {
        "moment": moment,
        "day": day,
        "sentence": _about_lots(found),
        "groups": [_over(one) for one in groups(found)] if past else _folded(groups(found)),
        "past": past,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "besides": [(one, did_words(one.done)) for one in unasked(moment, day)],
        "orders": orderer and moment.day - timedelta(days=DONE_WITHIN) <= day <= moment.day,
        "plans": plans and bool(found),
        "missed": missed(found, away) if plans else [],
    }


def _about_lots(found: list[Lot]) -> str:
    out = [lot for lot in found if lot.number is not None]
    rides = [ride for lot in out for ride in lot.rides]
    return say.about_lots(len(out), len(rides), sum(lot.out for lot in out), sum(one.done is not None for one in rides))


def before_of(moment: Moment, day: date) -> dict[int, Ordered]:
    """Return the orders of the day before a day, by number of the horse."""
    found = orders(moment, day - timedelta(days=1))
    return {number: Ordered.kept_as(entry.values) for number, entry in found.items()}


def names_of(moment: Moment, found: Mapping[int, Ordered]) -> Names:
    """Return the names of the riders and gallops that orders name."""
    people = moments.names(Person, moment, (order.rider for order in found.values()))
    gallops = moments.names(Gallop, moment, (order.gallop for order in found.values()))
    told = {("person", number): name for number, name in people.items() if number}
    return Names(told | {("gallop", number): name for number, name in gallops.items() if number})


def horse_form(
    moment: Moment, day: date, number: int, typed: Mapping[str, str] | None, plans: Open
) -> dict[str, Any] | None:
    """Return the form of one horse's order; None where it is not in training that day.

    What is planned for it is told beside it if the horse is among `plans`.
    """
    horse = moments.in_training(Moment(day, moment.at)).filter(id=number).first()
    if horse is None:
        return None
    there = orders(moment, day).get(number)
    order = Ordered.kept_as(there.values) if there else usual(moment, day, away_on(moment, day))[number]
    every = filled(Ordered, typed if typed is not None else order.typed())
    fields: list[Filled] = [one for one in every if one.field.name != "moved_from"]  # only moving a day says that
    planned = planned_orders(moment, day).get(number) if number in plans else None
    return {
        "horse": horse,
        "day": day,
        "fields": fields,
        "lists": lists(moment),
        "moment": moment,
        "plan": say.planned_words(planned, order),
    }


def meant(moment: Moment, day: date, number: int, typed: Mapping[str, str]) -> dict[str, str]:
    """Return an order as it was typed; it stays moved by hand where its work does, whatever was sent of that."""
    there = orders(moment, day).get(number)
    before = Ordered.kept_as(there.values).typed() if there is not None else {}
    same = all(typed.get(name, "") == before.get(name, "") for name in ("exercise", "furlongs"))
    return {**typed, "moved_from": str(before.get("moved_from", "")) if same else ""}


def along_words(moment: Moment, horses: Sequence[int]) -> str:
    """Return who was taken along to another lot or gallop, because they work together."""
    names = moments.names(Horse, moment, horses)
    text = ngettext("%(names)s goes with it.", "%(names)s go with it.", len(horses))
    return text % {"names": get_text_list([names[one] for one in horses], _("and"))}


FURTHER: Final[tuple[tuple[str, str | Promise], ...]] = (
    ("look_at", gettext_lazy("Whom to look at first")),
    ("calls", gettext_lazy("Whom to call")),
    ("string_plan", gettext_lazy("The string's week")),
    ("lots", gettext_lazy("Lots")),
    ("lots_own", gettext_lazy("One rider's list")),
    ("evening", gettext_lazy("Tomorrow's list")),
    ("programme", gettext_lazy("Programme of races")),
    ("deadlines", gettext_lazy("Deadlines of races")),
    ("race_day", gettext_lazy("Race day")),
    ("let_go", gettext_lazy("Races let go")),
    ("boxes", gettext_lazy("Boxes")),
    ("medicines", gettext_lazy("Medicine register")),
    ("isolation", gettext_lazy("Arrivals and isolation")),
    ("feed_store", gettext_lazy("Feed in store")),
    ("staff_week", gettext_lazy("The staff's week")),
    ("yard", gettext_lazy("The yard's own lists")),
    ("tables", gettext_lazy("Tables in and out")),
    ("recordings", gettext_lazy("Recordings")),
    ("heat", gettext_lazy("Heat")),
)
"""Pages that have no place in the head."""


def further(who: Visitor) -> list[tuple[str, str]]:
    """Return the pages without a place in the head that somebody may open."""
    return [(name, str(words)) for name, words in FURTHER if may_open(name, who.roles)]
