"""What a plan was made for: while that is so, the next one changes as few of its days as it can.

A missed day, a day that was moved, a gallop that is shut leave the basis as it is. Another race, another word of the
vet, another routine or another stay away do not: then the horse is planned anew, a changed day at its price.
"""

from collections.abc import Mapping
from datetime import date, timedelta
from hashlib import sha256
from typing import Any

from upsides.planning.work.asked import date_of
from upsides.planning.work.horse import Horse
from upsides.planning.work.routine import Parts


def basis(horse: Horse, prices: Parts) -> dict[str, Any]:
    """Return what a plan of a horse is made for, as it is kept: lists, texts and numbers."""
    return {
        "first": str(horse.first),
        "routine": _digest(horse, prices),
        "since": None if horse.back is None else str(date_of(horse, -horse.back)),
        "lessons": horse.lessons,
        "races": [[str(date_of(horse, race.day)), race.metres] for race in horse.races],
        "held": [_held(horse, day) for day in range(horse.days)],
    }


def still_so(kept: Mapping[str, Any], horse: Horse, prices: Parts) -> bool:
    """Return whether a plan that was made for what is kept was made for what is known now.

    Lessons that were had, races that were run and days that have gone change nothing.
    """
    now = basis(horse, prices)
    gone = (horse.first - date.fromisoformat(kept["first"])) // timedelta(days=1)
    if gone < 0 or any(kept[name] != now[name] for name in ("routine", "since")) or kept["lessons"] < now["lessons"]:
        return False
    held = kept["held"][gone:]
    ahead = [race for race in kept["races"] if race[0] >= now["first"]]
    return bool(held == now["held"][: len(held)] and ahead == now["races"])


def _held(horse: Horse, day: int) -> list[str] | None:
    """Return what vets and authorities leave open on a day; None for all."""
    own = [step.exercises for step in horse.steps if step.first <= day <= step.last]
    return sorted(frozenset.intersection(*own)) if own else None


def _digest(horse: Horse, prices: Parts) -> str:
    """Return a short text that differs where the routine, its orders, the trainer's limits or the prices do."""
    own = horse.routine
    orders = sorted(
        (one.name, one.exercise, one.effort, one.furlongs, one.rise, one.fast, one.rest, one.told, one.upsides)
        for one in own.orders.values()
    )
    habits = (own.kind, sorted(own.parts.items()), own.company, own.spacing, own.last_fast, own.sharp, own.most_works)
    around = (own.before, own.after, own.stages, own.recovery, horse.gap, horse.rest, horse.limits, prices)
    return sha256(repr((orders, habits, around)).encode()).hexdigest()[:16]
