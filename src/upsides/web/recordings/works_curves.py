"""The chart of works over a season, and the times of a work in a line."""

import json
from collections.abc import Sequence
from datetime import date, timedelta
from functools import lru_cache
from math import isfinite
from typing import Any, Final

from django.utils.safestring import SafeString, mark_safe

from upsides.books.queries.moments import Moment
from upsides.charts.picture import picture
from upsides.charts.ranges import WIDE
from upsides.charts.works_curve import Pace
from upsides.recordings.work import Split, fair
from upsides.web.recordings import measures as m

SIZES: Final = {"wide": (760, 280), "narrow": (290, 230)}


def pace(day: date, speed: float, sd: float, source: str, said: str, *, fast: bool) -> Pace:
    """Return a work as a mark of the chart, its bar four times in five long."""
    spread = WIDE * sd if isfinite(sd) else 0.0
    return Pace(day, round(speed, 3), round(speed - spread, 3), round(speed + spread, 3), source, fast, said)


def span(days: Sequence[date], moment: Moment) -> tuple[date, date]:
    """Return the days that a chart spans: four weeks at least, so that days stay its measure."""
    return min(*days, moment.day - timedelta(weeks=4)), moment.day


def curves(spec: dict[str, Any] | None, title: str, words: str) -> dict[str, SafeString]:
    """Return a chart of works drawn for wide and for narrow screens, empty without one."""
    if spec is None:
        return {}
    written = json.dumps(spec)
    return {width: _drawn(written, width, title, words) for width in SIZES}


@lru_cache(maxsize=64)
def _drawn(spec: str, width: str, title: str, words: str) -> SafeString:
    """Draw a specification written as JSON; drawing takes as long as all the rest of a page."""
    svg = picture(json.loads(spec), SIZES[width], title, words, f"works-{width}")
    return mark_safe(svg)  # noqa: S308 (escaped by the XML writer)


def splits_words(splits: Sequence[Split], counts: Sequence[float] = ()) -> str:
    """Return times as (15.4) · 13.7 · 13.6, in brackets those that count in the speed in part or not at all."""
    shown = zip(splits, counts or (1.0,) * len(splits), strict=True)
    return " · ".join(m.bracketed(m.seconds_words(one.seconds), count) for one, count in shown if fair([one]))
