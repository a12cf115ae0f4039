"""Blood results: the laboratory's printed interval, and the horse's own change once there are enough of its own.

The reference change value is what two results may differ by analytical and individual variation alone, two-sided 95 %:

    RCV = sqrt(2) z sqrt(CVA^2 + CVI^2)     (Fraser's formula; biologicalvariation.com)

A horse's own range is worth using after at least six results no more than two weeks apart (studies of individuality in
horses' blood). Nothing here says what a result means: that is the vet's to say.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from upsides.condition.monitoring.readings import Floats, Ints
from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _

ENOUGH: Final = 6
TOLD: Final = 20
"""So many differences within horses tell how far results differ. Our own choice."""
APART: Final = 14
"""Days that results may lie apart to make a horse's own range."""


def reference_change(cva: float, cvi: float, z: float = 1.96) -> float:
    """Return the reference change value in the unit of the coefficients, per cent for per cent.

    Args:
        cva: coefficient of variation of the analysis.
        cvi: within one individual.
        z: 1.96 for two-sided 95 %.
    """
    for name, value in (("analytical variation", cva), ("variation within a horse", cvi)):
        if not value >= 0.0:
            raise ConditionRefusedError(
                name, value, _("it is not below nought"), _("give the coefficient of variation")
            )
    return float(np.sqrt(2.0) * z * np.hypot(cva, cvi))


def variation_within(horse: Ints, value: Floats) -> float | None:
    """Return how far results of one horse differ from sample to sample, per cent, over all horses of a yard together.

    It holds what the analysis and what the horse do, so that it stands for both in the reference change value. With s^2
    the variance of the logarithms within horses it is sqrt(exp(s^2) - 1).

    Args:
        horse: (n,) whose.
        value: (n,) results of one analysis by one laboratory, above nought.

    Returns:
        The coefficient of variation; None where fewer than twenty differences tell it.
    """
    log = np.log(value)
    horses, code = np.unique(horse, return_inverse=True)
    freedom = value.size - horses.size
    if freedom < TOLD:
        return None
    mean = np.bincount(code, log) / np.bincount(code)
    return float(100.0 * np.sqrt(np.expm1(np.sum((log - mean[code]) ** 2) / freedom)))


@dataclass(frozen=True, slots=True)
class OwnChange:
    """How one result stands.

    Attributes:
        value: the last result.
        outside: "below" or "above" the laboratory's interval; "" within it, or where it printed none.
        usual: median of the horse's own earlier results; NaN until there are enough.
        change: the last result against the one before, per cent; NaN until there are enough.
        allowed: the reference change value, per cent.
        changed: whether the change is beyond that; False until there are enough.
        own: how many earlier results count as its own.
    """

    value: float
    outside: Literal["", "below", "above"]
    usual: float
    change: float
    allowed: float
    changed: bool
    own: int


def own_change(day: Ints, value: Floats, interval: tuple[float, float], cva: float, cvi: float) -> OwnChange:
    """Return how a horse's last result stands to the laboratory's interval and to its own results before.

    Args:
        day: (n,) days in order.
        value: (n,) results of one analysis, above nought.
        interval: the laboratory's printed one, NaN for an end that it leaves open.
        cva: coefficient of variation of the analysis, per cent.
        cvi: within a horse, per cent.

    Raises:
        ConditionRefusedError: no result, one that is not above nought, or days out of order.
    """
    if not value.size or not (value > 0.0).all():
        shown = value[~(value > 0.0)][0] if value.size else "nothing"
        raise ConditionRefusedError(_("blood result"), shown, _("results are numbers above nought"), _("leave it out"))
    if (np.diff(day) < 0).any():
        raise ConditionRefusedError(
            _("days of results"), _("not in order"), _("a later one stands first"), _("sort them")
        )
    low, high = interval
    outside: Literal["", "below", "above"] = "below" if value[-1] < low else "above" if value[-1] > high else ""
    near = np.r_[np.flatnonzero(np.diff(day) > APART) + 1, 0].max()
    own = value[near:-1]
    allowed = reference_change(cva, cvi)
    if own.size < ENOUGH:
        return OwnChange(float(value[-1]), outside, np.nan, np.nan, allowed, changed=False, own=own.size)
    change = 100.0 * (value[-1] / own[-1] - 1.0)
    return OwnChange(
        float(value[-1]), outside, float(np.median(own)), float(change), allowed, bool(abs(change) > allowed), own.size
    )
