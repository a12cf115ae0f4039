"""Plans of work as values: for `upsides plan`, and as the answer `plan` keeps that of a string.

What is kept:

    first, days                   the first day that is planned, and how many one by one
    cost, bound, gap, proven      of the string together, in steps
    orders                        {"fast_3f": [title, exercise, furlongs, upsides, gallop, [[metres, m/s, metres of
                                  rise, surface], ...]], ...}: those that stand in it, with their parts; answers of an
                                  earlier version have no parts, or no gallop either
    horses                        {"17": {"kind", "cost", "change", "races": [[day, metres], ...], "says": [said, ...],
                                  "stages": [said, ...], "days": [[order, routine], ...], "later": [said, ...], "weeks":
                                  [[first, last, fast furlongs, canter furlongs, [metres by step of 0.5 m/s], [fast
                                  from, to], [canter from, to]], ...], "others": [{"more", "changes", "proven", "days":
                                  [[order, routine], ...], "says": [said, ...], "later": [said, ...], "leaves": [[day,
                                  horse], ...]}, ...]}, ...}: others are the next best plans, by how many steps more
                                  they depart, how many days more they change, their sentences those of days on which
                                  they differ; leaves are partners that they break with; earlier versions kept none.
                                  Also "changed": [[day, order before], ...] and "changes": [said, ...]: what is other
                                  than in the plan before; "basis": what it was made for (planning/work/basis.py);
                                  "cost" has in it "change", what those days come to; earlier versions kept no "change"
    pairs                         [[day, horse, horse], ...]: who works upsides
    tight                         [[kind, day, gallop, most, asked], ...]: limits of mornings in the routine's way:
                                  workers, riders, slots of a gallop (null for others)
    beyond                        [[kind, day, gallop, most, has], ...]: limits that orders by hand go beyond
    changes, least, held          days that are other than in the plans of horses that were kept to; what none has fewer
                                  than; of how many horses
    soon                          true where the search had no plan and this one was made horse after horse
    stood                         {"19": {"days": [[day, order], ...], "basis": null}}: the plan before of each horse
                                  that has none now
    clashes                       {"19": {"sets": [[said, ...], ...], "any_one": true, "without": [said, ...]}}: of each
                                  horse without a plan, as `Clash` has it; earlier versions had one set as a list

Said is {"code", "values"} of upsides.planning.work.said; answers of an earlier version have the English sentence.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from datetime import date, timedelta
from types import MappingProxyType
from typing import Any, Final

from upsides.planning.rule import Clash
from upsides.planning.work.asked import asked
from upsides.planning.work.basis import basis
from upsides.planning.work.changed import changed_told, changes_of
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.ordered import Beyond, beyond
from upsides.planning.work.orders import Segment
from upsides.planning.work.others import Other
from upsides.planning.work.outside import string_outside
from upsides.planning.work.routine import Parts, Settings
from upsides.planning.work.said import Said, plain
from upsides.planning.work.sentences import difference_told, later_told, outside_told, stages_told, told
from upsides.planning.work.shared import Shared
from upsides.planning.work.shown import string_differences, weeks_shown
from upsides.planning.work.string import StringWork
from upsides.planning.work.tight import Tight, tight
from upsides.planning.work.verifying import Verdict

Say = Callable[[Said], Any]
"""How a sentence is had: in English, or as it is kept."""
NO_STOOD: Final[Mapping[int, Horse]] = MappingProxyType({})
NO_PARTS: Final[Mapping[str, Sequence[Segment]]] = MappingProxyType({})
NO_OTHERS: Final[Mapping[int, Sequence[Other]]] = MappingProxyType({})


def on(first: date, day: int) -> date:
    """Return the date of a day."""
    return first + timedelta(days=day)


def plan_value(worked: Horse, plan: Plan, costs: Parts, say: Say = plain) -> dict[str, Any]:
    """Return one horse's plan: costs, days, what comes later, weeks; `say` has its sentences."""
    wanted, orders = asked(worked).orders, worked.routine.orders
    return {
        "costs": {part: steps for part, steps in asdict(costs).items() if steps},
        "days": [
            {"day": on(worked.first, day), "order": name, "title": orders[name].title,
             "exercise": orders[name].exercise, "routine": wanted[day].name}
            for day, name in enumerate(plan.days)
        ],
        "later": [
            {"first": on(worked.first, one.first), "last": on(worked.first, one.last), "orders": dict(one.counts),
             "says": say(says)}
            for one, says in zip(plan.later, later_told(worked, plan), strict=True)
        ],
        "weeks": [
            {"first": on(worked.first, one.week.first), "last": on(worked.first, one.week.last), "fast_f": one.fast_f,
             "canter_f": one.canter_f, "metres": one.metres.tolist(),
             "routine": {"fast_f": list(one.week.fast), "canter_f": list(one.week.canter)}}
            for one in weeks_shown(worked, plan)
        ],
    }  # fmt: skip


