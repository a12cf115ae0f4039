"""A horse whose facts cannot be right is refused before anything is solved."""

from collections import Counter
from math import isnan

from upsides.errors import WorkRefusedError
from upsides.planning.work.horse import Horse
from upsides.recordings.bouts.bins import COUNT


def check(horse: Horse) -> None:
    """Look through a horse.

    Raises:
        WorkRefusedError: a day stands twice, or a value cannot be.
    """
    name = f"of horse {horse.number}"
    for field, value, least in (
        ("days one by one", horse.days, 1), ("days between fast works", horse.gap, 1), ("lessons", horse.lessons, 0),
        ("days of rest", horse.rest, 0),
    ):  # fmt: skip
        if value < least:
            raise WorkRefusedError(f"{field} {name}", value, "it is too little", "give more")
    if horse.rest > 7:
        raise WorkRefusedError(f"days of rest {name}", horse.rest, "a week has seven days", "give 7 or fewer")
    _check_races(horse, name)
    _check_past(horse, name)
    for day, order in horse.pins.items():
        if order not in horse.routine.orders or horse.routine.orders[order].exercise == "race":
            raise WorkRefusedError(
                f"fixed by hand on day {day} {name}",
                order,
                "it is no order of work",
                "name one; a race is given as one",
            )
    for limit in horse.limits:
        if isnan(limit.metres) or limit.metres < 0 or limit.days < 1 or not 0 <= limit.from_ms < 22:
            raise WorkRefusedError(
                f"exposure {name}", limit, "it is no limit", "give metres, days from 1 on and a speed in m/s"
            )
    for step in horse.steps:
        if step.last < step.first or step.by not in {"vet", "stand_down"}:
            raise WorkRefusedError(f"step {name}", step, "it ends before it begins, or nobody says so", "correct it")


def _check_races(horse: Horse, name: str) -> None:
    for day, times in Counter(race.day for race in horse.races).items():
        if times > 1 or day < 0:
            raise WorkRefusedError(f"race {name}", f"day {day}", "it is past, or stands twice", "give each once")
    for race in horse.races:
        if not 200 <= race.metres <= 8000:
            raise WorkRefusedError(f"race {name}", race.metres, "no race is so long", "give metres, 200 to 8000")


def _check_past(horse: Horse, name: str) -> None:
    for day, times in Counter(one.day for one in horse.past).items():
        if times > 1 or day >= 0:
            raise WorkRefusedError(f"past day {name}", day, "it is not past, or stands twice", "give each once")
    for one in horse.past:
        if len(one.metres) > COUNT or any(not metres >= 0 for metres in one.metres):
            raise WorkRefusedError(
                f"past day {name}",
                one.day,
                "its metres cannot be",
                "give a number for each step of speed, none below 0",
            )
