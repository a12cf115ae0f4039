"""`upsides plan`: the work of a horse up to its race, and that of the string."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from math import inf, isfinite
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.plan_values import known_then, week_lines, work_lines, work_value
from upsides.cli.progress import shown
from upsides.errors.wording import filled

if TYPE_CHECKING:
    from upsides.books.queries.moments import Moment
    from upsides.placing import Race
    from upsides.planning.solving import Progress, Watch
    from upsides.planning.work.horse import Horse as Worked
    from upsides.planning.work.orders import Orders
    from upsides.planning.work.plans import Work
    from upsides.planning.work.routine import Settings
    from upsides.planning.work.said import Said

BEST = 3


@click.group()
def plan() -> None:
    """Plan work: the orders that depart least from the routine and keep every limit, with the proof."""


@plan.command()
@click.argument("horse")
@click.option("--for", "to", multiple=True, help="Plan up to this race: its code, or its title; as often as wanted.")
@click.option("--date", "day", type=Day(), help="First day that is planned; tomorrow where none is given.")
@click.option("--kind", default="", help="Kind of the routine; the books tell it by age, race and lay-up.")
@click.option("--nature", "natures", multiple=True, help="keen or idle; laid over the kind.")
@click.option("--back", type=click.IntRange(0, 400), help="So many days it has been back in work, that day.")
@click.option("--keep", "kept", multiple=True, help="An order fixed by hand: 2026-03-04=hack_canter.")
@click.option("--free", is_flag=True, help="What is ordered already may change, at a price; kept without it.")
@click.option("--nearest", is_flag=True, help="Change as few days as can be of the plan that stands; orders stay.")
@library_option
@json_option
def work(
    horse: str,
    to: tuple[str, ...],
    day: date | None,
    kind: str,
    natures: tuple[str, ...],
    back: int | None,
    kept: tuple[str, ...],
    free: bool,  # noqa: FBT001 -- an option
    nearest: bool,  # noqa: FBT001 -- an option
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Plan the work of HORSE, a name of the yard's, for ten days and on to its races: the best plan and two others.

    What is ordered for a day to come is kept, and the rest works round it, unless the horse runs that day.
    """
    moment, first = _opened(library, day)
    from upsides.books import clock
    from upsides.books.queries.planned_work import Wished, at_stalls, routine, to_work
    from upsides.cli.work import named
    from upsides.planning.work.changed import better_told
    from upsides.planning.work.horse import by_itself
    from upsides.planning.work.plans import adapt, plan_work
    from upsides.planning.work.said import plain

    found, settings = named(horse, moment), routine(library, moment)
    meant = sorted((_race(library, moment, one) for one in to), key=lambda one: one.day)
    at = tuple((one.day, float(one.distance_m or 0)) for one in meant)
    wished = Wished(first, kind, natures, at, _pins(kept, settings.orders), back, keep=not free)
    (worked,) = map(by_itself, to_work(library, moment, [found], wished, settings))
    better: tuple[Said, ...] = ()
    with _watched() as watch:
        if nearest:
            works: tuple[Work, ...] = (adapt(worked, settings.prices, watch=watch),)
            other = plan_work(worked, settings.prices, watch=watch)[0].plan
            better = better_told(worked, works[0].plan, other, settings.prices)
        else:
            works = plan_work(worked, settings.prices, BEST, watch=watch, fast=True)
    value = work_value(found, worked, works, settings, wished, nearest=nearest)
    value["known"] = known_then(first, clock.today())
    value["better"] = [plain(one) for one in better]
    value["segments"] = _segments(moment, settings, value)
    _name_partners(moment, worked, value)
    value["ask_first"] = _ask_first(library, moment, found.pk)
    stalls = at_stalls(library, moment, found, worked, meant[0].to_bend_m if meant else None)
    value["stalls"] = [plain(one) for one in stalls]
    answer(as_json, value, work_lines(value))


