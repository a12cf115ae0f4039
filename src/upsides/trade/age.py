"""Official ages and the ages a race is open to: 2yo, 3yo+, 4-6yo, 4 y.o. and up, 3 ans et plus, 3歳以上."""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from functools import total_ordering
from typing import Final, Self

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import MISSING, Parsed, read_column, tidy

_OLDEST: Final = 40
_YEARS: Final = r"(?:-?year-?s?[- ]olds?|y\.?-?o\.?s?|ans?|y|歳|才)"
_ABOVE: Final = r"(?:\+|u|(?:and|&|et) ?(?:up(?:wards?)?|over|older|above|plus|au-dessus|au dessus)|&up|plus|以上|上)"
_AGE: Final = re.compile(rf"(\d{{1,2}})(?:\.0)? ?{_YEARS}?")
_RANGE: Final = re.compile(
    rf"(?P<low>\d{{1,2}}) ?{_YEARS}?"
    rf"(?: ?(?:-|to|and|&|et|a|,|・) ?(?P<high>\d{{1,2}}) ?{_YEARS}?| ?(?P<up>{_ABOVE}) ?{_YEARS}?)?"
    r"(?: only|限定)?"
)


@dataclass(frozen=True, slots=True, order=True)
class Age:
    """An official age in whole years, 0 (a foal) to 40."""

    years: int

    def __post_init__(self) -> None:
        if not 0 <= self.years <= _OLDEST:
            raise UnreadableError(_("age"), self.years, _("3yo (0 to {oldest})", oldest=_OLDEST))

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read an age.

        Raises:
            UnreadableError: the text writes no single age.
        """
        match = _AGE.fullmatch(tidy(text))
        if match is None:
            raise UnreadableError(_("age"), text, _("3yo, 3 y.o., 3 ans, 3歳 or 3"))
        return cls(int(match[1]))

    def __str__(self) -> str:
        """Return the age as 3yo; `parse` reads it back."""
        return f"{self.years}yo"


@total_ordering
@dataclass(frozen=True, slots=True)
class AgeRange:
    """The ages that a race is open to.

    Attributes:
        youngest: lowest age allowed, years.
        oldest: highest age allowed, years; None where there is no upper limit.
    """

    youngest: int
    oldest: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.youngest <= (_OLDEST if self.oldest is None else self.oldest) <= _OLDEST:
            raise UnreadableError(
                _("ages"),
                _("{youngest} to {oldest}", youngest=self.youngest, oldest=self.oldest),
                _("2yo, 3yo+ or 4-6yo, younger age first"),
            )

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read the ages of a race; a single age is a range of one.

        Raises:
            UnreadableError: the text writes no ages, or the older one first.
        """
        match = _RANGE.fullmatch(tidy(text))
        if match is None:
            raise UnreadableError(_("ages"), text, _("2yo, 3yo+, 4-6yo, 3 ans et plus or 3歳以上"))
        low = int(match["low"])
        return cls(low, None if match["up"] else int(match["high"] or low))

    def __contains__(self, age: Age | int) -> bool:
        years = age.years if isinstance(age, Age) else age
        return self.youngest <= years and (self.oldest is None or years <= self.oldest)

    def __lt__(self, other: object) -> bool:
        """Order by the youngest age, then by the oldest, no limit last."""
        if not isinstance(other, AgeRange):
            return NotImplemented
        return self._key() < other._key()

    def _key(self) -> tuple[int, int]:
        return self.youngest, _OLDEST + 1 if self.oldest is None else self.oldest

    def __str__(self) -> str:
        """Return the ages as 3yo, 3yo+ or 4-6yo; `parse` reads them back."""
        if self.oldest is None:
            return f"{self.youngest}yo+"
        return f"{self.youngest}yo" if self.oldest == self.youngest else f"{self.youngest}-{self.oldest}yo"


def official_age(foaled: date, on: date, birthday: tuple[int, int]) -> Age:
    """Return the official age of a horse: the number of official birthdays since it was foaled.

    Args:
        foaled: day of foaling; a foal born on the birthday itself is 0 until the next one.
        on: day asked about.
        birthday: month and day on which every horse of the jurisdiction turns a year older, e.g. (1, 1) in
            the northern hemisphere, (8, 1) in Australia, (7, 1) in South America; kept as dated data by the
            rules room.

    Raises:
        UnreadableError: `on` is before `foaled`.
    """
    if on < foaled:
        raise UnreadableError(
            _("age"), _("{foaled} to {on}", foaled=foaled, on=on), _("a day on or after the foaling day")
        )
    return Age(season(on, birthday) - season(foaled, birthday))


def season(day: date, birthday: tuple[int, int]) -> int:
    """Return the year in which the horse's year that holds `day` began; `birthday` as in `official_age`."""
    return day.year - ((day.month, day.day) < birthday)


def parse_ages(texts: Iterable[str | None], missing: Collection[str] = MISSING) -> Parsed:
    """Read a column of ages, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        missing: tidied texts that mean "not recorded".

    Returns:
        Years, float64 of shape (n,), NaN where not recorded or unreadable; and the mask of the unreadable
        ones.
    """
    return read_column(texts, lambda text: float(Age.parse(text).years), missing)
