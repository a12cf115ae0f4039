"""What the words of a rule name: horse, day, order and the like."""

from collections.abc import Mapping

from upsides.errors.planning import OF_WORK
from upsides.planning.rule import Rule
from upsides.planning.work.asked import date_of
from upsides.planning.work.horse import Horse
from upsides.planning.work.shared import Shared


def told_of(horse: Horse, rule: Rule) -> Mapping[str, object]:
    """Return what the words of a rule of `rules_of` name."""
    own = rule.of[1:]
    told: dict[str, object] = {"horse": horse.called}
    match rule.kind:
        case "pin":
            told |= {"day": date_of(horse, own[0]), "order": horse.routine.orders[horse.pins[own[0]]].title}
        case "race" | "rider":
            told |= {"day": date_of(horse, own[0])}
        case "closed":
            told |= {"gallop": own[0], "day": date_of(horse, own[1])}
        case "limit":
            limit = horse.limits[own[0]]
            told |= {"metres": f"{limit.metres:g}", "speed": f"{limit.from_ms:g}", "days": limit.days}
        case "vet" | "stand_down":
            step = horse.steps[own[0]]
            titles = [
                one.title for one in horse.routine.orders.values() if one.exercise in step.exercises and not one.like
            ]
            told |= {
                "day": date_of(horse, step.first),
                "last": date_of(horse, step.last),
                "exercises": ", ".join(titles) or "nothing",
            }
    return {**told, "gap": horse.gap, "rest": horse.rest}


def told_of_shared(horse: Horse, shared: Shared, rule: Rule) -> Mapping[str, object]:
    """Return what the words of a rule name that a string shares.

    Any of its horses tells the dates; of partners it is the horse itself.
    """
    match rule.kind:
        case "slots":
            gallop, day = rule.of
            return {
                "gallop": shared.names.get(gallop, gallop),
                "most": shared.slots[gallop, day],
                "day": date_of(horse, day),
            }
        case "workers" | "riders":
            return {"most": getattr(shared, rule.kind)[rule.of[0]], "day": date_of(horse, rule.of[0])}
    return {"horse": horse.called}


def in_words(horse: Horse, rule: Rule) -> str:
    """Return a rule of a horse in words."""
    return OF_WORK[rule.kind].format(**told_of(horse, rule))
