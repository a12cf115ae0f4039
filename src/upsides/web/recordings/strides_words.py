"""How long, how quick and how even the strides of a recording were, in sentences. No class and no grade."""

from collections.abc import Mapping
from math import isfinite
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.recordings.bouts.bins import STEP_MS
from upsides.recordings.bouts.evenness import Evenness
from upsides.recordings.measured import Speeds
from upsides.web.recordings.measures import decimal

WHY: Final = {
    "slow device": gettext_lazy(
        "How even its strides were is not told: acceleration was written less than 50 times a second."
    ),
    "no gravity": gettext_lazy(
        "How even its strides were is not told: gravity is not in the acceleration, so which way is up is not known."
    ),
    "too short": gettext_lazy("How even its strides were is not told: it trotted for less than half a minute."),
    "unsteady": gettext_lazy("How even its strides were is not told: it did not trot steadily enough."),
}
"""Why nothing is said of the two halves of a stride."""

FEWEST: Final = 20
"""Fewer strides than this say neither how long nor how quick they are; our own choice."""


def stride_words(label: str, steps: Mapping[int, Speeds]) -> str:
    """Return how long strides were and how many a second, of those that were counted in a band of speed.

    Args:
        label: the band, m/s.
        steps: what was gone in its steps of speed; a step's own speed is its middle.

    Returns:
        It in words, "" where the tracker felt fewer than `FEWEST`.
    """
    felt = {step: one for step, one in steps.items() if one.counted and isfinite(one.strides)}
    strides, metres = (sum(getattr(one, name) for one in felt.values()) for name in ("strides", "metres"))
    if strides < FEWEST:
        return ""
    seconds = sum(one.metres / ((step + 0.5) * STEP_MS) for step, one in felt.items())
    told = {"band": label, "length": decimal(metres / strides, 2), "rate": decimal(strides / seconds, 2)}
    text = _("At %(band)s m/s a stride was %(length)s m long, and there were %(rate)s a second (%(count)s counted).")
    return text % (told | {"count": f"{round(strides):,}"})


def strides_words(even: Evenness | None) -> list[str]:
    """Return how even strides were, or why that is not told; nothing without acceleration."""
    if even is None:
        return []
    told = {name: f"{getattr(even, name):.2f}" for name in ("half", "half_sd", "trot", "work")}
    trotted = _(
        "At trot the two halves of a stride were alike to %(half)s ± %(half_sd)s, where 1 is wholly alike, and one "
        "stride was like the next to %(trot)s."
    )
    said = [str(WHY[even.why_not]) if even.why_not else trotted % told]
    if isfinite(even.work):
        said.append(_("At canter and faster one stride was like the next to %(work)s.") % told)
    return said
