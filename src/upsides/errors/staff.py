"""Working hours, days off, what binds jockeys; the yard's own lists of gallops and things."""

from datetime import date

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class StaffFieldError(UpsidesError):
    """Something about when somebody works that cannot be entered; `field` names what of it is at fault."""

    field = "first_day"


class HoursUnreadableError(StaffFieldError):
    """Working hours that write no times, or times that cannot be.

    Args:
        text: what was typed.
        reason: why not, and what to write instead.
    """

    def __init__(self, text: str, reason: str) -> None:
        shown = text if len(text) <= 40 else _("{text}...", text=text[:40])
        super().__init__(_("the hours {shown!r}: {reason}", shown=shown, reason=reason))
        self.text, self.reason = text, reason


class HoursMissingError(StaffFieldError):
    """Hours for somebody who has none, with none in them."""

    field = "monday"

    def __init__(self) -> None:
        super().__init__(_("no hours are written; write them beside at least one day, as 6-9:30, 10-12:30"))


class FarDayError(StaffFieldError):
    """A day so far from today that it is a slip.

    Args:
        day: the day.
        field: which field names it.
    """

    def __init__(self, day: date, field: str) -> None:
        super().__init__(_("{day:%d %B %Y} is more than two years from today; check the year", day=day))
        self.day, self.field = day, field


class EndBeforeStartError(StaffFieldError):
    """Days that end before they begin.

    Args:
        first: first day.
        last: last day.
    """

    field = "last_day"

    def __init__(self, first: date, last: date) -> None:
        super().__init__(
            _(
                "the last day, {last:%d %B %Y}, lies before the first, {first:%d %B %Y}; write them the other way "
                "round",
                last=last,
                first=first,
            )
        )
        self.first, self.last = first, last


class DayOffTwiceError(StaffFieldError):
    """Days off of one kind that stand already.

    Args:
        first: first day of those that stand.
        last: last day of those that stand.
    """

    def __init__(self, first: date, last: date) -> None:
        super().__init__(
            _(
                "the same stands already from {first:%d %B %Y} to {last:%d %B %Y}; take it back, or enter other days",
                first=first,
                last=last,
            )
        )
        self.first, self.last = first, last


class BondRefusedError(StaffFieldError):
    """A retainer or suspension that cannot be entered.

    Args:
        field: what of it is at fault.
        reason: why not, and what to do instead.
    """

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.reason = field, reason


class YardListError(UpsidesError):
    """A gallop, a thing or the yard's own name that cannot be entered so.

    Args:
        field: what of it is at fault.
        reason: why not, and what to write instead.
    """

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.reason = field, reason
