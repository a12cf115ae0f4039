"""What a recording shows, one panel above the other on one axis, with one cursor through all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import altair as alt

from upsides.charts.theme import FONT, LIGHT, variables

Row = Mapping[str, float | str | None]

HEIGHTS: Final[Mapping[str, int]] = {"speed": 190, "heart": 120, "height": 90, "gradient": 80}
"""The panels from above, and how high each is, px."""
LABELS: Final = 46
"""What the numbers on the left take, px."""
CURSOR: Final = "here"
"""The cursor's parameter: the x of a row, or null; whoever shows the chart moves it."""
_SIDE: Final = 4
_TITLE: Final = 15


@dataclass(frozen=True, slots=True)
class Panels:
    """What is shown, and what it is called.

    Attributes:
        titles: above each panel that is shown, by its name in `HEIGHTS`.
        axis: below the last one.
    """

    titles: tuple[tuple[str, str], ...]
    axis: str


def recorded_spec(
    panels: Panels, rows: Sequence[Row], works: Sequence[Row], ends: tuple[float, float]
) -> dict[str, Any]:
    """Return the Vega-Lite specification, for page and paper alike, in the theme's light colours.

    Args:
        panels: what is shown.
        rows: in order: x, piece (a number; lines are broken between pieces), and of each panel its value, None where it
            is not known; speed with `low` and `high`; `said`, the row in words.
        works: begin and end, in x, of the stretches that are shaded.
        ends: the ends of the axis.

    Returns:
        Panels without a width: whoever draws it gives each the same.
    """
    data = {"rows": list(rows), "works": list(works)}
    values: dict[str, float | None] = {"first": ends[0], "last": ends[1], CURSOR: None}
    for name, _title in panels.titles:
        values[f"{name}_low"], values[f"{name}_high"] = _ends_of(name, rows)
    params = [{"name": name, "value": value} for name, value in values.items()]
    return _template(panels) | {"params": params, "datasets": data}


def sized(spec: Mapping[str, Any], width: int) -> dict[str, Any]:
    """Return the specification with each panel so wide that the whole is `width` px."""
    wide = width - LABELS - 2 * _SIDE
    return dict(spec) | {"vconcat": [panel | {"width": wide} for panel in spec["vconcat"]]}


def _ends_of(name: str, rows: Sequence[Row]) -> tuple[float, float]:
    """Return between which values a panel stands."""
    names = (name, "low", "high") if name == "speed" else (name,)
    found = [value for row in rows for one in names if isinstance(value := row.get(one), int | float)]
    found += [0.0] if name in {"speed", "gradient"} else []
    low, high = min(found), max(found)
    return low, high if high > low else low + 1.0


@lru_cache(maxsize=16)
def _template(panels: Panels) -> dict[str, Any]:
    """Return the specification without its data: Altair checks it once, not for every recording."""
    last = panels.titles[-1][0]
    made = [_panel(name, title, panels.axis if name == last else None) for name, title in panels.titles]
    chart = alt.vconcat(*made, spacing=10).resolve_scale(x="shared")
    chart = chart.configure(background="transparent", font=FONT, padding=_SIDE).configure_view(stroke=None)
    chart = chart.configure_axisY(minExtent=LABELS, maxExtent=LABELS)
    spec: dict[str, Any] = chart.to_dict()
    return spec | {"usermeta": {"colours": variables(), "labels": LABELS + 2 * _SIDE}}


def _panel(name: str, title: str, axis: str | None) -> Any:
    scale = alt.Scale(domain=[alt.ExprRef("first"), alt.ExprRef("last")], nice=False)
    x = alt.X("x:Q").scale(scale).axis(_axis(axis) if axis is not None else _axis(None, labels=False))
    rows = alt.Chart(alt.NamedData("rows")).encode(x=x)
    works = alt.Chart(alt.NamedData("works")).mark_rect(color=LIGHT.rule, opacity=0.55)
    shade = works.encode(x=alt.X("begin:Q").scale(scale), x2="end:Q")
    chart: Any = alt.layer(shade, *_marks(name, rows), *_cursor(name, rows)).properties(
        height=HEIGHTS[name],
        title=alt.TitleParams(
            title, anchor="start", font=FONT, fontSize=14, fontWeight="bold", color=LIGHT.ink, offset=6, frame="group"
        ),
    )
    return chart


def _marks(name: str, rows: alt.Chart) -> list[alt.Chart]:
    y = _y(name, name)
    line = rows.mark_line(color=LIGHT.ink, strokeWidth=2, strokeJoin="round").encode(y, detail="piece:N")
    if name == "speed":
        band = rows.mark_area(color=LIGHT.heather_inner, opacity=1).encode(
            _y("low", name), alt.Y2("high"), detail="piece:N"
        )
        return [band, line]
    if name == "gradient":
        return [rows.mark_area(color=LIGHT.heather_inner, line=False).encode(y, detail="piece:N"), line]
    return [line]


def _cursor(name: str, rows: alt.Chart) -> list[alt.Chart]:
    """Return the rule and the dot where the cursor stands."""
    here = rows.transform_filter(f"datum.x === {CURSOR}")
    dot = here.mark_point(
        filled=True, size=90, color=LIGHT.gorse, stroke=LIGHT.ink, strokeWidth=2, opacity=1, shape="circle", aria=False
    )
    return [
        here.mark_rule(color=LIGHT.soft_ink, strokeWidth=1.5, aria=False),
        dot.encode(_y(name, name)).transform_filter(f"isValid(datum.{name})"),
    ]


def _y(field: str, panel: str) -> alt.Y:
    ends = [alt.ExprRef(f"{panel}_low"), alt.ExprRef(f"{panel}_high")]
    return alt.Y(f"{field}:Q").scale(domain=ends, zero=False, nice=True).axis(_y_axis()).title(None)


def _axis(title: str | None, *, labels: bool = True) -> alt.Axis:
    return alt.Axis(
        title=title or None,
        titleFont=FONT,
        titleFontSize=14,
        titleFontWeight="normal",
        titleColor=LIGHT.soft_ink,
        tickCount=8,
        domain=False,
        ticks=False,
        labels=labels,
        gridColor=LIGHT.rule,
        labelColor=LIGHT.soft_ink,
        labelFont=FONT,
        labelFontSize=13,
        labelPadding=6,
    )


def _y_axis() -> alt.Axis:
    return alt.Axis(
        tickCount=4,
        domain=False,
        ticks=False,
        gridColor=LIGHT.rule,
        labelColor=LIGHT.soft_ink,
        labelFont=FONT,
        labelFontSize=13,
        labelPadding=6,
    )