@plan.command()
@click.option("--date", "day", type=Day(), help="First day that is planned; tomorrow where none is given.")
@click.option("--workers", type=click.IntRange(0, 500), help="The most in fast work a morning; else as the yard says.")
@click.option("--ridden", type=click.IntRange(0, 2000), help="The most horses ridden a morning; else by who rides.")
@click.option(
    "--minutes", type=click.FloatRange(0, 1440), help="Stop the search after so long, with the best plan so far."
)
@click.option("--afresh", is_flag=True, help="Plan from the routine, whatever plan stands; orders stay.")
@library_option
@json_option
def week(
    day: date | None,
    workers: int | None,
    ridden: int | None,
    minutes: float | None,
    afresh: bool,  # noqa: FBT001 -- an option
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Plan the work of all horses in training together for ten days, partners for work upsides among them."""
    moment, first = _opened(library, day)
    from upsides.books import clock
    from upsides.books.planned import week_value
    from upsides.books.queries.in_training import in_training
    from upsides.books.queries.planned_work import Wished, routine, to_work
    from upsides.books.queries.string_limits import string_limits
    from upsides.planning.work.ordered import plan_ordered, without_plan
    from upsides.planning.work.said import plain

    settings, string, wished = routine(library, moment), in_training(moment), Wished(first, keep=True, afresh=afresh)
    horses = to_work(library, moment, list(string.values()), wished, settings)
    shared = string_limits(moment, first, wished.days, len(horses), settings.mornings)
    days = range(wished.days)
    shared = shared if workers is None else replace(shared, workers=dict.fromkeys(days, workers))
    shared = shared if ridden is None else replace(shared, riders=dict.fromkeys(days, ridden))
    with _watched() as watch:
        none = without_plan(horses, watch=watch)
    able = [one for one in horses if one.number not in none]
    with _watched(minutes) as watch:
        found = plan_ordered(able, shared, settings.prices, watch=watch)
    value = week_value(first, found, settings, shared)
    value["known"] = known_then(first, clock.today())
    for one, shown_as in zip(found.horses, value["horses"], strict=True):
        shown_as["ask_first"] = _ask_first(library, moment, one.number)
    value["clashes"] = [{"horse": one.called, **none[one.number].kept(plain)} for one in horses if one.number in none]
    answer(as_json, value, week_lines(value))


def _opened(library: Path, day: date | None) -> "tuple[Moment, date]":
    """Return the moment that is looked from, and the first day that is planned."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import clock
    from upsides.cli.condition import moment_of

    if day is None:
        return moment_of(None), clock.today() + timedelta(days=1)
    return moment_of(min(day, clock.today())), day


def _ask_first(library: Path, moment: "Moment", number: int) -> list[str]:
    """Return what stands open of a horse that a vet may want to know before it works."""
    from upsides.books.queries.condition_vet import for_the_vet
    from upsides.books.queries.office import office_person
    from upsides.books.queries.visitors import visitor
    from upsides.books.queries.yard_rules import yard_rules

    reader = visitor(office_person(), barn=False)
    still = for_the_vet(moment, number, reader, yard_rules(library).overrides).open
    return [filled("{on:%d %B}: {words}", {"on": one.happened, "words": one.words}) for one in still]


def _segments(moment: "Moment", settings: "Settings", value: dict[str, Any]) -> dict[str, Any]:
    """Return what each order of the plans is, part by part, by its name; a race is as far as it is."""
    from upsides.books.queries.order_parts import order_parts, parts_value

    days = [one for shown_as in value["plans"] for one in shown_as["days"]]
    later = [name for shown_as in value["plans"] for span in shown_as["later"] for name in span["orders"]]
    named = dict.fromkeys([*(one[key] for one in days for key in ("order", "routine")), *later])
    orders = [settings.orders[name] for name in named if settings.orders[name].exercise != "race"]
    parts = order_parts(moment, orders)
    return {one.name: {"title": one.title, "parts": parts_value(parts, one.name)} for one in orders}


def _name_partners(moment: "Moment", worked: "Worked", value: dict[str, Any]) -> None:
    """Write beside each day of the plans with whom the horse was ordered upsides by hand."""
    from upsides.books.models import Horse
    from upsides.books.queries import moments

    names = moments.names(Horse, moment, (number for beside in worked.beside.values() for number in beside))
    for one in value["plans"]:
        for day, shown_as in enumerate(one["days"]):
            upsides = worked.routine.orders[shown_as["order"]].upsides
            beside = worked.beside.get(day, ()) if upsides else ()
            shown_as["beside"] = sorted(names[number] for number in beside if number in names)


def _race(library: Path, moment: "Moment", text: str) -> "Race":
    """Return a race to come whose distance is known."""
    from upsides.books.queries.programme import programme
    from upsides.cli.race_values import race_named
    from upsides.errors import WorkRefusedError

    _code, found = race_named(programme(library, moment), moment, text)
    if found.distance_m is None:
        raise WorkRefusedError("race", text, "its distance is not known", "add it to the programme")
    return found


def _pins(kept: tuple[str, ...], orders: "Orders") -> dict[date, str]:
    """Return orders fixed by hand.

    Raises:
        WorkRefusedError: there is no such order.
    """
    from upsides.errors import WorkRefusedError

    known = [one.name for one in orders.values() if one.exercise != "race"]
    found = {}
    for one in kept:
        when, equal, order = one.partition("=")
        if not equal:
            raise click.BadParameter(
                f"{one!r} names no day and order; write 2026-03-04=hack_canter", param_hint="--keep"
            )
        if order not in known:
            raise WorkRefusedError(
                f"order on {when}", order, "it is no order of work", f"name one of {', '.join(known)}"
            )
        found[Day().convert(when, None, None)] = order
    return found


@contextmanager
def _watched(minutes: float | None = None) -> "Iterator[Watch]":
    """Give a watch that tells how far the search is, and that Ctrl-C or time stops so that the best plan stays."""
    from upsides.planning.solving import Watch

    stopped: list[int] = []
    until = inf if minutes is None else monotonic() + 60.0 * minutes
    before = signal.signal(signal.SIGINT, lambda number, _frame: stopped.append(number))
    try:
        with shown() as line:

            def tell(now: "Progress") -> None:
                if isfinite(now.best) and now.best > 0:
                    share = min(max(now.bound / now.best, 0.0), 0.99)
                    of = "days changed" if now.of == "days" else "steps"
                    line(share, f"best {now.best:.1f} {of}, none below {now.bound:.1f}, gap {now.gap:.1f}")

            yield Watch(tell, lambda: bool(stopped) or monotonic() >= until)
    finally:
        signal.signal(signal.SIGINT, before)
