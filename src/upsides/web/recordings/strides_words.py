"""How even the strides of a recording were, in sentences. No class and no grade."""

from math import isfinite
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.recordings.bouts.evenness import Evenness

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
