"""A plan of work in English sentences: the answer first, then each departure with its reason."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from upsides.errors.planning import OF_WORK
from upsides.planning.work.asked import asked, date_of
from upsides.planning.work.horse import Horse, Plan
from upsides.planning.work.naming import in_words, told_of_shared
from upsides.planning.work.routine import Parts
from upsides.planning.work.shared import SHARED, Shared
from upsides.planning.work.shown import Difference, Reason, differences
from upsides.planning.work.verifying import stale, without_rest

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

NOTHING_SHARED: Final = Shared()


def told(
    horse: Horse,
    plan: Plan,
    prices: Parts,
    found: Sequence[Difference] | None = None,
    shared: Shared = NOTHING_SHARED,
) -> tuple[str, ...]:
    """Return a plan in sentences.

    First when there is fast work and how much departs from the routine; then each departure, races that have no fast
    work before them, and where what the vet said ends.

    Args:
        horse: whose.
        plan: what.
        prices: of departures, in steps.
        found: its departures, where they are known already, as those of a string are.
        shared: what the string shares.
    """
    found = differences(horse, plan, prices) if found is None else found
    departs = (difference_told(horse, one, shared) for one in found)
    of_races = (*_unsharp(horse, plan), *_unrested(horse, plan))
    return (summary(horse, plan, found), *departs, *of_races, *_after_the_vet(horse))


def later_told(horse: Horse, plan: Plan) -> tuple[str, ...]:
    """Return the spans after the days one by one: Mon 9 to Fri 13 Mar, 3 hack canter, 1 half-speed."""
    orders, found = horse.routine.orders, []
    for span in plan.later:
        when = date_of(horse, span.first)
        when += f" to {date_of(horse, span.last)}" if span.last > span.first else ""
        found.append(f"{when}: {', '.join(f'{n} {orders[name].title}' for name, n in span.counts)}")
    return tuple(found)


def _unsharp(horse: Horse, plan: Plan) -> Iterator[str]:
    """Yield the races that have no fast work in the days before them."""
    for race in horse.races:
        if stale(horse, plan, race.day):
            days = horse.routine.sharp
            yield f"The race on {date_of(horse, race.day)} has no fast work in the {days} days before it."


def _unrested(horse: Horse, plan: Plan) -> Iterator[str]:
    """Yield the races to which the rule on rest gives way."""
    for race, had in without_rest(horse, plan):
        days, are = ("day" if had == 1 else "days"), ("is" if horse.rest == 1 else "are")
        yield (
            f"The race on {date_of(horse, race)} comes after {had} {days} of rest in seven, where {horse.rest} {are} "
            "asked for: the race is fixed, so the rule on rest gives way and counts from after it."
        )


def _after_the_vet(horse: Horse) -> Iterator[str]:
    """Yield that what follows the vet's last step is the routine's, and not the vet's."""
    last = max((step.last for step in horse.steps if step.by == "vet"), default=-1)
    if 0 <= last < horse.length - 1:
        yield (
            f"The vet's last step ends on {date_of(horse, last)}; what follows is the routine's and not the vet's: "
            "ask the vet before the first canter and before the first fast work."
        )


def summary(horse: Horse, plan: Plan, found: Sequence[Difference]) -> str:
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


def difference_told(horse: Horse, one: Difference, shared: Shared = NOTHING_SHARED) -> str:
    """Return a departure and its reasons in a sentence."""
    orders = horse.routine.orders
    what = f"{orders[one.order].title} instead of {orders[one.routine].title}"
    when = date_of(horse, one.first)
    if one.last >= horse.days:
        when = f"{date_of(horse, one.first)} to {date_of(horse, one.last)}"
        what = f"{what} on {one.days} {'day' if one.days == 1 else 'days'}"
    reasons = _and([_reason(horse, reason, shared) for reason in one.reasons])
    return f"{when}: {what}, because {reasons}." if reasons else f"{when}: {what}."


def _reason(horse: Horse, reason: Reason, shared: Shared) -> str:
    if reason.rule is not None and reason.rule.kind in SHARED:
        return OF_WORK[reason.rule.kind].format(**told_of_shared(horse, shared, reason.rule))
    if reason.rule is not None:
        return in_words(horse, reason.rule) if reason.rule.kind != "unknown" else "it is not open on that day"
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
