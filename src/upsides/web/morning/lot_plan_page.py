"""What the page of a planned morning shows: the plan beside the list, what both cost, and what stands in the way."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

from django.utils.translation import gettext as _

from upsides.books import clock, morning_words
from upsides.books import lot_words as say
from upsides.books.diary.work import Ordered
from upsides.books.models import Job
from upsides.books.queries.lot_morning import Gathered, gather
from upsides.books.queries.lot_plans import KeptPlan, asked_for, left_to_take, orders_as_planned, plan_of
from upsides.books.queries.lots import Ride as Listed
from upsides.books.queries.moments import Moment
from upsides.planning.morning import Ride
from upsides.planning.verifying import Verdict, verify
from upsides.web.diary.forms import row_number
from upsides.web.jobs.sentences import failure_words
from upsides.web.shell.moments import asked_day

SOON: Final = timedelta(seconds=15)


@dataclass(frozen=True, slots=True)
class Line:
    """One horse in plan and list.

    Args:
        ride: of the plan.
        work: the exercise, how far and where; `company` with which horses it works.
        horse, rider, before: its name, the planned rider, and lot and rider of the list in words.
        changed: whether lot or rider differ.
        moved: whether only the place in the string differs.
        place, was: its place, and that of the list, None for none.
        notes: what whoever rides it must know.
    """

    ride: Ride
    horse: str
    rider: str
    before: str
    changed: bool
    notes: tuple[str, ...] = ()
    moved: bool = False
    place: int | None = None
    was: int | None = None
    work: str = ""
    company: str = ""


def plan_page(folder: Path, moment: Moment, asked: Mapping[str, str]) -> dict[str, Any]:
    """Return the plan of a day, or of it without a rider, as it was known at a moment."""
    day, without = asked_day(asked.get("day", ""), moment), row_number(asked.get("without", ""))
    found, kept = gather(folder, moment, day), plan_of(moment, day, without)
    job = asked_for(day, without) if moment.at is None else None
    context: dict[str, Any] = {
        "moment": moment,
        "day": day,
        "without": without,
        "name": found.riders.get(without or 0, ""),
        "waiting": _waiting(job),
        "busy": job is not None and job.ended_at is None,
        "pause": _pause(job),
        "kept": kept,
        "left_out": say.left_out_lines(found),
        "assumed": say.assumed_words(found),
        "to_come": day >= moment.day,
    }
    return context | _told(found, kept, without)


def nothing_new(asked: Mapping[str, str], moment: Moment) -> bool:
    """Return whether a page that renews itself can stay as it is: its plan was asked for just now and is not there."""
    day, without = asked_day(asked.get("day", ""), moment), row_number(asked.get("without", ""))
    job = asked_for(day, without) if moment.at is None else None
    return job is not None and job.ended_at is None and _just_asked(job)


def _just_asked(job: Job) -> bool:
    return clock.now() - job.asked_at < SOON


def _told(found: Gathered, kept: KeptPlan | None, without: int | None) -> dict[str, Any]:
    if not found.morning.horses:
        return {"sentence": say.nobody_words()}
    if kept is None:
        return {"sentence": _("There is no plan of this morning yet.")}
    if kept.lots.clash:
        return {"sentence": say.clash_words(kept.lots.clash, found)}
    prices = found.settings.prices
    plan = left_to_take(found, kept.lots.plan)
    now, listed = verify(found.morning, plan, prices), verify(found.morning, found.listed, prices)
    orders = {} if now.broken else orders_as_planned(found, plan)
    lines = [_line(found, ride, orders.get(ride.horse)) for ride in plan.rides]
    return {
        "sentence": _about(kept, lines, now, listed, without),
        "broken": [say.rule_words(rule, found, broken=True, plan=plan) for rule in now.broken],
        "listed_broken": [say.rule_words(rule, found, broken=True, plan=found.listed) for rule in listed.broken],
        "costs": say.cost_words(now.amounts, now.costs),
        "changes": [(line, _now_words(line)) for line in lines if line.changed and not now.broken],
        "lots": _by_lot(lines),
        "moved": [line for line in lines if line.moved],
        "takes": any(line.changed or line.moved for line in lines) and not now.broken,
    }


def _waiting(job: Job | None) -> str:
    if job is None:
        return ""
    if job.failure:
        return failure_words(job)
    if job.ended_at is not None:
        return ""
    best = _("The best so far costs %(doing)s.") % {"doing": job.doing} if job.doing else ""
    return f"{_('The lots are being planned.')} {best}".strip()


def _pause(job: Job | None) -> str:
    """Return after how long the page renews itself: soon while a plan asked for just now may be there any moment."""
    return "200ms" if job is not None and _just_asked(job) else "2s"


def _about(kept: KeptPlan, lines: list[Line], now: Verdict, listed: Verdict, without: int | None) -> str:
    made = f"{kept.made.astimezone(clock.place().zone):%H:%M}"
    if now.broken:
        return _("The plan of %(made)s does not fit the morning any more; plan the lots again.") % {"made": made}
    lots = kept.lots
    proof = say.proof_words(lots.costs.total, lots.bound, proven=lots.proven, nearest=without is not None)
    changes, moved = sum(line.changed for line in lines), sum(line.moved for line in lines)
    words = say.list_words(listed.costs.total, len(listed.broken)) if changes else ""
    return say.about_plan(made, changes, proof, words, moved)


def _line(found: Gathered, ride: Ride, planned: Ordered | None) -> Line:
    there = found.rides.get(ride.horse)
    order = there.order if there is not None else None
    before = _("lot %(number)s") % {"number": int(order.lot)} if order is not None and order.lot is not None else ""
    words = ", ".join(part for part in (before, there.rider if there is not None else "") if part)
    same = order is not None and (order.lot, order.rider) == (ride.lot, ride.rider)
    rider = found.riders.get(ride.rider or 0, "")
    notes = tuple(one.text for one in there.cautions) if there is not None else ()
    place, was = planned.place if planned is not None else ride.place, order.place if order is not None else None
    moved = same and planned is not None and place != was
    name, places = found.horses.get(ride.horse, ""), (int(place or 0) or None, int(was or 0) or None)
    return Line(ride, name, rider, words, not same, notes, moved, *places, *_work(there))


def _work(there: Listed | None) -> tuple[str, str]:
    """Return what a horse does and where, and with which horses it works."""
    if there is None:
        return "", ""
    parts = (morning_words.work_words(there.order), there.gallop)
    return ", ".join(part for part in parts if part), morning_words.company_words(there)


def _now_words(line: Line) -> str:
    """Return lot and rider of a horse in the plan, beside those on the list."""
    now = _("on the walker") if line.ride.lot is None else _("lot %(number)s") % {"number": line.ride.lot}
    told = {"now": ", ".join(part for part in (now, line.rider) if part), "before": line.before}
    return _("%(now)s; on the list %(before)s") % told if line.before else told["now"]


def _by_lot(lines: list[Line]) -> list[tuple[str, list[Line]]]:
    """Return lines under the title of their lot, those on the walker last."""
    found: dict[str, list[Line]] = {}
    for line in lines:
        title = _("On the walker") if line.ride.lot is None else _("Lot %(number)s") % {"number": line.ride.lot}
        found.setdefault(title, []).append(line)
    return list(found.items())


def address_of(day: date, without: int | None) -> str:
    """Return what the address of a plan asks for."""
    return f"day={day}" + (f"&without={without}" if without is not None else "")
