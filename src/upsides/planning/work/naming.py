"""Rules as they are said: what their words name, horse, day, order and the like."""

from collections.abc import Sequence
from dataclasses import replace

from upsides.planning.rule import Rule
from upsides.planning.work.asked import date_of
from upsides.planning.work.horse import Horse
from upsides.planning.work.said import Said, Value
from upsides.planning.work.shared import SHARED, Shared
from upsides.planning.work.shown import Reason


def said_rule(horse: Horse, rule: Rule) -> Said:
    """Return a rule of a horse, of `rules_of`, as it is said."""
    own = rule.of[1:]
    told: dict[str, Value] = {"horse": horse.called}
    match rule.kind:
        case "pin":
            told |= {"day": date_of(horse, own[0]), "order": horse.routine.orders[horse.pins[own[0]]].title}
        case "race" | "rider":
            told |= {"day": date_of(horse, own[0])}
        case "closed":
            told |= {"gallop": horse.gallops.get(own[0], own[0]), "day": date_of(horse, own[1])}
        case "gap" | "rest":
            told |= {"count": getattr(horse, rule.kind)}
        case "limit":
            limit = horse.limits[own[0]]
            told |= {"metres": limit.metres, "speed": limit.from_ms, "count": limit.days}
        case "vet" | "stand_down":
            step = horse.steps[own[0]]
            orders = horse.routine.orders.values()
            titles = tuple(one.title for one in orders if one.exercise in step.exercises and not one.like)
            told |= {
                "day": date_of(horse, step.first),
                "last": date_of(horse, step.last),
                "exercises": titles or ("nothing",),
            }
    return Said(rule.kind, told)


def said_shared(horse: Horse, shared: Shared, rule: Rule) -> Said:
    """Return a rule as it is said, of a string or of one of its horses.

    Of what all share any of the horses tells the dates; else it is the horse itself.
    """
    match rule.kind:
        case "slots":
            gallop, day = rule.of
            told = {"gallop": shared.names.get(gallop, gallop), "count": shared.slots[gallop, day]}
            return Said("slots", {**told, "day": date_of(horse, day)})
        case "workers" | "riders":
            (day,) = rule.of
            return Said(rule.kind, {"count": getattr(shared, rule.kind)[day], "day": date_of(horse, day)})
    return Said(rule.kind, {"horse": horse.called}) if rule.kind in SHARED else said_rule(horse, rule)


def said_reasons(horse: Horse, shared: Shared, reasons: Sequence[Reason]) -> tuple[Said, ...]:
    """Return reasons as they are said in one sentence: the horse by its name, and right after that as "it"."""
    found: list[Said] = []
    named = False
    for reason in reasons:
        one = Said(f"otherwise_{reason.part}") if reason.rule is None else said_shared(horse, shared, reason.rule)
        names = "horse" in one.values
        found.append(replace(one, values={**one.values, "horse": Said("it")}) if named and names else one)
        named = names
    return tuple(found)
