"""`upsides lots`: who rides what in which lot, with what it costs, its proof, and what binds."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import Shown, shown

if TYPE_CHECKING:
    from upsides.books.queries.lot_morning import Gathered
    from upsides.books.queries.moments import Moment
    from upsides.planning.binding import Binding
    from upsides.planning.lots import Lots
    from upsides.planning.morning import Ride
    from upsides.planning.solving import Progress


@click.command()
@click.option(
    "--date", "day", type=Day(), help="The morning, today's without it; an earlier one as known at 6 that day."
)
@click.option("--without", "rider", help="The nearest plan to the day's list without this rider, by name.")
@click.option("--keep", is_flag=True, help="Take the plan into the day's list; nothing is written without it.")
@library_option
@json_option
def lots(day: date | None, rider: str | None, keep: bool, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- options
    """Plan who rides what in which lot; Ctrl-C keeps the best plan so far."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import clock
    from upsides.books.lot_solving import binding, solve_lots
    from upsides.books.lot_words import left_out_lines
    from upsides.books.queries.lot_morning import gather
    from upsides.cli.condition import moment_of
    from upsides.planning.solving import Watch

    moment = moment_of(min(day, clock.today()) if day else None)
    morning = day or moment.day
    number = _rider(moment, morning, rider) if rider else None
    found = gather(library, moment, morning, also=() if number is None else [number])
    with shown() as line, _stopped() as stop:
        watch = Watch(_Told(line), lambda: stop.asked)
        planned = solve_lots(found, number, watch)
        binds = list(binding(found, planned, watch)) if number is None else []
    kept = _keep(library, morning, planned, moment) if keep else None
    value = _as_value(found, planned, binds, moment, number) | {"kept": kept}
    answer(as_json, value, _as_lines(value, left_out_lines(found)))


def _rider(moment: "Moment", day: date, name: str) -> int:
    """Return the number of somebody who works in the yard by name.

    Raises:
        MorningRefusedError: nobody, or more than one, is called so.
    """
    from upsides.books.queries.finding import folded
    from upsides.books.queries.staff import at_work
    from upsides.errors import MorningRefusedError

    found = [one.number for one in at_work(moment, day) if folded(one.name) == folded(name)]
    if len(found) != 1:
        reason = "several people are called so" if found else "nobody who works in the yard is called so"
        raise MorningRefusedError("rider", name, reason, "write the name as the books have it")
    return found[0]


def _keep(library: Path, day: date, planned: "Lots", moment: "Moment") -> int:
    from upsides.books.queries.office import office_person
    from upsides.books.services.lots import take_lots
    from upsides.errors import MorningRefusedError

    if moment.at is not None:
        raise MorningRefusedError("date", day, "that morning is over", "keep a plan of today or of a day to come")
    return take_lots(library, day, planned.plan, office_person())


@dataclass(slots=True)
class _Stop:
    """Whether somebody pressed Ctrl-C."""

    asked: bool = False


@contextmanager
def _stopped() -> Iterator[_Stop]:
    """Note Ctrl-C for the length of a block instead of ending at once."""
    stop = _Stop()

    def note(_signal: int, _frame: object) -> None:
        stop.asked = True

    before = signal.signal(signal.SIGINT, note)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


@dataclass(slots=True)
class _Told:
    """Tells of a search: its best plan, its bound and the gap."""

    line: Shown

    def __call__(self, now: "Progress") -> None:
        if isfinite(now.best) and isfinite(now.bound):
            self.line.say(f"best {now.best:.1f} min, none below {now.bound:.1f}, gap {now.gap:.1f}")


