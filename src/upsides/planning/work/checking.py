"""A horse whose facts cannot be right is refused before anything is solved."""

from collections import Counter
from math import isnan

from upsides.errors import WorkRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.work.asked import date_of
from upsides.planning.work.horse import Horse
from upsides.recordings.bouts.bins import COUNT


def check(horse: Horse) -> None:
    """Look through a horse.

    Raises:
        WorkRefusedError: a day stands twice, or a value cannot be.
    """
    name = _("of {horse}", horse=horse.called)
    for field, value, least in (
        ("days one by one", horse.days, 1), ("days between fast works", horse.gap, 1), ("lessons", horse.lessons, 0),
        ("days of rest", horse.rest, 0),
    ):  # fmt: skip
        if value < least:
            raise WorkRefusedError(f"{field} {name}", value, _("it is too little"), _("give more"))
    if horse.rest > 7:
        raise WorkRefusedError(
            _("days of rest {name}", name=name), horse.rest, _("a week has seven days"), _("give 7 or fewer")
        )
    _check_races(horse, name)
    _check_past(horse, name)
    _check_pins(horse, name)
    for limit in horse.limits:
        if isnan(limit.metres) or limit.metres < 0 or limit.days < 1 or not 0 <= limit.from_ms < 22:
            raise WorkRefusedError(
                _("exposure {name}", name=name),
                limit,
                _("it is no limit"),
                _("give metres, days from 1 on and a speed in m/s"),
            )
    for step in horse.steps:
        if step.last < step.first or step.by not in {"vet", "stand_down"}:
            raise WorkRefusedError(
                _("step {name}", name=name), step, _("it ends before it begins, or nobody says so"), _("correct it")
            )


def _check_pins(horse: Horse, name: str) -> None:
    orders = horse.routine.orders
    for day, order in horse.pins.items():
        if not 0 <= day < horse.length:
            raise WorkRefusedError(
                _("day fixed by hand {name}", name=name),
                date_of(horse, day),
                _("it is none of the days that are planned"),
                _("name a day that is planned"),
            )
        if order not in orders or orders[order].exercise == "race":
            raise WorkRefusedError(
                _("fixed by hand on {day} {name}", day=date_of(horse, day), name=name),
                order,
                _("it is no order of work"),
                _("name one; a race is given as one"),
            )


def _check_races(horse: Horse, name: str) -> None:
    for day, times in Counter(race.day for race in horse.races).items():
        if times > 1 or day < 0:
            raise WorkRefusedError(
                _("race {name}", name=name),
                date_of(horse, day),
                _("it is past, or stands twice"),
                _("give each once"),
            )
    for race in horse.races:
        if not 200 <= race.metres <= 8000:
            raise WorkRefusedError(
                _("race {name}", name=name), race.metres, _("no race is so long"), _("give metres, 200 to 8000")
            )


def _check_past(horse: Horse, name: str) -> None:
    for day, times in Counter(one.day for one in horse.past).items():
        if times > 1 or day >= 0:
            raise WorkRefusedError(
                _("past day {name}", name=name),
                date_of(horse, day),
                _("it is not past, or stands twice"),
                _("give each once"),
            )
    for one in horse.past:
        if len(one.metres) > COUNT or any(not metres >= 0 for metres in one.metres):
            raise WorkRefusedError(
                _("past day {name}", name=name),
                date_of(horse, one.day),
                _("its metres cannot be"),
                _("give a number for each step of speed, none below 0"),
            )
