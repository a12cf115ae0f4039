"""A horse's level through time: a curve with its ranges, and the runs it rests on as points."""

from typing import Any

import polars as pl

from upsides.charts.ranges import INNER, WIDE


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
    from upsides.charts.level_layers import template  # a web process that shows no horse loads no Altair

    return template() | {"params": params, "datasets": data}


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
