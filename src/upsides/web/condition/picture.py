"""Everything of a horse on one time axis, drawn."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache
from math import isfinite
from typing import Final

import numpy as np
from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import capfirst
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _

from upsides.books.queries.condition import Condition
from upsides.books.queries.diary import Written
from upsides.charts.time_axis import HEIGHTS, SIZES, AxisWords, Dot, Mark, Row, TimeAxis, Week, empty_rows, time_axis
from upsides.condition.fresh.latest import Missing
from upsides.condition.fresh.words import LEFT
from upsides.recordings.bouts.bins import STEP_MS
from upsides.trade.units import FURLONG_M
from upsides.web.condition.words import left_words, listed
from upsides.web.recordings import measures as m
from upsides.web.recordings.weeks import PARTS
from upsides.web.shell.templatetags.words import short_day
from upsides.web.trip.words import trip_words

WEEKS: Final = max(weeks for _width, weeks in SIZES.values())
DAYS: Final = 7 * WEEKS
NAMES: Final[Mapping[Row, str | Promise]] = {
    "distance": gettext_lazy("distance"),
    "marks": gettext_lazy("fast work and runs"),
    "figures": gettext_lazy("figures in races"),
    "recovery": gettext_lazy("the heart a minute after work"),
    "mass": gettext_lazy("mass"),
    "temperature": gettext_lazy("temperature"),
    "left": gettext_lazy("what it left"),
    "treated": gettext_lazy("what was given or found"),
}


def axis_of(condition: Condition, given: Sequence[Written]) -> TimeAxis:
    """Return what is drawn of the weeks up to the day.

    Args:
        condition: how the horse is.
        given: what was given and found in these weeks.
    """
    day, seen = condition.done.on, condition.signs.seen
    first = day - timedelta(days=DAYS)
    racing = condition.fresh.racing_mass
    return TimeAxis(
        last=day,
        weeks=weeks_of(condition),
        marks=(*_done_marks(condition, first), *_given_marks(given)),
        mass=[_dot(when, kg, _("%(kg)s\u00a0kg") % {"kg": m.decimal(kg)}) for when, kg in seen.mass if when >= first],
        racing_kg=None if isinstance(racing, Missing) else round(racing.racing.kg, 1),
        temperature=[
            _dot(when, value, _("%(value)s\u00a0°C") % {"value": m.decimal(value)})
            for when, value in seen.temperature
            if when >= first
        ],
        left=[_dot(when, LEFT[word], capfirst(left_words(LEFT[word]))) for when, word in seen.left if when >= first],
        recovery=[
            _dot(when, round(beats), _("%(beats)s a minute") % {"beats": round(beats)})
            for when, beats in condition.signs.recoveries
            if when >= first
        ],
        figures=[
            _dot(when, round(lb, 1), _("figure %(lb)s\u00a0lb") % {"lb": m.decimal(lb)})
            for when, lb in seen.runs
            if when >= first and isfinite(lb)
        ],
    )


def weeks_of(condition: Condition) -> list[Week]:
    """Return the last weeks from Monday on, how far the horse went in each band of speed."""
    monday = condition.done.on - timedelta(days=condition.done.on.weekday())
    days = condition.did.yard.days
    found = []
    for back in reversed(range(WEEKS)):
        begin = monday - timedelta(weeks=back)
        metres, _strides = days.profile(0, begin.toordinal() - 1, begin.toordinal() + 6)
        speed = np.arange(metres.size) * STEP_MS
        lows = [low for low, _label in PARTS]
        parts = [
            float(metres[(speed >= low) & (speed < high)].sum())
            for low, high in zip(lows, [*lows[1:], np.inf], strict=True)
        ]
        told = {"day": short_day(begin), "far": m.far(sum(parts)), "fast": m.far(sum(parts[2:]))}
        found.append(Week(begin, tuple(parts), _("week of %(day)s: %(far)s, of it %(fast)s at 12 m/s or more") % told))
    return found


def _done_marks(condition: Condition, first: date) -> list[Mark]:
    yard = condition.did.yard
    ran = {day: metres for day, metres, _figure in condition.runs}
    fast = [date.fromordinal(int(key)) for key in yard.fast.key]  # the horse has place 0
    marks = [
        Mark(day, "fast", _("%(day)s: fast work") % {"day": short_day(day)})
        for day in fast
        if day >= first and day not in ran
    ]
    for day, metres in ran.items():
        if day >= first:
            told = {"day": short_day(day), "trip": trip_words(metres / FURLONG_M)}
            marks.append(Mark(day, "run", _("%(day)s: ran over %(trip)s") % told))
    return marks


def _given_marks(given: Sequence[Written]) -> list[Mark]:
    return [
        Mark(
            one.happened.date(),
            "treated" if one.entry.kind in {"treatment", "vaccination", "worming"} else "found",
            f"{short_day(one.happened.date())}: {one.words}",
        )
        for one in given
    ]


def _dot(when: date, value: float, words: str) -> Dot:
    return Dot(when, value, f"{short_day(when)}: {words}")


def pictures(told: TimeAxis, name: str) -> list[tuple[str, SafeString, str]]:
    """Return the axis drawn for wide and for narrow screens, and which rows have nothing in these weeks.

    A picture is empty where no row has anything.
    """
    words, found = _words(name, get_language()), []
    for size, (_width, weeks) in SIZES.items():
        empty = empty_rows(told, size)
        drawn = time_axis(told, size, words) if len(empty) < len(HEIGHTS) else ""
        found.append((size, mark_safe(drawn), _nothing_words(empty, weeks)))  # noqa: S308 (charts escapes its words)
    return found


def _nothing_words(rows: Sequence[Row], weeks: int) -> str:
    if len(rows) == len(HEIGHTS):
        return _("In these %(weeks)s weeks nothing was written down or measured of it.") % {"weeks": weeks}
    if not rows:
        return ""
    told = {"weeks": weeks, "rows": listed([NAMES[row] for row in rows])}
    return _("Nothing in these %(weeks)s weeks of: %(rows)s.") % told


@lru_cache(maxsize=64)
def _words(name: str, _language: str | None) -> AxisWords:
    return AxisWords(
        "axis",
        name,
        _("Rows by day on one axis: distance by speed a week, fast work and runs, figures in races, the heart after "
          "work, mass, temperature, what was left, and what was given and found. The tables below hold the numbers."),
        {
            "distance": _("Distance a week, by speed"),
            "marks": _("Fast work; runs in yellow"),
            "figures": _("Figures in races, lb"),
            "recovery": _("Heart a minute after work"),
            "mass": _("Mass, kg; dotted: racing mass"),
            "temperature": _("Temperature, °C"),
            "left": _("Left in the manger"),
            "treated": _("Given; findings hollow"),
        },
        _("{km} km"),
        tuple(date_format(date(2000, month, 1), "M") for month in range(1, 13)),
    )  # fmt: skip


def days_of(told: TimeAxis) -> list[tuple[date, list[str]]]:
    """Return what is drawn of single days in words, the last first: mass, temperature, heart, left, what happened."""
    rows: dict[date, list[list[str]]] = {}
    columns: tuple[Sequence[Dot | Mark], ...] = (
        told.mass, told.temperature, told.recovery, told.left, [*told.marks, *told.figures],
    )  # fmt: skip
    for place, column in enumerate(columns):
        for one in column:
            rows.setdefault(one.day, [[] for _each in columns])[place].append(one.said.partition(": ")[2])
    first = told.last - timedelta(days=DAYS)
    return [(day, ["; ".join(cell) for cell in rows[day]]) for day in sorted(rows, reverse=True) if day >= first]
