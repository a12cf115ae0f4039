"""The string's pictures: curves from the fit's levels."""

import polars as pl
from django.utils.safestring import SafeString, mark_safe

from upsides.books.queries.string import Listed, Shown
from upsides.charts.level_curve import level_spec
from upsides.charts.picture import picture
from upsides.charts.spark import spark
from upsides.web.shell.templatetags.words import day, finish
from upsides.web.string.sentences import about_curve, about_spark

_SIZES = {"wide": (760, 300), "narrow": (290, 240)}


def small_curve(one: Listed) -> SafeString:
    """Return the small curve of a listed horse, empty when it has no level."""
    if one.curve.is_empty():
        return SafeString("")
    days = [when.toordinal() for when in one.curve["date"]]
    svg = spark(days, one.curve["level_lb"].to_list(), one.curve["sd_lb"].to_list(), about_spark(one))
    return mark_safe(svg)  # noqa: S308 (drawn by charts, which escapes the words in it)


def curves(shown: Shown) -> dict[str, SafeString]:
    """Return a horse's curve drawn for wide and for narrow screens, empty when it has no level."""
    if shown.curve.is_empty():
        return {}
    points = _points(shown.runs)
    words = about_curve(shown)
    spec = level_spec(shown.curve, points)
    drawn = {name: picture(spec, size, shown.horse.name, words, f"curve-{name}") for name, size in _SIZES.items()}
    return {name: mark_safe(svg) for name, svg in drawn.items()}  # noqa: S308 (escaped by the XML writer)


def _points(runs: pl.DataFrame) -> pl.DataFrame:
    rated = runs.drop_nulls("figure_lb")
    labels = [
        f"{day(run['date'])}, {run['course']}, {run['distance_m']:.0f} m, {finish(run)}: {run['figure_lb']:.0f} lb"
        for run in rated.to_dicts()
    ]
    chosen = rated.select("date", "figure_lb", "figure_sd_lb", "surface")
    return chosen.with_columns(label=pl.Series(labels, dtype=pl.String))