def week_value(first: date, found: StringWork, settings: Settings, shared: Shared, say: Say = plain) -> dict[str, Any]:
    """Return the plan of a string within what it shares; `say` has its sentences."""
    own, over = found.shared, beyond(shared, found.shared)
    names = {one.number: one.called for one in found.horses}
    whole = found.horses, found.plans, found.pairs, own, settings.prices
    differ = string_differences(*whole)
    outside = string_outside(*whole, differ)
    changed = [changes_of(place, *whole) for place in range(len(found.horses))]
    all_of = list(zip(found.horses, found.plans, found.verdicts, differ, outside, changed, strict=True))

    def limit(one: Tight | Beyond) -> dict[str, Any]:
        gallop = None if one.gallop is None else shared.names.get(one.gallop, str(one.gallop))
        return {"day": on(first, one.day), "kind": one.kind, "gallop": gallop, "most": one.most}

    return {
        "first": first,
        "cost": found.cost,
        "bound": found.bound,
        "gap": found.gap,
        "proven": found.proven,
        "changes": found.changes,
        "held": sum(one.least for one in found.horses),
        "horses": [
            {"horse": names[one.number], "kind": one.routine.kind,
             "says": [say(it) for it in told(one, plan, settings.prices, departs, own, weeks)],
             "changed": [
                 {"day": on(first, it.day), "before": it.before, "says": say(changed_told(one, it, own))}
                 for it in changes
             ],
             **plan_value(one, plan, verdict.costs, say)}
            for one, plan, verdict, departs, weeks, changes in all_of
        ],
        "tight": [{**limit(one), "asks": one.asks} for one in _tight(found, shared, over)],
        "beyond": [{**limit(one), "has": one.has} for one in over],
        "pairs": [
            {"day": on(first, pair.day), "one": names[pair.one], "other": names[pair.other]} for pair in found.pairs
        ],
    }  # fmt: skip


def _tight(found: StringWork, shared: Shared, over: Sequence[Beyond]) -> list[Tight]:
    """Return the limits that a plan uses up; those that it goes beyond are told as such."""
    more = {(one.kind, one.day, one.gallop) for one in over}
    every = tight(found.horses, found.plans, shared)
    return [one for one in every if (one.kind, one.day, one.gallop) not in more]


