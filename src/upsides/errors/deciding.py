"""Deciding about races: what cannot be said any more, or cannot be meant; addresses of calendars."""

from datetime import datetime

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class RaceUnknownError(UpsidesError):
    """A race that no programme names.

    Args:
        race: what was asked for.
    """

    def __init__(self, race: str) -> None:
        self.race = race
        super().__init__(_("no programme that was heard has a race {race!r}; look it up in the programme", race=race))


class RaceNamedTwiceError(UpsidesError):
    """Several races to come are called the same.

    Args:
        race: what was asked for.
        found: each race with its code, in words.
    """

    def __init__(self, race: str, found: list[str]) -> None:
        self.race, self.found = race, found
        super().__init__(
            _(
                "{count} races are called {race!r}: {found}; give the code of one",
                count=len(found),
                race=race,
                found="; ".join(found),
            )
        )


class HorseHereUnknownError(UpsidesError):
    """A horse that the yard does not have.

    Args:
        horse: what was asked for.
    """

    def __init__(self, horse: str) -> None:
        self.horse = horse
        super().__init__(
            _("the yard has no horse {horse!r} in training; write its name as the books have it", horse=horse)
        )


class DecisionRefusedError(UpsidesError):
    """Something that cannot be said of a horse and a race.

    Args:
        horse: the horse, as it is called.
        race: the race, as it is called.
        field: what of it is at fault.
        reason: why not.
        remedy: what to do instead.
    """

    def __init__(self, horse: str, race: str, field: str, reason: str, remedy: str) -> None:
        self.horse, self.race, self.field, self.reason, self.remedy = horse, race, field, reason, remedy
        super().__init__(_("{horse}, {race}: {reason}; {remedy}", horse=horse, race=race, reason=reason, remedy=remedy))


class DecisionLateError(DecisionRefusedError):
    """Something that had to be said earlier.

    Args:
        horse: the horse, as it is called.
        race: the race, as it is called.
        by: the moment by which it had to be said, by the course's clock.
    """

    def __init__(self, horse: str, race: str, by: datetime) -> None:
        self.by = by
        super().__init__(
            horse,
            race,
            "said_at",
            _("that had to be said by {by:%d %B %Y, %H:%M} ({tzname})", by=by, tzname=by.tzname()),
            _("if it was said in time, write when; otherwise ask the authority"),
        )


class DecisionTwiceError(UpsidesError):
    """A number of a decision that another decision has."""

    def __init__(self) -> None:
        super().__init__(_("another decision was written from this page already; load the page again"))


class CalendarGoneError(UpsidesError):
    """An address of a calendar that never was, or was ended."""

    def __init__(self) -> None:
        super().__init__(_("this address of a calendar does not work any more; make a new one under Deadlines"))
