"""What a horse did by steps of speed, ready for the page."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.condition.done.summary import Bin, Window
from upsides.recordings.bouts.bins import COUNT, STEP_MS
from upsides.web.recordings import measures as m


def steps_of(windows: Sequence[Window]) -> list[tuple[str, list[tuple[int | None, str]]]]:
    """Return the steps at which it went at all, slowest first: each in words, with days and amount of each window."""
    by_step = [{one.from_ms: one for one in window.bins} for window in windows]
    steps = sorted({low for bins in by_step for low in bins})
    return [
        (_speeds(low), [(one.days, _amount(bins.get(low))) for one, bins in zip(windows, by_step, strict=True)])
        for low in steps
    ]


def _speeds(low: float) -> str:
    told = {"low": m.decimal(low), "high": m.decimal(low + STEP_MS)}
    if low >= (COUNT - 1) * STEP_MS:
        return _("%(low)s\u00a0m/s and more") % told
    return _("%(low)s to %(high)s\u00a0m/s") % told


def _amount(one: Bin | None) -> str:
    if one is None:
        return "–"
    if one.strides is None:
        return m.far(one.metres)
    told = {"far": m.far(one.metres), "strides": f"{round(one.strides):,}"}
    return ngettext("%(far)s, %(strides)s stride", "%(far)s, %(strides)s strides", round(one.strides)) % told
