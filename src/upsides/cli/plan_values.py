"""Plans of work as `upsides plan` prints them: as JSON, and in lines."""

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from upsides.books.models import Horse
    from upsides.books.queries.planned_work import Wished
    from upsides.planning.work.horse import Horse as Worked
    from upsides.planning.work.horse import Plan
    from upsides.planning.work.plans import Work
    from upsides.planning.work.routine import Parts, Settings
    from upsides.planning.work.shared import Shared
    from upsides.planning.work.string import StringWork


def work_value(
    horse: "Horse", worked: "Worked", works: "tuple[Work, ...]", settings: "Settings", wished: "Wished"
) -> dict[str, Any]:
    """Return the plans of one horse."""
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


def work_lines(value: dict[str, Any]) -> list[str]:
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


def week_value(first: date, found: "StringWork", settings: "Settings", shared: "Shared") -> dict[str, Any]:
    """Return the plan of a string."""
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


def week_lines(value: dict[str, Any]) -> list[str]:
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
