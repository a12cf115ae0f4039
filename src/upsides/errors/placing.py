"""Races to come and their conditions: what cannot be meant, and what cannot be compared."""

from collections.abc import Iterable

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined


class RaceRefusedError(UpsidesError):
    """Something said of a race to come that cannot be right.

    Args:
        race: the race, as it is called.
        field: what the value is called.
        typed: the value as it was given.
        reason: why it cannot be.
        remedy: what to do instead.
    """

    def __init__(self, race: str, field: str, typed: object, reason: str, remedy: str) -> None:
        self.race, self.field, self.typed, self.reason, self.remedy = race, field, str(typed)[:80], reason, remedy
        super().__init__(
            _(
                "{race}, {field} {typed!r}: {reason}; {remedy}",
                race=race,
                field=field,
                typed=self.typed,
                reason=reason,
                remedy=remedy,
            )
        )


class ZoneMissingError(UpsidesError):
    """A time of day at a course of which nobody said in which zone its clocks go.

    Args:
        race: the race, as it is called.
        field: which time.
        typed: the time as it was given.
        course: the course.
    """

    def __init__(self, race: str, field: str, typed: object, course: str) -> None:
        self.race, self.field, self.typed, self.course = race, field, str(typed), course
        super().__init__(
            _(
                "{race}, {field} {typed!r}: it says no zone and none is known for {course}; name the zone of the "
                "course, like Europe/Dublin, or write the time with its offset",
                race=race,
                field=field,
                typed=self.typed,
                course=course,
            )
        )


class ConditionsClashError(UpsidesError):
    """Conditions of a race that cannot hold together.

    Args:
        race: the race, as it is called.
        clashes: each clash in words.
    """

    def __init__(self, race: str, clashes: Iterable[str]) -> None:
        self.race, self.clashes = race, tuple(clashes)
        super().__init__(
            _(
                "{race}: {clashes}; correct the conditions by the authority's own",
                race=race,
                clashes=joined(self.clashes, by="; "),
            )
        )


class CurrencyUnknownError(UpsidesError):
    """Two sums of money in different currencies, without a rate between them.

    Args:
        amount: the sum, as text.
        currency: the currency it was wanted in.
    """

    def __init__(self, amount: str, currency: str) -> None:
        self.amount, self.currency = amount, currency
        super().__init__(
            _(
                "{amount} cannot be told in {currency}; give a rate with its day, or compare in one currency",
                amount=amount,
                currency=currency,
            )
        )


class WeightUnknownError(UpsidesError):
    """A weight that the conditions do not settle.

    Args:
        horse: the horse, as it is called.
        race: the race, as it is called.
        reason: what is missing.
        remedy: what to do about it.
    """

    def __init__(self, horse: str, race: str, reason: str, remedy: str) -> None:
        self.horse, self.race, self.reason, self.remedy = horse, race, reason, remedy
        super().__init__(
            _("weight of {horse} in {race}: {reason}; {remedy}", horse=horse, race=race, reason=reason, remedy=remedy)
        )
