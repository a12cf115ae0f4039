"""Plans of work as `upsides plan` prints them: as JSON, and in lines."""

from datetime import date
from typing import TYPE_CHECKING, Any

from upsides.errors.wording import filled

if TYPE_CHECKING:
    from upsides.books.models import Horse
    from upsides.books.queries.planned_work import Wished
    from upsides.planning.work.horse import Horse as Worked
    from upsides.planning.work.plans import Work
    from upsides.planning.work.routine import Settings


def work_value(
    horse: "Horse",
    worked: "Worked",
    works: "tuple[Work, ...]",
    settings: "Settings",
    wished: "Wished",
    *,
    nearest: bool = False,
) -> dict[str, Any]:
    """Return the plans of one horse, or the one that changes fewest days of the plan before."""
    from upsides.books.planned import on, plan_value
    from upsides.planning.work.changed import changes_told
    from upsides.planning.work.said import plain
    from upsides.planning.work.sentences import company_told, stages_told, told

    return {
        "horse": horse.name,
        "first": wished.first,
        "kind": worked.routine.kind,
        "races": [{"day": on(wished.first, one.day), "distance_m": one.metres} for one in worked.races],
        "stages": [plain(one) for one in stages_told(worked)],
        "plans": [
            {
                "cost": one.costs.total,
                "bound": one.bound,
                "gap": one.gap,
                "proven": one.proven,
                "held": nearest,
                "says": [
                    plain(said)
                    for said in (
                        *told(worked, one.plan, settings.prices, forced=place > 0 and one.proven),
                        *company_told(worked, one.plan),
                    )
                ],
                "changed": [plain(said) for said in changes_told(worked, one.plan, settings.prices)],
                **plan_value(worked, one.plan, one.costs),
            }
            for place, one in enumerate(works)
        ],
    }


def work_lines(value: dict[str, Any]) -> list[str]:
    """Return the plans in words: the best one in full, of the others the days in which they differ."""
    best = value["plans"][0]
    lines = [f"{value['horse']}, {value['kind'].replace('_', ' ')}: {best['says'][0]}", *value["known"]]
    lines += [f"Open for the vet, so ask before it works: {line}" for line in value["ask_first"]]
    lines += [*best["says"][1:], *best["changed"]]
    lines += [f"{one} That is the first plan without --nearest." for one in value["better"]]
    lines.append("")
    lines += [f"{_day(one['day']):<10}  {one['title']}{_with(one['beside'])}" for one in best["days"]]
    lines += [one["says"] for one in best["later"]]
    lines += ["", *_weeks(best["weeks"]), "", _proof(best)]
    for place, other in enumerate(value["plans"][1:], start=2):
        pairs = zip(best["days"], other["days"], strict=True)
        off = [f"{_day(new['day'])} {new['title']}" for old, new in pairs if new["order"] != old["order"]]
        lines.append(f"Plan {place}, {other['cost']:.1f} steps: {'; '.join(off)}.")
    return [*lines, *value["stalls"], *value["stages"], *_segments(value["segments"])]


def _segments(orders: dict[str, Any]) -> list[str]:
    """Return what each order is; those of no distance are passed over."""
    return [
        f"What it is, {one['title']}: {'; '.join(map(_part, one['parts']))}." for one in orders.values() if one["parts"]
    ]


def _part(one: dict[str, Any]) -> str:
    rise = f", {'rising' if one['rise_m'] > 0 else 'falling'} {abs(one['rise_m']):.0f} m" if one["rise_m"] else ""
    surface = f", on {one['surface']}" if one["surface"] else ""
    return f"{one['metres']:.0f} m at {one['speed_ms']:.1f} m/s{rise}{surface}"


def _weeks(weeks: list[dict[str, Any]]) -> list[str]:
    return [
        f"Week from {filled('{first:%d %b}', one)}: {_of(one, 'fast_f', 1)} of fast work, "
        f"{_of(one, 'canter_f', 0)} at the canter{_quick(sum(one['metres'][28:]))}"
        for one in weeks
    ]


def _day(day: date) -> str:
    from upsides.planning.work.said import date_words

    return date_words(day)


def _with(names: list[str]) -> str:
    return f" with {' and '.join(names)}" if names else ""


