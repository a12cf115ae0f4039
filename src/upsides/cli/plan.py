"""`upsides plan`: the work of a horse up to its race, and that of the string."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown

if TYPE_CHECKING:
    from upsides.books.models import Horse
    from upsides.books.queries.moments import Moment
    from upsides.books.queries.planned_work import Wished
    from upsides.placing import Race
    from upsides.planning.solving import Progress, Watch
    from upsides.planning.work.horse import Horse as Worked
    from upsides.planning.work.horse import Plan
    from upsides.planning.work.plans import Work
    from upsides.planning.work.routine import Parts, Settings
    from upsides.planning.work.shared import Shared
    from upsides.planning.work.string import StringWork

BEST = 3


@click.group()
def plan() -> None:
    """Plan work: the orders that depart least from the routine and keep every limit, with the proof."""


@plan.command()
@click.argument("horse")
@click.option("--for", "race", help="Plan up to this race: its code, or its title.")
@click.option("--date", "day", type=Day(), help="First day that is planned; tomorrow where none is given.")
@click.option("--kind", default="", help="Kind of the routine; the books tell it by age, race and lay-up.")
@click.option("--nature", "natures", multiple=True, help="keen or idle; laid over the kind.")
@click.option("--back", type=click.IntRange(0, 400), help="So many days it has been back in work, that day.")
@click.option("--keep", "kept", multiple=True, help="An order fixed by hand: 2026-03-04=hack_canter.")
@click.option("--nearest", is_flag=True, help="Change as few as can be of the days that are ordered already.")
@library_option
@json_option
def work(
    horse: str,
    race: str | None,
    day: date | None,
    kind: str,
    natures: tuple[str, ...],
    back: int | None,
    kept: tuple[str, ...],
    nearest: bool,  # noqa: FBT001 -- an option
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Plan the work of HORSE, a name of the yard's, for ten days and on to its races: the best plan and two others."""
    moment, first = _opened(library, day)
    from upsides.books.queries.planned_work import Wished, at_stalls, routine, to_work
    from upsides.cli.work import named
    from upsides.planning.work.plans import adapt, plan_work

    found, settings = named(horse, moment), routine(library, moment)
    meant = None if race is None else _race(library, moment, race)
    at = None if meant is None else (meant.day, float(meant.distance_m or 0))
    wished = Wished(first, kind, natures, at, _pins(kept), back)
    (worked,) = to_work(library, moment, [found], wished, settings)
    with _watched() as watch:
        if nearest:
            works: tuple[Work, ...] = (adapt(worked, settings.prices, watch=watch),)
        else:
            works = plan_work(worked, settings.prices, BEST, watch=watch)
    value = _as_value(found, worked, works, settings, wished)
    value["ask_first"] = _ask_first(moment, found.pk)
    value["stalls"] = list(at_stalls(library, moment, found, worked, meant.to_bend_m if meant else None))
    answer(as_json, value, _as_lines(value))


