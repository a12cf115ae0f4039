"""Which class of work a horse is in, from what it did.

The classes and their hours are the National Research Council's (2007); how days of canter and of fast work stand for
them is common practice, no source. A yard changes the figures by rules of its own, or names the class itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.feeding.checking import checked
from upsides.feeding.defaults import Defaults
from upsides.feeding.energy import Work
from upsides.rules import Ruled

Why = Literal["fast work", "hours and canter", "hours", "little or none"]


@dataclass(frozen=True, slots=True)
class Week:
    """What a horse did in seven days; each day counts once, by the hardest thing done.

    Attributes:
        canter_days: days of cantering.
        fast_days: days of fast work.
        off_days: days off.
        hours: hours under the rider, None where nobody wrote them down.
    """

    canter_days: int
    fast_days: int
    off_days: int
    hours: float | None = None

    def __post_init__(self) -> None:
        days = {"days of canter": self.canter_days, "days of fast work": self.fast_days, "days off": self.off_days}
        for field, value in days.items():
            checked(field, value, 0, 7, _("days"))
        if sum(days.values()) > 7:
            raise FeedingRefusedError(
                _("days of the week"), sum(days.values()), _("a week has seven"), _("count each day once")
            )
        if self.hours is not None:
            checked(_("hours under the rider"), self.hours, 0, 70, _("hours a week"))
        if self.off_days == 7 and self.hours:
            reason = _("all seven days are written down as off")
            raise FeedingRefusedError(
                _("hours under the rider"), self.hours, reason, _("correct the days or the hours")
            )

    @property
    def known_hours(self) -> float | None:
        """The hours; none at all in a week of days off."""
        return 0.0 if self.off_days == 7 else self.hours


@dataclass(frozen=True, slots=True)
class Worked:
    """The class of a horse's work, and what it follows from.

    Attributes:
        work: the class.
        why: what decided.
        ruled: the figure that was reached, or with "little or none" the one that was not.
        fast_days, canter_days, off_days: means a week.
        hours: mean a week, None where a week's hours are not known.
    """

    work: Work
    why: Why
    ruled: Ruled
    fast_days: float
    canter_days: float
    off_days: float
    hours: float | None


def work_of(weeks: Sequence[Week], given: Defaults) -> Worked:
    """Return the class of work of the mean of some weeks; the hardest that is reached.

    Raises:
        FeedingRefusedError: there is no week, or the hours are needed and not known.
    """
    if not weeks:
        raise FeedingRefusedError(
            _("weeks of work"), _("none"), _("there is nothing to go by"), _("name the class yourself")
        )
    hours = [week.known_hours for week in weeks]
    known = [value for value in hours if value is not None]
    mean = sum(known) / len(weeks) if len(known) == len(weeks) else None
    fast, canter, off = (
        sum(getattr(week, field) for week in weeks) / len(weeks) for field in ("fast_days", "canter_days", "off_days")
    )
    return Worked(*_class(fast, canter, mean, given), fast, canter, off, mean)


def _class(fast: float, canter: float, hours: float | None, given: Defaults) -> tuple[Work, Why, Ruled]:
    if fast >= given.fast_days.value:
        return "very heavy", "fast work", given.fast_days
    if hours is None:
        reason = _("a week has no hours under the rider, and there was too little fast work to go by that alone")
        raise FeedingRefusedError(
            _("weeks of work"), _("hours not known"), reason, _("write them down, or name the class")
        )
    at = given.hours
    if hours >= at["very heavy"].value:
        return "very heavy", "hours", at["very heavy"]
    if hours >= at["heavy"].value and fast + canter >= given.canter_days.value:
        return "heavy", "hours and canter", at["heavy"]
    if hours >= at["moderate"].value:
        return "moderate", "hours", at["moderate"]
    if hours >= at["light"].value:
        return "light", "hours", at["light"]
    return "average", "little or none", at["light"]
