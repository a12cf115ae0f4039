"""Race and section times: 1.08.2, 1:34.91, 1:32 1 and 58 2/5 (fifths), 1m 9.45s, 1'09"4, 1分34秒5, 68.2.

Two points mean minutes, seconds and a decimal; a bare number with one point or comma is seconds. A space and
one digit 0 to 4 after minutes and seconds counts fifths of a second, the North American way; below a minute
that is :58 2 or 58 2/5. A point is a decimal point, in :58.2 as in 1:34.9; only a caller who knows that a
table's points part seconds from fifths may say so.
"""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final, Literal, Self

from upsides.errors import UnreadableError, UnwritableError
from upsides.errors.wording import gettext as _
from upsides.trade.reading import (
    MISSING,
    NUMBER,
    Parsed,
    exact,
    number,
    positive,
    read_column,
    tidy,
    written,
)

TimeNotation = Literal["colon", "points", "fifths", "letters", "seconds"]
"""1:08.2, 1.08.2, 1:32 1, 1m 9.45s, 68.2."""
Point = Literal["decimal", "fifths"]
"""What a single digit behind a point, after a colon, counts: 1:34.2 is 94.2 s, or 94 2/5 s."""

EXPECTED: Final = _("1:08.2, 1.08.2, 1:32 1, 1m 9.45s or 68.2")
_FORMS: Final[tuple[tuple[TimeNotation, re.Pattern[str]], ...]] = (
    ("points", re.compile(r"(\d{1,3})\.(\d{2})[.,](\d{1,18})()")),
    ("fifths", re.compile(r"(\d{0,3}):(\d{2})() ([0-4])(?:/5)?")),
    ("fifths", re.compile(r"()(\d{1,2})() ([0-4])/5")),
    ("colon", re.compile(r"(\d{0,3}):(\d{2})(?:[.,](\d{1,18}))?()")),
    ("letters", re.compile(r"(\d{1,3}) ?m(?:ins?|n)?\.? ?(\d{1,2})(?:[.,](\d{1,18}))? ?(?:s(?:ecs?)?\.?)?()")),
    ("letters", re.compile(r"(\d{1,3}) ?' ?(\d{2}) ?(?:''|\")? ?(\d{1,18})?()")),
    ("letters", re.compile(r"(\d{1,3}) ?分 ?(\d{1,2}) ?秒 ?(\d{1,18})?()")),
    ("seconds", re.compile(r"()(\d{1,9})(?:[.,](\d{1,18}))? ?(?:s|secs?|seconds?|秒)?()")),
)
_POINT_FIFTHS: Final = re.compile(r"(\d{0,3}:\d{2})\.(\d)$")
_FRACTION: Final = re.compile(rf"({NUMBER}) ?s")
_QUOTES: Final = str.maketrans({"’": "'", "′": "'", "‘": "'", "”": '"', "″": '"', "“": '"'})


@dataclass(frozen=True, slots=True, order=True)
class RaceTime:
    """A time above zero, exact, compared by its seconds alone.

    Attributes:
        seconds: exact seconds.
        notation: how `str` writes it.
        places: decimals to write at least, so that 1:31.0 stays 1:31.0.
    """

    seconds: Fraction
    notation: TimeNotation = field(default="colon", compare=False)
    places: int = field(default=0, compare=False)

    def __post_init__(self) -> None:
        positive("time", self.seconds)

    @classmethod
    def from_seconds(cls, seconds: float | Fraction) -> Self:
        """Return a time of `seconds`."""
        return cls(exact(seconds))

    @classmethod
    def parse(cls, text: str, point: Point = "decimal") -> Self:
        """Read a time.

        Args:
            text: as the trade writes it.
            point: "fifths" where the caller knows that :58.2 and 1:34.2 mean 58 2/5 and 94 2/5 seconds.

        Raises:
            UnreadableError: the text writes no time, zero, or 60 seconds and more after a colon or minutes.
        """
        plain = tidy(text).translate(_QUOTES)
        if point == "fifths":
            plain = _POINT_FIFTHS.sub(r"\1 \2", plain)
        for notation, form in _FORMS:
            if match := form.fullmatch(plain):
                minutes, whole, decimals, fifths = (part or "" for part in match.groups())
                return cls._of(text, notation, (minutes, whole, decimals), int(fifths or 0))
        if (match := _FRACTION.fullmatch(plain)) and (seconds := number(match[1])):
            return cls(seconds, "seconds")
        raise UnreadableError(_("time"), text, EXPECTED)

    @classmethod
    def _of(cls, text: str, notation: TimeNotation, parts: tuple[str, str, str], fifths: int) -> Self:
        minutes, whole, decimals = parts
        seconds = Fraction(f"{whole}.{decimals or 0}") + Fraction(fifths, 5)
        if notation != "seconds" and seconds >= 60:
            raise UnreadableError(_("time"), text, _("{expected} (seconds stay below 60 there)", expected=EXPECTED))
        total = 60 * int(minutes or 0) + seconds
        if not total:
            raise UnreadableError(
                _("time"), text, _("{expected} (a time of zero means not recorded: leave it empty)", expected=EXPECTED)
            )
        return cls(total, notation, len(decimals))

    def __str__(self) -> str:
        """Return the time exactly, in the notation that it was written in; `parse` reads it back."""
        return self.text(self.notation)

    def text(self, notation: TimeNotation = "colon", places: int | None = None) -> str:
        """Write the time.

        Args:
            notation: "colon" 1:08.2, "points" 1.08.2 (Hong Kong), "fifths" 1:32 1 (North America), "letters"
                1m 9.45s (Britain), "seconds" 68.2.
            places: decimals to round to; by default all there are, or "68 1/3 s" where no decimal is exact.

        Raises:
            UnwritableError: fifths were asked for and the time is not a whole number of them.
        """
        if notation == "fifths":
            return self._in_fifths()
        shown = self.seconds if places is None else Fraction(round(self.seconds * 10**places), 10**places)
        digits = self.places if places is None else places
        if "/" in written(shown):
            return f"{written(shown)} s"
        minutes, rest = divmod(shown, 60)
        if notation == "seconds" or (notation == "letters" and not minutes):
            return written(shown, digits) + ("s" if notation == "letters" else "")
        seconds = written(rest, max(digits, 1) if notation == "points" else digits)
        if notation == "letters":
            return f"{minutes}m {seconds}s"
        return f"{minutes}{':' if notation == 'colon' else '.'}{'0' if rest < 10 else ''}{seconds}"

    def _in_fifths(self) -> str:
        if (self.seconds * 5).denominator > 1:
            remedy = _("write it as a decimal, or round it to fifths first")
            raise UnwritableError(_("time"), f"{float(self.seconds)} s", _("fifths"), remedy)
        minutes, rest = divmod(self.seconds, 60)
        whole, part = divmod(rest, 1)
        return f"{minutes}:{whole:02d} {int(part * 5)}"


def parse_times(texts: Iterable[str | None], missing: Collection[str] = MISSING, point: Point = "decimal") -> Parsed:
    """Read a column of times, each distinct text once.

    Args:
        texts: n cells; None, empty and `missing` cells mean "not recorded".
        missing: tidied texts that mean "not recorded"; a table that writes 0 for unknown adds "0".
        point: as in `RaceTime.parse`.

    Returns:
        Seconds, float64 of shape (n,), NaN where not recorded or unreadable; and the mask of the unreadable
        ones.
    """
    return read_column(texts, lambda text: float(RaceTime.parse(text, point).seconds), missing)
