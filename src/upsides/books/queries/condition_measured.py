"""On which days the evidence of a horse's fitness was measured, whether or not anything could be made of it."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any, Final

from upsides.books.models import Outing
from upsides.books.models.answer import HEARTS
from upsides.books.queries import moments
from upsides.books.queries.condition_hearts import AFTER, DAYS, MOST_BPM, READ_OFF
from upsides.books.queries.moments import Moment
from upsides.condition.fit import Kind
from upsides.recordings.heart.trends import DAYS as HELD_DAYS

FAST: Final = "fast"


def measured_days(moment: Moment, horse: int) -> dict[Kind, list[date]]:
    """Return the days on which a horse's heart and speed were read, by kind of evidence, earliest first."""
    first = moment.day - timedelta(days=DAYS)
    rows = moments.standing(Outing, moment).filter(horse=horse, day__range=(first, moment.day)).order_by("began", "pk")
    told = list(rows.values_list("day", "measured__heart", "measured__works"))
    held = [float(heart["held"]) for _day, heart, _works in told if heart and heart.get("held")]
    highest = max((one for one in held if one <= MOST_BPM), default=0.0)
    found: dict[Kind, list[date]] = {}
    for day, heart, works in told:
        for kind in _kinds(heart or {}, works or [], highest):
            found.setdefault(kind, []).append(day)
    return found


def _kinds(heart: Mapping[str, Any], works: Sequence[Mapping[str, Any]], highest: float) -> list[Kind]:
    """Return what one outing tells; nothing without a piece of work."""
    if not works:
        return []
    speeds = heart.get("speeds", {})
    read_off = READ_OFF in speeds and speeds[READ_OFF][0] > 0
    lower = any(float(bpm) < float(READ_OFF) for bpm in speeds)
    told: dict[Kind, bool] = {
        "recovery": bool(heart.get("after", {}).get(AFTER)),
        "speed at 200 beats": read_off,
        "speed at highest heart": read_off and lower and highest > float(READ_OFF),
        "speed on known gallops": any(one["kind"] == FAST and one.get("gallop") for one in works),
    }
    return [kind for kind, there in told.items() if there]


def not_worked_out(moment: Moment, measured: Mapping[Kind, Sequence[date]]) -> set[Kind]:
    """Return the kinds that could be held against an earlier day, of which no answer since the last reading is known.

    The night's answer of the day itself was made before anything of that day was read.
    """
    answer = moments.answer(HEARTS, moment)
    before = moment.day - timedelta(days=HELD_DAYS)
    return {
        kind
        for kind, days in measured.items()
        if days[0] <= before and days[-1] > before and (answer is None or answer.day <= days[-1])
    }
