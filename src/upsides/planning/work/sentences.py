"""A plan of work in English sentences: the answer first, then each departure with its reason."""

from collections.abc import Mapping
from typing import Final

from upsides.planning.work.asked import asked, date_of
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.naming import NAMELESS, Names, in_words
from upsides.planning.work.routine import Parts
from upsides.planning.work.shown import Difference, Reason, differences

_PARTS: Final[Mapping[str, str]] = {
    "easier": "other days would be easier than the routine",
    "harder": "it would be harder than the routine",
    "swapped": "other days would have another order than the routine",
    "weeks": "a later week would depart more from the routine",
    "fast_short": "the week would have less fast work than the routine",
    "fast_over": "the week would have more fast work than the routine",
    "canter_short": "the week would have less canter than the routine",
    "canter_over": "the week would have more canter than the routine",
    "late": "fast work would be nearer to the race than the routine's last",
    "stale": "the race would have no fast work in the days before it",
    "lessons_short": "the week would have fewer lessons at the stalls than the routine",
    "lessons_over": "the week would have more lessons at the stalls than the routine",
    "change": "more would change of the plan that stands",
}


def told(horse: Horse, plan: Plan, prices: Parts, names: Names = NAMELESS) -> tuple[str, ...]:
    """Return a plan in sentences: when there is fast work, how much departs from the routine, then each departure."""
    found = differences(horse, plan, prices)
    return (summary(horse, plan, found), *(difference_told(horse, one, names) for one in found))


def summary(horse: Horse, plan: Plan, found: tuple[Difference, ...]) -> str:
    """Return the one sentence that answers what the horse does."""
    orders = horse.routine.orders
    fast = [day for day, name in enumerate(plan.days) if orders[name].fast and name != "race"]
    when = f"Fast work on {_and([date_of(horse, day) for day in fast])}" if fast else "No fast work in these days"
    ahead = sorted(race.day for race in horse.races)
    last = max((day for day in fast if ahead and day < ahead[0]), default=None)
    before = f", the last {ahead[0] - last} days before the race" if last is not None and ahead[0] < horse.days else ""
    days = sum(one.first < horse.days and one.last < horse.days for one in found)
    off = f"as the routine has it on all of {horse.days} days" if days == 0 else (
        f"other than the routine on {days} of {horse.days} days"
    )  # fmt: skip
    return f"{when}{before}; {off}."


def difference_told(horse: Horse, one: Difference, names: Names = NAMELESS) -> str:
    """Return a departure and its reasons in a sentence."""
    orders = horse.routine.orders
    what = f"{orders[one.order].title} instead of {orders[one.routine].title}"
    when = date_of(horse, one.first)
    if one.last >= horse.days:
        when = f"{date_of(horse, one.first)} to {date_of(horse, one.last)}"
        what = f"{what} on {one.days} {'day' if one.days == 1 else 'days'}"
    reasons = _and([_reason(horse, reason, names) for reason in one.reasons])
    return f"{when}: {what}, because {reasons}." if reasons else f"{when}: {what}."


def _reason(horse: Horse, reason: Reason, names: Names) -> str:
    if reason.rule is not None:
        return in_words(horse, reason.rule, names) if reason.rule.kind != "unknown" else "it is not open on that day"
    return f"otherwise {_PARTS[reason.part]}"


def _and(parts: list[str]) -> str:
    return ", ".join(parts[:-1]) + (" and " if len(parts) > 1 else "") + parts[-1] if parts else ""


def stages_told(horse: Horse) -> tuple[str, ...]:
    """Return the stages of the routine on the way, with who says so."""
    found: list[str] = []
    stages = asked(horse).stages
    for day, stage in enumerate(stages):
        if day == 0 or stage is not stages[day - 1]:
            found.append(f"From {date_of(horse, day)}: {stage.name} ({stage.source}).")
    return tuple(found)
