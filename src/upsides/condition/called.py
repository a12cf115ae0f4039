"""What is asked when a verdict is called, and what came of it. These meanings are the same in every yard.

fit         Will its next run within 28 days be worth its own level or more? It was, where our figure of that run is no
            more than a pound below the level that was held when the call was made.
fresh       Will it be well for 14 days? It was not, where somebody entered that it was not right, a vet found it lame
            or allowed it less than its usual work, or it ran further below its level than runs spread. It was, where
            none of that was so and it ran with a figure while a level was held, or a vet looked at it. Else nobody
            knows.
first four  Will it be among the first four of its next run within 28 days?
would run   Will it run within 28 days? Who calls it also decides it.
trip        Does its best trip lie within half a furlong of the one that is said? A best trip is never seen, and a
            later answer of the tool's would be judge in its own cause: it stays open for good.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final, Literal

from upsides.condition.calls import About

QUESTIONS: Final[tuple[About, ...]] = ("fit", "fresh", "first four", "would run", "trip")
DAYS: Final[dict[About, int]] = {"fit": 28, "fresh": 14, "first four": 28, "would run": 28}
"""Within so many days a call comes true or does not."""
AT_LEVEL_LB: Final = 1.0
"""A run so much below its level is at its level still."""
PLACES: Final = 4
BAND_F: Final = 0.5
"""A trip is said to within so many furlongs."""

Sign = Literal["not right", "found", "looked at"]
Why = Literal["waits", "ran", "not run", "no figure", "no level", "not right", "found", "looked at", "nobody looked",
              "never seen"]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Made:
    """A call as it is judged.

    Attributes:
        about: the question.
        first: the first day that counts; the day of the call where nothing had been run on it yet.
        level_lb: the level held then; None where none was.
        spread_lb: how far runs spread about what is expected of them, as known then; None where it was not.
    """

    about: About
    first: date
    level_lb: float | None = None
    spread_lb: float | None = None


@dataclass(frozen=True, slots=True)
class Ran:
    """A run: when, our figure for it (None without one), and its place (None where it did not finish)."""

    day: date
    figure_lb: float | None
    place: int | None


@dataclass(frozen=True, slots=True)
class Came:
    """What came of a call.

    Attributes:
        came: whether it came true; None where nothing has shown it.
        why: what showed it, or why nothing has.
        day: when; None where nothing has.
    """

    came: bool | None
    why: Why
    day: date | None = None


def came_of(made: Made, runs: Sequence[Ran], signs: Sequence[tuple[date, Sign]], on: date) -> Came:
    """Return what came of a call, as far as is known on the morning of a day.

    Args:
        made: the call.
        runs: of the horse; those of the day itself are not known yet.
        signs: what was entered of it: that it was not right, what a vet found, that a vet looked and found nothing.
        on: the day.
    """
    if made.about == "trip":
        return Came(None, "never seen")
    last = made.first + timedelta(days=DAYS[made.about])
    ran = sorted((one for one in runs if made.first <= one.day <= last and one.day < on), key=lambda one: one.day)
    if made.about == "fresh":
        return _well(made, ran, sorted(one for one in signs if made.first <= one[0] <= last), over=last < on)
    if not ran:
        return Came(None, "waits") if last >= on else Came(False if made.about == "would run" else None, "not run")
    return _shown_by(made, ran[0])


def _shown_by(made: Made, run: Ran) -> Came:
    if made.about == "would run":
        return Came(came=True, why="ran", day=run.day)
    if made.about == "first four":
        return Came(run.place is not None and run.place <= PLACES, "ran", run.day)
    if made.level_lb is None:
        return Came(None, "no level", run.day)
    if run.figure_lb is None:
        return Came(None, "no figure", run.day)
    return Came(run.figure_lb >= made.level_lb - AT_LEVEL_LB, "ran", run.day)


def _well(made: Made, ran: Sequence[Ran], signs: Sequence[tuple[date, Sign]], *, over: bool) -> Came:
    """Return whether a horse was well; that it was is known when the days are over, that it was not at once."""
    wrong = [(day, sign) for day, sign in signs if sign != "looked at"]
    below = [one.day for one in ran if _below(made, one)]
    if wrong and (not below or wrong[0][0] <= below[0]):
        return Came(came=False, why=wrong[0][1], day=wrong[0][0])
    if below:
        return Came(came=False, why="ran", day=below[0])
    if not over:
        return Came(None, "waits")
    judged = [one.day for one in ran if made.level_lb is not None and one.figure_lb is not None]
    if judged:
        return Came(came=True, why="ran", day=judged[0])
    if signs:
        return Came(came=True, why="looked at", day=signs[0][0])
    return _unshown(made, ran)


def _unshown(made: Made, ran: Sequence[Ran]) -> Came:
    """Return why nothing has shown whether a horse was well: it did not run, or its run is held against nothing."""
    if not ran:
        return Came(None, "nobody looked")
    return Came(None, "no level" if made.level_lb is None else "no figure", ran[0].day)


def _below(made: Made, run: Ran) -> bool:
    """Return whether a run was further below the level held than runs spread."""
    if made.level_lb is None or made.spread_lb is None or run.figure_lb is None:
        return False
    return run.figure_lb < made.level_lb - made.spread_lb
