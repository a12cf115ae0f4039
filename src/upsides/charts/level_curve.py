"""A horse's level through time: a curve with its ranges, and the runs it rests on as points."""

from functools import cache
from typing import Any

import altair as alt
import polars as pl

from upsides.charts.ranges import INNER, WIDE
from upsides.charts.theme import FONT, LIGHT, variables


def level_spec(levels: pl.DataFrame, runs: pl.DataFrame) -> dict[str, Any]:
    """Return the Vega-Lite specification of one horse's chart, for page and paper alike.

    Args:
        levels: date, level_lb, sd_lb; at least one row, in order of date.
        runs: date, figure_lb, figure_sd_lb, surface, label (the words shown on pointing); may be empty.

    Returns:
        Layers in the theme's light colours: wide range, inner range, curve, runs, and the level now. What the
        colours are called on a page stands under `usermeta`.
    """
    curve = _curve(levels)
    values = [*curve["wide_low"], *curve["wide_high"], *runs["figure_lb"].drop_nulls()]
    ends = {"lowest": min(values) - 2, "highest": max(values) + 2}
    data = {"curve": curve.to_dicts(), "runs": _shown(runs), "now": curve[-1].to_dicts()}
    params = [{"name": name, "value": value} for name, value in ends.items()]
    return _template() | {"params": params, "datasets": data}


@cache
def _template() -> dict[str, Any]:
    """Return the specification without its data: Altair checks it once, not for every horse."""
    ends = [alt.ExprRef("lowest"), alt.ExprRef("highest")]
    scale = alt.Scale(domain=ends, nice=False, zero=False)
    chart = alt.layer(*_ranges(scale), _runs(scale), _now(scale))
    chart = chart.configure(background="transparent", font=FONT, padding=4).configure_view(stroke=None)
    spec: dict[str, Any] = chart.to_dict()
    return spec | {"usermeta": {"colours": variables()}}


def _curve(levels: pl.DataFrame) -> pl.DataFrame:
    middle, sd = pl.col("level_lb"), pl.col("sd_lb")
    return levels.select(
        pl.col("date").cast(pl.String),
        middle,
        inner_low=middle - INNER * sd,
        inner_high=middle + INNER * sd,
        wide_low=middle - WIDE * sd,
        wide_high=middle + WIDE * sd,
    )


def _shown(runs: pl.DataFrame) -> list[dict[str, Any]]:
    return runs.with_columns(pl.col("date").cast(pl.String), sureness=1 / pl.col("figure_sd_lb")).to_dicts()


def _y(field: str, scale: alt.Scale) -> alt.Y:
    return alt.Y(field, type="quantitative", scale=scale, axis=_axis(5), title=None)


def _ranges(scale: alt.Scale) -> list[alt.Chart]:
    x = alt.X("date:T").scale(type="utc", padding=12).axis(_axis(6)).title(None)
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


def _axis(ticks: int) -> alt.Axis:
    return alt.Axis(
        tickCount=ticks,
        domain=False,
        ticks=False,
        gridColor=LIGHT.rule,
        labelColor=LIGHT.soft_ink,
        labelFont=FONT,
        labelFontSize=14,
        labelPadding=8,
        labelFlush=True,
    )
