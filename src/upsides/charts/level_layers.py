"""The layers of a horse's level through time, as Altair builds them."""

from functools import cache
from typing import Any

import altair as alt

from upsides.charts.axes import axis, days
from upsides.charts.theme import FONT, LIGHT, variables


@cache
def template() -> dict[str, Any]:
    """Return the specification without its data: Altair checks it once, not for every horse.

    Its datasets are `curve`, `runs` and `now`; its parameters `lowest` and `highest`, in pounds.
    """
    ends = [alt.ExprRef("lowest"), alt.ExprRef("highest")]
    scale = alt.Scale(domain=ends, nice=False, zero=False)
    chart = alt.layer(*_ranges(scale), _runs(scale), _now(scale))
    chart = chart.configure(background="transparent", font=FONT, padding=4).configure_view(stroke=None)
    spec: dict[str, Any] = chart.to_dict()
    return spec | {"usermeta": {"colours": variables()}}


def _y(field: str, scale: alt.Scale) -> alt.Y:
    return alt.Y(field, type="quantitative", scale=scale, axis=axis(5, 4), title=None)


def _ranges(scale: alt.Scale) -> list[alt.Chart]:
    x = alt.X("date:T").scale(type="utc", padding=12).axis(days(6, 3)).title(None)
    base = alt.Chart(alt.NamedData("curve")).encode(x=x)
    wide, inner = base.mark_area(color=LIGHT.heather_wide), base.mark_area(color=LIGHT.heather_inner)
    edge = base.mark_line(color=LIGHT.heather, strokeWidth=1)
    return [
        wide.encode(_y("wide_low", scale), alt.Y2("wide_high")),
        inner.encode(_y("inner_low", scale), alt.Y2("inner_high")),
        edge.encode(_y("wide_low", scale)),
        edge.encode(_y("wide_high", scale)),
        base.mark_line(color=LIGHT.ink, strokeWidth=2.5).encode(_y("level_lb", scale)),
    ]


def _runs(scale: alt.Scale) -> alt.Chart:
    """Return the runs: round on turf, a diamond on synthetic, a square on dirt; larger where surer."""
    kinds = alt.Scale(domain=["turf", "synthetic", "dirt"], range=["circle", "diamond", "square"])
    sizes = alt.Scale(domain=[0.08, 0.3], range=[45, 150], clamp=True)
    points = alt.Chart(alt.NamedData("runs")).mark_point(
        filled=True, color=LIGHT.card, stroke=LIGHT.ink, strokeWidth=1.5, opacity=1
    )
    chart: alt.Chart = points.encode(
        alt.X("date:T"),
        _y("figure_lb", scale),
        alt.Shape("surface:N", scale=kinds, legend=None),
        alt.Size("sureness:Q", scale=sizes, legend=None),
        alt.Description("label:N"),
        alt.Tooltip("label:N"),
    )
    return chart


def _now(scale: alt.Scale) -> alt.Chart:
    mark = alt.Chart(alt.NamedData("now")).mark_point(
        filled=True,
        size=190,
        color=LIGHT.gorse,
        stroke=LIGHT.ink,
        strokeWidth=2,
        opacity=1,
        shape="circle",
        aria=False,
    )
    chart: alt.Chart = mark.encode(alt.X("date:T"), _y("level_lb", scale))
    return chart
