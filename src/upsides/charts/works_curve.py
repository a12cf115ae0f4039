"""How fast works were over a season, each with its error: round by a tracker, square by a stopwatch."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from functools import cache
from typing import Any

import altair as alt

from upsides.charts.axes import axis, days
from upsides.charts.theme import FONT, LIGHT, variables


@dataclass(frozen=True, slots=True)
class Pace:
    """A piece of work.

    Attributes:
        date: its day.
        speed: mean speed.
        low, high: the ends of its error bar.
        source: tracker or thumb.
        fast: whether it was fast work.
        said: the work in words, shown on pointing.
    """

    date: date
    speed: float
    low: float
    high: float
    source: str
    fast: bool
    said: str


def works_spec(works: Sequence[Pace], days: tuple[date, date]) -> dict[str, Any]:
    """Return the Vega-Lite specification of works over the days from one to another, for page and paper alike."""
    rows = [asdict(one) | {"date": one.date.isoformat()} for one in works]
    first, last = (f"{day.isoformat()}" for day in days)
    ends = [{"date": first}, {"date": last}]
    return _template() | {"datasets": {"works": rows, "ends": ends}}


@cache
def _template() -> dict[str, Any]:
    """Return the specification without its data: Altair checks it once, not for every horse."""
    x = alt.X("date:T").scale(type="utc", padding=10).axis(days(6, 3)).title(None)
    ends = alt.Chart(alt.NamedData("ends")).mark_rule(opacity=0, aria=False).encode(x=x)
    works = alt.Chart(alt.NamedData("works")).encode(x=x)
    y = alt.Y("speed:Q").scale(zero=False, nice=True, padding=12).axis(axis(5, 4)).title(None)
    bars = works.mark_rule(color=LIGHT.heather, strokeWidth=2, aria=False).encode(
        alt.Y("low:Q").axis(axis(5, 4)).title(None), alt.Y2("high")
    )
    points = works.mark_point(filled=True, size=85, stroke=LIGHT.ink, strokeWidth=1.6, opacity=1).encode(
        y,
        alt.Shape("source:N", scale=alt.Scale(domain=["tracker", "thumb"], range=["circle", "square"]), legend=None),
        alt.Fill("fast:N", scale=alt.Scale(domain=[True, False], range=[LIGHT.ink, LIGHT.card]), legend=None),
        alt.Description("said:N"),
        alt.Tooltip("said:N"),
    )
    chart = alt.layer(ends, bars, points)
    chart = chart.configure(background="transparent", font=FONT, padding=4).configure_view(stroke=None)
    spec: dict[str, Any] = chart.to_dict()
    return spec | {"usermeta": {"colours": variables()}}
