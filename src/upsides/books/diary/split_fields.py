"""The fields of clocked work: splits at marks, a weight, and what clocked it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from typing import Any, Final

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from upsides.books.diary.fields import NAMELESS, Choice, Field, Names
from upsides.errors import UnreadableError
from upsides.trade.units import FURLONG_M
from upsides.trade.weight import Weight

Splits = Sequence[Sequence[float]]

SLOWEST_MS, FASTEST_MS = 1.0, 25.0
"""Speeds between two marks outside of which a press was missed or slipped (common practice, no source)."""
LIGHTEST_KG, HEAVIEST_KG = 30.0, 150.0
"""What somebody can weigh with tack (common practice, no source)."""
MOST: Final = 60
"""Most marks of one work."""
_NEAR_M: Final = 1.0
"""So near to whole furlongs a distance is said in furlongs."""
_DECIMAL_COMMA: Final = re.compile(r"(?<=\d),(?=\d{1,2}(?!\d|:|\s*[fm]))")
_SPLIT: Final = re.compile(
    r"(?P<far>\d{1,5}(?:\.\d{1,3})?)\s*(?P<unit>f(?:urlongs?)?|m(?:et(?:re|er)s?)?)?[\s:]\s*"
    r"(?:(?P<minutes>\d{1,2}):(?=\d\d))?(?P<seconds>\d{1,4}(?:\.\d{1,3})?)\s*(?:s|sec)?(?=[\s,;]|$)[\s,;]*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitTimes(Field):
    """Where and when a horse passed: metres from where the clock began and seconds since then, both rising.

    Typed as "1f 15.4, 2f 29.1, 3f 42.8", "400 m 26.1" or "201:15.4 402:29.1"; a bare distance is in metres. Kept to a
    tenth of a metre and a hundredth of a second.
    """

    longest: int = 1200
    suggest: str = ""

    control = "line"

    def parse(self, text: str) -> list[list[float]]:
        """Return the splits, each a pair."""
        line = " ".join(text.split())
        if len(line) > self.longest:
            raise self.refused(line, f"it has more than {self.longest} characters", "write it as two entries")
        splits = self._read(line)
        if len(splits) > MOST:
            raise self.refused(line, f"it has {len(splits)} marks, and {MOST} is the most", "write it as two entries")
        for begin, end in pairwise([[0.0, 0.0], *splits]):
            self._follows(line, begin, end)
        return splits

    def _read(self, line: str) -> list[list[float]]:
        plain, at, splits = _DECIMAL_COMMA.sub(".", line), 0, []
        while at < len(plain):
            found = _SPLIT.match(plain, at)
            if found is None:
                raise self.refused(
                    line, f"it cannot be read from {plain[at : at + 12]!r} on", f"write it like {self.hint}"
                )
            metre = FURLONG_M if (found["unit"] or "m").lower().startswith("f") else 1.0
            took = 60 * int(found["minutes"] or 0) + float(found["seconds"])
            splits.append([round(float(found["far"]) * metre, 1), round(took, 2)])
            at = found.end()
        return splits

    def _follows(self, line: str, begin: Sequence[float], end: Sequence[float]) -> None:
        """Refuse a split that cannot come after another.

        Raises:
            EntryRefusedError: it does not lie behind it in distance and in time, or no horse goes so fast or so slow.
        """
        metres, seconds = end[0] - begin[0], end[1] - begin[1]
        if metres <= 0 or seconds <= 0:
            reason = f"{mark_words(end[0])} in {end[1]:g} s does not come after {begin[0]:g} m in {begin[1]:g} s"
            raise self.refused(line, reason, "write distances and times from the start, rising in both")
        speed = metres / seconds
        if not SLOWEST_MS <= speed <= FASTEST_MS:
            reason = f"{metres:g} m in {seconds:.1f} s up to {mark_words(end[0])} would be {speed:.1f} m/s"
            raise self.refused(line, reason, "leave out the press that slipped, or look at the distances")

    def typed(self, value: Any) -> str:
        """Return the splits as somebody would type them, furlongs where they are exactly that."""
        return ", ".join(f"{_exactly(metres)} {seconds:g}" for metres, seconds in value or ())

    def said(self, value: Any, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- as the others
        """Return how far in which time, and the sections."""
        metres, seconds = value[-1]
        told = {"distance": mark_words(metres), "seconds": tenths(seconds), "sections": ", ".join(section_words(value))}
        if len(value) == 1:
            return _("%(distance)s in %(seconds)s s") % told
        return _("%(distance)s in %(seconds)s s (%(sections)s)") % told


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried(Field):
    """A weight, typed as 9-2, 58 kg or 128 lb; kept in kilograms."""

    longest: int = 20
    suggest: str = ""

    control = "line"
    numbers = True

    def parse(self, text: str) -> float:
        """Return kilograms."""
        try:
            mass = Weight.parse(text).kilograms
        except UnreadableError:
            raise self.refused(text, "it cannot be read as a weight", f"write it like {self.hint}") from None
        if not LIGHTEST_KG <= mass <= HEAVIEST_KG:
            reason = f"with tack it can be {LIGHTEST_KG:g} to {HEAVIEST_KG:g} kg"
            raise self.refused(text, reason, "weigh again, or say the unit")
        return round(mass, 1)

    def typed(self, value: Any) -> str:
        """Return kilograms with their unit."""
        return "" if value is None else f"{number_format(f'{value:g}')} kg"


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock(Choice):
    """What clocked a work: a thumb, where nothing else is said. What comes of it has the error of that clock."""

    def nothing(self) -> str:
        """Return the first that there is."""
        return next(iter(self.options))


def mark_words(metres: float) -> str:
    """Return a distance as 3f where it is whole furlongs, else in metres."""
    whole = round(metres / FURLONG_M)
    if whole and abs(metres - whole * FURLONG_M) <= _NEAR_M:
        return f"{whole}f"
    return f"{metres:.0f} m"


def section_words(splits: Splits) -> list[str]:
    """Return the seconds of each section; with its distance where sections are unlike."""
    steps = [(end[0] - begin[0], end[1] - begin[1]) for begin, end in pairwise([[0.0, 0.0], *splits])]
    alike = max(metres for metres, _ in steps) - min(metres for metres, _ in steps) <= 2 * _NEAR_M
    return [tenths(seconds) if alike else f"{mark_words(metres)} {tenths(seconds)}" for metres, seconds in steps]


def tenths(seconds: float) -> str:
    """Return seconds to a tenth, which is as far as a thumb goes."""
    exact = Decimal(f"{seconds:.2f}").quantize(Decimal("0.1"), ROUND_HALF_UP)
    return number_format(f"{exact}")


def _exactly(metres: float) -> str:
    whole = round(metres / FURLONG_M)
    return f"{whole}f" if whole and abs(metres - round(whole * FURLONG_M, 1)) < 0.05 else f"{metres:g} m"