def kept_week(
    first: date,
    found: StringWork,
    settings: Settings,
    shared: Shared,
    clashes: Mapping[int, Clash[Said]],
    others: Mapping[int, Sequence[Other]] = NO_OTHERS,
    stood: Mapping[int, Horse] = NO_STOOD,
    parts: Mapping[str, Sequence[Segment]] = NO_PARTS,
) -> dict[str, Any]:
    """Return the plan of a string as the answer keeps it.

    Args:
        first: the first day that is planned.
        found: the plan.
        settings: with which it was made.
        shared: what the string shares.
        clashes: of each horse without a plan, which of its rules clash.
        others: of each horse its next best plans, as far as they were looked for.
        stood: those horses, which had a plan before.
        parts: of each order, by name.
    """
    value, over = week_value(first, found, settings, shared, Said.as_json), beyond(shared, found.shared)
    horses = {}
    for one, plan, verdict, shown in zip(found.horses, found.plans, found.verdicts, value["horses"], strict=True):
        more = [_kept_other(it, plan, verdict, found.shared) for it in others.get(one.number, ())]
        horses[str(one.number)] = _kept_horse(one, shown, settings.prices) | {"others": more}
    names = {name for one in horses.values() for own in [one, *one["others"]] for pair in own["days"] for name in pair}
    orders = {name: settings.orders[name] for name in sorted(names)}
    return {
        "first": str(first),
        "days": found.horses[0].days if found.horses else 0,
        **{name: value[name] if name == "proven" else round(value[name], 4) for name in _PROOF},
        "orders": {
            name: [one.title, one.exercise, one.furlongs, one.upsides, one.gallop, _kept_parts(parts.get(name, ()))]
            for name, one in orders.items()
        },
        "horses": horses,
        "pairs": [[pair.day, pair.one, pair.other] for pair in found.pairs],
        "tight": [[one.kind, one.day, one.gallop, one.most, one.asks] for one in _tight(found, shared, over)],
        "beyond": [[one.kind, one.day, one.gallop, one.most, one.has] for one in over],
        "changes": found.changes,
        "least": found.least,
        "held": value["held"],
        "soon": found.soon,
        "stood": {
            str(number): {"days": [[str(on(first, day)), name] for day, name in one.before.items()], "basis": None}
            for number, one in stood.items()
        },
        "clashes": {str(number): rules.kept(Said.as_json) for number, rules in clashes.items()},
    }


def _kept_other(other: Other, best: Plan, verdict: Verdict, shared: Shared) -> dict[str, Any]:
    """Return a next best plan; of its departures those on days on which it differs from the best."""
    worked, plan = other.work.horse, other.work.plan
    wanted = asked(worked).orders
    off = {day for day, pair in enumerate(zip(best.days, plan.days, strict=True)) if len(set(pair)) > 1}
    return {
        "more": round(_departs(other.work.costs) - _departs(verdict.costs), 4),
        "changes": round(other.work.amounts.change - verdict.amounts.change),
        "proven": other.work.proven,
        "days": [[name, wanted[day].name] for day, name in enumerate(plan.days)],
        "says": [
            *(
                difference_told(worked, one, shared, forced=other.work.proven).as_json()
                for one in other.departs
                if one.first in off
            ),
            *(
                outside_told(worked, one, shared).as_json()
                for one in other.outside
                if any(one.first <= day <= one.last for day in off)
            ),
        ],
        "later": [one.as_json() for one in later_told(worked, plan)],
        "leaves": [list(one) for one in other.leaves],
    }


def _kept_parts(parts: Sequence[Segment]) -> list[list[float | str]]:
    return [[round(one.metres), one.speed_ms, round(one.rise_m, 1), one.surface] for one in parts]


def _departs(costs: Parts) -> float:
    return costs.total - costs.change


_PROOF = ("cost", "bound", "gap", "proven")


def _kept_horse(worked: Horse, shown: Mapping[str, Any], prices: Parts) -> dict[str, Any]:
    return {
        "basis": basis(worked, prices),
        "changed": [[(one["day"] - worked.first).days, one["before"]] for one in shown["changed"]],
        "changes": [one["says"] for one in shown["changed"]],
        "moves": [[to, from_] for to, from_ in sorted(worked.moved.items())],
        "kind": worked.routine.kind,
        "cost": round(sum(shown["costs"].values()), 4),
        "change": round(shown["costs"].get("change", 0.0), 4),
        "races": [[str(on(worked.first, race.day)), race.metres] for race in worked.races],
        "says": shown["says"],
        "stages": [one.as_json() for one in stages_told(worked)],
        "days": [[one["order"], one["routine"]] for one in shown["days"]],
        "later": [one["says"] for one in shown["later"]],
        "weeks": [
            [str(one["first"]), str(one["last"]), round(one["fast_f"], 2), round(one["canter_f"], 2),
             [round(metres) for metres in one["metres"]],
             *([round(end, 2) for end in one["routine"][name]] for name in ("fast_f", "canter_f"))]
            for one in shown["weeks"]
        ],
    }  # fmt: skip