@plan.command()
@click.option("--date", "day", type=Day(), help="First day that is planned; tomorrow where none is given.")
@click.option("--workers", type=click.IntRange(0, 500), help="The most horses in fast work a morning.")
@click.option("--ridden", type=click.IntRange(0, 2000), help="The most horses ridden a morning.")
@library_option
@json_option
def week(day: date | None, workers: int | None, ridden: int | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Plan the work of all horses in training together for ten days, partners for work upsides among them."""
    moment, first = _opened(library, day)
    from upsides.books.queries.in_training import in_training
    from upsides.books.queries.planned_work import Wished, routine, to_work
    from upsides.planning.work.shared import Shared
    from upsides.planning.work.string import clashing, plan_string

    settings, string = routine(library, moment), in_training(moment)
    horses = to_work(library, moment, list(string.values()), Wished(first), settings)
    shared = Shared(
        workers={} if workers is None else dict.fromkeys(range(10), workers),
        riders={} if ridden is None else dict.fromkeys(range(10), ridden),
    )
    none = clashing(horses)
    able = [one for one in horses if one.number not in none]
    with _watched() as watch:
        found = plan_string(able, shared, settings.prices, watch=watch)
    value = _week_value(first, found, settings, shared)
    for one, shown_as in zip(found.horses, value["horses"], strict=True):
        shown_as["ask_first"] = _ask_first(moment, one.number)
    value["clashes"] = [
        {"horse": one.called, "rules": list(none[one.number].words)} for one in horses if one.number in none
    ]
    answer(as_json, value, _week_lines(value))


def _opened(library: Path, day: date | None) -> "tuple[Moment, date]":
    """Return the moment that is looked from, and the first day that is planned."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import clock
    from upsides.cli.condition import moment_of

    if day is None:
        return moment_of(None), clock.today() + timedelta(days=1)
    return moment_of(min(day, clock.today())), day


def _ask_first(moment: "Moment", number: int) -> list[str]:
    """Return what stands open of a horse that a vet may want to know before it works."""
    from upsides.books.queries.condition_vet import for_the_vet
    from upsides.books.queries.office import office_person
    from upsides.books.queries.visitors import visitor

    still = for_the_vet(moment, number, visitor(office_person(), barn=False)).open
    return [f"{one.happened.date()}: {one.words}" for one in still]


def _race(library: Path, moment: "Moment", text: str) -> "Race":
    """Return a race to come whose distance is known."""
    from upsides.books.queries.programme import programme
    from upsides.cli.race_values import race_named
    from upsides.errors import WorkRefusedError

    _code, found = race_named(programme(library, moment), moment, text)
    if found.distance_m is None:
        raise WorkRefusedError("race", text, "its distance is not known", "add it to the programme")
    return found


def _pins(kept: tuple[str, ...]) -> dict[date, str]:
    """Return orders fixed by hand."""
    found = {}
    for one in kept:
        when, equal, order = one.partition("=")
        if not equal:
            raise click.BadParameter(
                f"{one!r} names no day and order; write 2026-03-04=hack_canter", param_hint="--keep"
            )
        found[Day().convert(when, None, None)] = order
    return found


@contextmanager
def _watched() -> "Iterator[Watch]":
    """Give a watch that tells how far the search is, and that Ctrl-C stops so that the best plan stays."""
    from upsides.planning.solving import Watch

    stopped: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _frame: stopped.append(number))
    try:
        with shown() as line:

            def tell(now: "Progress") -> None:
                if isfinite(now.best) and now.best > 0:
                    share = min(max(now.bound / now.best, 0.0), 0.99)
                    line(share, f"best {now.best:.1f} steps, none below {now.bound:.1f}")

            yield Watch(tell, lambda: bool(stopped))
    finally:
        signal.signal(signal.SIGINT, before)


def _as_value(
    horse: "Horse", worked: "Worked", works: "tuple[Work, ...]", settings: "Settings", wished: "Wished"
) -> dict[str, Any]:
    from upsides.planning.work.sentences import stages_told, told

    return {
        "horse": horse.name,
        "first": wished.first,
        "kind": worked.routine.kind,
        "races": [{"day": _on(wished.first, one.day), "distance_m": one.metres} for one in worked.races],
        "stages": list(stages_told(worked)),
        "plans": [
            {
                "cost": one.costs.total,
                "bound": one.bound,
                "gap": one.gap,
                "proven": one.proven,
                "says": list(told(worked, one.plan, settings.prices)),
                **_plan_value(worked, one.plan, one.costs),
            }
            for one in works
        ],
    }


def _on(first: date, day: int) -> date:
    return first + timedelta(days=day)


def _plan_value(worked: "Worked", plan_: "Plan", costs: "Parts") -> dict[str, Any]:
    from dataclasses import asdict

    from upsides.planning.work.asked import asked
    from upsides.planning.work.sentences import later_told
    from upsides.planning.work.shown import weeks_shown

    wanted, orders = asked(worked).orders, worked.routine.orders
    return {
        "costs": {part: steps for part, steps in asdict(costs).items() if steps},
        "days": [
            {"day": _on(worked.first, day), "order": name, "title": orders[name].title,
             "exercise": orders[name].exercise, "routine": wanted[day].name}
            for day, name in enumerate(plan_.days)
        ],
        "later": [
            {"first": _on(worked.first, one.first), "last": _on(worked.first, one.last), "orders": dict(one.counts),
             "says": says}
            for one, says in zip(plan_.later, later_told(worked, plan_), strict=True)
        ],
        "weeks": [
            {"first": _on(worked.first, one.week.first), "last": _on(worked.first, one.week.last), "fast_f": one.fast_f,
             "canter_f": one.canter_f, "metres": one.metres.tolist()}
            for one in weeks_shown(worked, plan_)
        ],
    }  # fmt: skip


