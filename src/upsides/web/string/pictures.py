"""The string's pictures: curves from the fit's levels."""

import json
from functools import lru_cache
from typing import Any

import polars as pl
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from upsides.books.queries.horse import Shown
from upsides.books.queries.standings import Curve
from upsides.charts.level_curve import level_spec
from upsides.charts.picture import picture
from upsides.charts.spark import spark
from upsides.web.shell.templatetags.words import day, finish, metres
from upsides.web.string.sentences import about_curve, about_spark

_SIZES = {"wide": (760, 300), "narrow": (290, 240)}


@lru_cache(maxsize=2048)
def small_curve(curve: Curve, _language: str | None) -> SafeString:
    """Return the small curve of a list; drawn once as long as the fit stands, for each language."""
    days = [when.toordinal() for when in curve.days]
    svg = spark(days, curve.level_lb, curve.sd_lb, about_spark(curve))
    return mark_safe(svg)  # noqa: S308 (drawn by charts, which escapes the words in it)


def curves(shown: Shown) -> dict[str, SafeString]:
    """Return a horse's curve drawn for wide and for narrow screens, empty when it has no level."""
    spec = curve_spec(shown)
    if spec is None:
        return {}
    written, words = json.dumps(spec), about_curve(shown)
    return {width: _drawn(written, width, shown.horse.name, words) for width in _SIZES}


@lru_cache(maxsize=128)
def _drawn(spec: str, width: str, title: str, words: str) -> SafeString:
    """Draw a specification written as JSON; drawing takes as long as all the rest of a page."""
    svg = picture(json.loads(spec), _SIZES[width], title, words, f"curve-{width}")
    return mark_safe(svg)  # noqa: S308 (escaped by the XML writer)


def curve_spec(shown: Shown) -> dict[str, Any] | None:
    """Return the specification of a horse's curve, None when it has no level."""
    return level_spec(shown.standing.career, _points(shown.runs)) if shown.standing else None


def _points(runs: list[dict[str, Any]]) -> pl.DataFrame:
    rated = [run for run in runs if run["figure_lb"] is not None]
    rows = [(run["date"], run["figure_lb"], run["figure_sd_lb"], run["surface"], _label(run)) for run in rated]
    schema = {
        "date": pl.Date,
        "figure_lb": pl.Float64,
        "figure_sd_lb": pl.Float64,
        "surface": pl.String,
        "label": pl.String,
    }
    return pl.DataFrame(rows, schema=schema, orient="row")


def _label(run: dict[str, Any]) -> str:
    return _("%(day)s, %(course)s, %(trip)s, %(finish)s: %(figure)s lb") % {
        "day": day(run["date"]),
        "course": run["course"] or "–",
        "trip": metres(run["distance_m"]),
        "finish": finish(run),
        "figure": f"{run['figure_lb']:.0f}",
    }