def _of(week: dict[str, Any], name: str, places: int) -> str:
    """Return the furlongs of a week, and what the routine has."""
    low, high = (f"{end:.{places}f}" for end in week["routine"][name])
    return f"{week[name]:.{places}f} f (routine: {low if low == high else f'{low} to {high}'} f)"


def known_then(first: date, today: date) -> list[str]:
    """Return what is not known of a plan that does not begin tomorrow; nothing of one that does."""
    day = filled("{first:%d %B %Y}", {"first": first})
    if first == today:
        return [f"Planned as if {day} were still to come, by what the books know now."]
    if first < today:
        return [
            f"Planned as if {day} were still to come, by what the books knew early that day: what was done, ordered, "
            "entered and said by the vet since is not in it."
        ]
    if (first - today).days > 1:
        return [
            f"Planned from {day} on by what is known today: what it does until then, and the races, orders and vet's "
            "advice of then, are not known yet."
        ]
    return []


def _quick(metres: float) -> str:
    from upsides.planning.work.said import TOLD_FROM_M

    return f", {metres:.0f} m at 14 m/s and faster" if metres >= TOLD_FROM_M else ""


def _proof(found: dict[str, Any]) -> str:
    changes = sum(one["costs"].get("change", 0.0) for one in found.get("horses", [found]))
    departs = f"It departs from the routine by {found['cost'] - changes:.1f} steps"
    departs += f" and from the plan that stands by {changes:.1f}" if changes else ""
    if found["proven"] and found.get("held"):
        return f"{departs}, and no plan that changes as few days of the one before by less."
    if found["proven"]:
        return f"{departs}, and no plan by less."
    return f"{departs}; it was stopped, and no plan comes to less than {found['bound']:.1f} in all."


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


_TIGHT = {"workers": "in fast work", "riders": "ridden", "slots": "on "}


def _clash(one: dict[str, Any]) -> str:
    """Return which rules clash; that a plan is left is said only of what was tried."""
    sets = [f"{'; '.join(rules)}" for rules in one["sets"]]
    if one["any_one"]:
        return f"{one['horse']} has no plan; give up one of these: {sets[0]}."
    told = f"{one['horse']} has no plan; one of these must be given up: {'; and one of these: '.join(sets)}."
    if one["behind"]:
        told += f" That is not always enough, for then this may stay in the way: {'; '.join(one['behind'])}."
    return f"{told} There is a plan without {'; '.join(one['without'])}." if one["without"] else told


def week_lines(value: dict[str, Any]) -> list[str]:
    """Return each morning's fast work and pairs, then what departs from the routine, horse by horse."""
    if not value["horses"] and not value["clashes"]:
        return ["No horse is in training."]
    lines = [*value["known"], _proof(value)]
    changed = [one for one in value["horses"] if one["changed"]]
    days = sum(len(one["changed"]) for one in changed)
    if changed:
        lines.append(f"Other than in the plan before: {_many(days, 'day')} of {_many(len(changed), 'horse')}.")
    lines += [_clash(one) for one in value["clashes"]]
    lines += [
        f"{_day(one['day'])}: no more than {one['most']} {_TIGHT[one['kind']]}{one['gallop'] or ''}; "
        f"the routine asks for {one['asks']}."
        for one in value["tight"]
    ]
    lines += [
        f"{_day(one['day'])}: {one['has']} {_TIGHT[one['kind']]}{one['gallop'] or ''}, where the morning takes "
        f"{one['most']}; what is ordered by hand stays."
        for one in value["beyond"]
    ]
    for day in [one["day"] for one in value["horses"][0]["days"]] if value["horses"] else []:
        on = [(one["horse"], next(d for d in one["days"] if d["day"] == day)) for one in value["horses"]]
        fast = [f"{name} {d['title']}" for name, d in on if d["exercise"] in {"half_speed", "fast", "race"}]
        pairs = [f"{one['one']} with {one['other']}" for one in value["pairs"] if one["day"] == day]
        beside = f" Upsides: {', '.join(pairs)}." if pairs else ""
        lines.append(f"{_day(day)}: {'; '.join(fast) or 'no fast work'}.{beside}")
    ask = [
        f"{one['horse']}: open for the vet, so ask before it works: {line}"
        for one in value["horses"]
        for line in one["ask_first"]
    ]
    lines += [*ask, *(f"{one['horse']}: {line}" for one in value["horses"] for line in one["says"][1:])]
    return [*lines, *(f"{one['horse']}: {it['says']}" for one in changed for it in one["changed"])]
