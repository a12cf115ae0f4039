"""How far a horse went each week at which speed."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

from django.utils.formats import date_format
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.queries.moments import Moment
from upsides.books.queries.outings import Done, once_each
from upsides.charts.week_bars import SIZES as BAR_SIZES
from upsides.charts.week_bars import BarWords, Week, week_bars
from upsides.recordings.bouts.bins import STEP_MS
from upsides.web.recordings import measures as m
from upsides.web.recordings.works_words import bar_words
from upsides.web.shell.templatetags.words import short_day

PARTS: Final = (
    (0.0, gettext_lazy("below 8 m/s")),
    (8.0, gettext_lazy("8 to 12 m/s")),
    (12.0, gettext_lazy("12 to 15 m/s")),
    (15.0, gettext_lazy("15 m/s and more")),
)
"""Bands of speed of the bars, from the slowest."""
WEEKS: Final = 26
FEWEST: Final = 6
"""So many weeks are shown at most, and at least."""


def weeks_of(outings: Sequence[Done], moment: Moment) -> list[Week]:
    """Return how far the horse went in each band of speed, for each of the last weeks, from Monday on.

    What two of its devices recorded at the same time counts once.
    """
    last = moment.day - timedelta(days=moment.day.weekday())
    found: dict[date, list[float]] = {last - timedelta(weeks=back): [0.0] * len(PARTS) for back in range(WEEKS)}
    for done in once_each(outings):
        monday = done.outing.day - timedelta(days=done.outing.day.weekday())
        if monday not in found:
            continue
        for step, one in done.measured.speeds.items():
            part = max(place for place, (low, _label) in enumerate(PARTS) if step * STEP_MS >= low)
            found[monday][part] += one.metres
    weeks = sorted(found.items())
    begin = next((place for place, (_monday, metres) in enumerate(weeks) if any(metres)), 0)
    return [_week(monday, metres) for monday, metres in weeks[min(begin, WEEKS - FEWEST) :]]


def _week(monday: date, metres: Sequence[float]) -> Week:
    told = {"day": short_day(monday), "far": m.far(sum(metres)), "fast": m.far(sum(metres[2:]))}
    return Week(
        date_format(monday, "j\u00a0M"),
        tuple(metres),
        _("week of %(day)s: %(far)s, of it %(fast)s at 12 m/s or more") % told,
    )


def bars(weeks: Sequence[Week]) -> dict[str, SafeString]:
    """Return the bars for wide and for narrow screens, empty where it went nowhere."""
    if not any(any(week.metres) for week in weeks):
        return {}
    title, description = bar_words()
    return {
        width: mark_safe(week_bars(weeks, size, BarWords(f"weeks-{width}", title, description, _("{km} km"))))  # noqa: S308 (drawn by charts, which escapes its words)
        for width, size in BAR_SIZES.items()
    }
