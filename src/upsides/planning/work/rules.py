"""The rules of a horse's work by name, and a horse without some of them."""

from collections.abc import Iterable
from dataclasses import replace

from upsides.planning.rule import Rule
from upsides.planning.work.horse import Horse

# kinds of rules, each about a horse's number first: race, pin, rider (day); vet, stand_down (which of the steps);
# closed (gallop, day); limit (which of the limits); gap, rest, lessons. Of a string also: slots (gallop, day),
# workers (day), riders (day); partners (horse).


def rules_of(horse: Horse) -> tuple[Rule, ...]:
    """Return every rule of a horse that could stand in the way: what the vet and authorities say comes last."""
    number = horse.number
    kinds = {one.exercise for one in horse.routine.orders.values()}
    return (
        *(Rule("pin", (number, day)) for day in sorted(horse.pins)),
        *(Rule("race", (number, race.day)) for race in horse.races),
        *([Rule("lessons", (number,))] if horse.certificate and horse.lessons and horse.races else []),
        *([Rule("gap", (number,))] if horse.gap > 1 else []),
        *([Rule("rest", (number,))] if horse.rest else []),
        *(Rule("limit", (number, place)) for place in range(len(horse.limits))),
        *(Rule("rider", (number, day)) for day in sorted(horse.unridden) if 0 <= day < horse.length),
        *(Rule("closed", (number, *one)) for one in sorted(horse.closed) if 0 <= one[1] < horse.length),
        *(
            Rule(step.by, (number, place))
            for place, step in enumerate(horse.steps)
            if step.first < horse.length and step.last >= 0 and kinds - step.exercises
        ),
    )


def without_rules(horse: Horse, rules: Iterable[Rule]) -> Horse:
    """Return a horse with some of its rules given up altogether; those of other horses are passed over."""
    up = {(rule.kind, rule.of[1:]) for rule in rules if rule.of and rule.of[0] == horse.number}
    every = frozenset(one.exercise for one in horse.routine.orders.values())
    return replace(
        horse,
        pins={day: order for day, order in horse.pins.items() if ("pin", (day,)) not in up},
        races=tuple(race for race in horse.races if ("race", (race.day,)) not in up),
        certificate=horse.certificate and ("lessons", ()) not in up,
        gap=1 if ("gap", ()) in up else horse.gap,
        rest=0 if ("rest", ()) in up else horse.rest,
        limits=tuple(
            replace(one, metres=float("inf")) if ("limit", (place,)) in up else one
            for place, one in enumerate(horse.limits)
        ),
        unridden=frozenset(day for day in horse.unridden if ("rider", (day,)) not in up),
        closed=frozenset(one for one in horse.closed if ("closed", one) not in up),
        steps=tuple(
            replace(step, exercises=every) if (step.by, (place,)) in up else step
            for place, step in enumerate(horse.steps)
        ),
    )