def _as_value(
    found: "Gathered", planned: "Lots", binds: list["Binding"], moment: "Moment", without: int | None
) -> dict[str, Any]:
    from upsides.books import lot_words as say
    from upsides.planning.prices import PARTS
    from upsides.planning.verifying import verify

    listed = verify(found.morning, found.listed, found.settings.prices)
    return {
        "day": found.day,
        "as_of": moment.at.isoformat() if moment.at else None,
        "without": found.riders[without] if without is not None else None,
        "lots": [
            {
                "lot": lot.number,
                "starts": f"{lot.starts // 60}:{lot.starts % 60:02}",
                "rides": [_ride(ride, found) for ride in planned.plan.rides if ride.lot == lot.number],
            }
            for lot in found.morning.lots
        ],
        "walker": [found.horses[ride.horse] for ride in planned.plan.rides if ride.lot is None],
        "cost": {
            part: {"amount": getattr(planned.amounts, part), "minutes": getattr(planned.costs, part)} for part in PARTS
        },
        "minutes": planned.costs.total,
        "bound": planned.bound,
        "gap": planned.gap,
        "proven": planned.proven,
        "sentence": say.proof_words(
            planned.costs.total, planned.bound, proven=planned.proven, nearest=without is not None
        ),
        "costs": say.cost_words(planned.amounts, planned.costs),
        "binds": [
            {"rule": one.rule.kind, "words": say.rule_words(one.rule, found), "saves": one.saves, "proven": one.proven}
            for one in binds
        ],
        "list": {
            "minutes": listed.costs.total if not listed.broken else None,
            "broken": [say.rule_words(rule, found, broken=True, plan=found.listed) for rule in listed.broken],
        },
        "left_out": [
            {"horse": found.horses[one.horse], "why": one.why, "words": say.left_out_words(one, found)}
            for one in found.left_out
        ],
        "assumed": say.assumed_words(found),
    }


def _ride(ride: "Ride", found: "Gathered") -> dict[str, Any]:
    there, before = found.rides[ride.horse], found.listed.of_horse().get(ride.horse)
    return {
        "place": ride.place,
        "horse": found.horses[ride.horse],
        "rider": found.riders[ride.rider or 0],
        "exercise": there.order.exercise,
        "gallop": found.gallops.get(there.order.gallop or 0, ""),
        "upsides": [found.horses[one] for one in there.order.upsides if one in found.horses],
        "other_work": sorted(there.otherwise),
        "changed": before is not None and (before.lot, before.rider) != (ride.lot, ride.rider),
    }


def _as_lines(value: dict[str, Any], left_out: list[str]) -> list[str]:
    rides = sum(len(lot["rides"]) for lot in value["lots"])
    without = f" without {value['without']}" if value["without"] else ""
    if not rides and not value["walker"]:
        lines = [f"There is nothing to plan on {value['day']}: no horse is ordered to be ridden, or all are done."]
        return lines + _block("Not planned", left_out)
    lines = [f"{rides} horses go out on {value['day']}{without}. {value['sentence']}"]
    for lot in (one for one in value["lots"] if one["rides"]):
        lines += ["", f"Lot {lot['lot']}, {lot['starts']}", *(_line(ride) for ride in lot["rides"])]
    lines += ["", f"On the walker: {', '.join(value['walker'])}."] if value["walker"] else []
    lines += _block("What it costs", value["costs"])
    lines += _block("What binds", [f"{one['words']}: {one['saves']:g} min by one" for one in value["binds"]])
    lines += _block("The list as it stands breaks", value["list"]["broken"])
    lines += _block("Not planned", left_out)
    lines += _block("Assumed", value["assumed"])
    if value["kept"] is None:
        return [*lines, "", "Nothing was written; --keep takes it into the list."]
    return [*lines, "", f"Taken into the list: {value['kept']} orders changed."]


def _line(ride: dict[str, Any]) -> str:
    work = ride["exercise"].replace("_", " ")
    where = f", {ride['gallop']}" if ride["gallop"] else ""
    names = [f"{name} (does other work)" if name in ride["other_work"] else name for name in ride["upsides"]]
    company = f", with {', '.join(names)}" if names else ""
    mark = " (changed)" if ride["changed"] else ""
    return f"  {ride['place']:>2}  {ride['rider']}: {ride['horse']}, {work}{where}{company}{mark}"


def _block(title: str, lines: list[str]) -> list[str]:
    return ["", title, *(f"  {line}" for line in lines)] if lines else []
