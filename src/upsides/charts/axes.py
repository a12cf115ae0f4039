"""The axes of the curves: quiet hairlines and soft letters."""

import altair as alt

from upsides.charts.theme import FONT, LIGHT


def axis(ticks: int, narrow: int) -> alt.Axis:
    """Return an axis with about so many ticks, on a narrow picture so many: its letters take longest to draw."""
    return alt.Axis(
        tickCount=alt.ExprRef(f"width < 400 ? {narrow} : {ticks}"),
        domain=False,
        ticks=False,
        gridColor=LIGHT.rule,
        labelColor=LIGHT.soft_ink,
        labelFont=FONT,
        labelFontSize=14,
        labelPadding=8,
        labelFlush=True,
    )


def days(ticks: int, narrow: int) -> alt.Axis:
    """Return an axis of days: 19 Apr, a month's name at its first day, a year's number at its own."""
    said = "utcdate(datum.value) > 1 ? '%-d %b' : utcmonth(datum.value) > 0 ? '%b' : '%Y'"
    made = axis(ticks, narrow)
    made.labelExpr = f"utcFormat(datum.value, {said})"
    return made