def _as_lines(value: dict[str, Any]) -> list[str]:
    """Return the plans in words: the best one in full, of the others the days in which they differ."""
    best = value["plans"][0]
    lines = [f"{value['horse']}, {value['kind'].replace('_', ' ')}: {best['says'][0]}"]
    lines += [f"Open for the vet, so ask before it works: {line}" for line in value["ask_first"]]
    lines += [*best["says"][1:], ""]
    lines += [f"{one['day']:%a %d %b}  {one['title']}" for one in best["days"]]
    lines += [one["says"] for one in best["later"]]
    lines += ["", *_weeks(best["weeks"]), "", _proof(best)]
    for place, other in enumerate(value["plans"][1:], start=2):
        pairs = zip(best["days"], other["days"], strict=True)
        off = [f"{new['day']:%a %d %b} {new['title']}" for old, new in pairs if new["order"] != old["order"]]
        lines.append(f"Plan {place}, {other['cost']:.1f} steps: {'; '.join(off)}.")
    return [*lines, *value["stalls"], *value["stages"]]


def _weeks(weeks: list[dict[str, Any]]) -> list[str]:
    return [
        f"Week from {one['first']:%d %b}: {one['fast_f']:.1f} f of fast work, {one['canter_f']:.0f} f at the canter, "
        f"{sum(one['metres'][28:]):.0f} m at 14 m/s and faster"
        for one in weeks
    ]


def _proof(found: dict[str, Any]) -> str:
    departs = f"It departs from the routine by {found['cost']:.1f} steps"
    if found["proven"]:
        return f"{departs}, and no plan by less."
    return f"{departs}; it was stopped, and none is below {found['bound']:.1f}."


def _week_value(first: date, found: "StringWork", settings: "Settings", shared: "Shared") -> dict[str, Any]:
    from upsides.planning.work.sentences import told
    from upsides.planning.work.shown import string_differences

    names = {one.number: one.called for one in found.horses}
    departs = string_differences(found.horses, found.plans, found.pairs, shared, settings.prices)
    all_of = list(zip(found.horses, found.plans, found.verdicts, departs, strict=True))
    return {
        "first": first,
        "cost": found.cost,
        "bound": found.bound,
        "gap": found.gap,
        "proven": found.proven,
        "horses": [
            {"horse": names[one.number], "kind": one.routine.kind,
             "says": list(told(one, plan_, settings.prices, own, shared)),
             **_plan_value(one, plan_, verdict.costs)}
            for one, plan_, verdict, own in all_of
        ],
        "pairs": [
            {"day": _on(first, pair.day), "one": names[pair.one], "other": names[pair.other]} for pair in found.pairs
        ],
    }  # fmt: skip


def _week_lines(value: dict[str, Any]) -> list[str]:
    """Return each morning's fast work and pairs, then what departs from the routine, horse by horse."""
    if not value["horses"] and not value["clashes"]:
        return ["No horse is in training."]
    lines = [_proof(value)]
    lines += [
        f"{one['horse']} has no plan; give up one of these: {'; '.join(one['rules'])}." for one in value["clashes"]
    ]
    for day in [one["day"] for one in value["horses"][0]["days"]] if value["horses"] else []:
        on = [(one["horse"], next(d for d in one["days"] if d["day"] == day)) for one in value["horses"]]
        fast = [f"{name} {d['title']}" for name, d in on if d["exercise"] in {"half_speed", "fast", "race"}]
        pairs = [f"{one['one']} with {one['other']}" for one in value["pairs"] if one["day"] == day]
        beside = f" Upsides: {', '.join(pairs)}." if pairs else ""
        lines.append(f"{day:%a %d %b}: {'; '.join(fast) or 'no fast work'}.{beside}")
    ask = [
        f"{one['horse']}: open for the vet, so ask before it works: {line}"
        for one in value["horses"]
        for line in one["ask_first"]
    ]
    return [*lines, *ask, *(f"{one['horse']}: {line}" for one in value["horses"] for line in one["says"][1:])]
