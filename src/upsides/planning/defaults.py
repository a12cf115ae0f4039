"""What is assumed of a morning where nothing else says it: lots, gallops, awkward rides, the walker, single horses."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from upsides.errors import MorningRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.morning import Lot
from upsides.planning.prices import SHIPPED

STEPS: Final = 5
"""Steps of the scale of skill, from none."""
GRACE: Final = 20
"""Minutes, where a yard's own file says nothing of it."""


@dataclass(frozen=True, slots=True)
class OfHorse:
    """What a file says of a horse: the heaviest rider in kg, whether it is kept apart, its saddle; None: not said."""

    carries_kg: float | None = None
    apart: bool | None = None
    saddle: str = ""


@dataclass(frozen=True, slots=True)
class Defaults:
    """What is assumed where the books say nothing.

    Attributes:
        count, first, minutes, every, most: lots; the first pulls out at `first`, minutes after midnight, each lasts
            `minutes`, the next pulls out `every` minutes later, and has at most `most` horses.
        grace: minutes after its time by which a lot has pulled out although nothing of it is written as done.
        gallop_most: the most horses on a gallop in one lot; `gallops` by name where it is another number.
        points: of awkwardness by the skill that is asked for.
        walker: exercises that may be done on the walker instead.
        horses: by name.
    """

    count: int
    first: int
    minutes: int
    every: int
    most: int
    gallop_most: int
    points: tuple[int, ...]
    walker: frozenset[str]
    gallops: Mapping[str, int] = field(default_factory=dict)
    horses: Mapping[str, OfHorse] = field(default_factory=dict)
    grace: int = GRACE

    def lot(self, number: int) -> Lot:
        """Return a lot with its times, from its number, which counts from 1."""
        starts = self.first + (number - 1) * self.every
        return Lot(number, starts, starts + self.minutes, self.most)

    def gone_after(self, number: int) -> int:
        """Return after which minute a lot counts as gone by the clock."""
        return self.lot(number).starts + self.grace


def read_defaults(path: Path = SHIPPED) -> Defaults:
    """Return what is assumed, from a file laid out as the shipped one.

    Raises:
        MorningRefusedError: the file cannot be read, or a value in it cannot be.
    """
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as trouble:
        raise MorningRefusedError("lots", path, str(trouble), _("lay it out as the shipped file")) from None
    lots, gallops, awkward = _table(found, "lots"), _table(found, "gallops"), _table(found, "awkward")
    points = awkward.get("points")
    if not isinstance(points, list) or len(points) != STEPS:
        raise MorningRefusedError(
            _("awkward points"), points, _("each step of skill has some"), _("give five, from 0 up")
        )
    return Defaults(
        count=_whole(_("lots, count"), lots.get("count"), least=1),
        first=_whole(_("lots, first"), lots.get("first"), least=0),
        minutes=_whole(_("lots, minutes"), lots.get("minutes"), least=1),
        every=_whole(_("lots, every"), lots.get("every"), least=1),
        most=_whole(_("lots, most"), lots.get("most"), least=1),
        gallop_most=_whole(_("gallops, most"), gallops.get("most"), least=0),
        points=tuple(_whole(_("awkward points"), one, least=0) for one in points),
        walker=frozenset(map(str, _table(found, "walker").get("instead_of", ()))),
        gallops={
            name: _whole(_("most on {name}", name=name), most, least=0)
            for name, most in _table(found.get("gallop", {"most": {}}), "most").items()
        },
        horses={name: _horse(name, row) for name, row in found.get("horse", {}).items()},
        grace=_whole(_("lots, grace"), lots.get("grace", GRACE), least=0),
    )


def _table(found: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = found.get(name)
    if not isinstance(table, dict):
        raise MorningRefusedError("lots", name, _("this table is missing"), _("lay it out as the shipped file"))
    return table


def _whole(at: str, value: object, least: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < least:
        raise MorningRefusedError(
            at, value, _("it is no such number"), _("give a whole number from {least}", least=least)
        )
    return value


def _horse(name: str, row: object) -> OfHorse:
    told: dict[str, Any] = row if isinstance(row, dict) else {"": row}
    if unknown := set(told) - {"carries_kg", "apart", "saddle"}:
        raise MorningRefusedError(name, sorted(unknown)[0], _("no such word"), _("say carries_kg, apart or saddle"))
    carries = told.get("carries_kg")
    if carries is not None and (isinstance(carries, bool) or not isinstance(carries, int | float) or not carries > 0):
        raise MorningRefusedError(
            _("{name}, carries_kg", name=name), carries, _("nobody is that light"), _("give kg, or leave it out")
        )
    if not isinstance(told.get("apart", False), bool):
        raise MorningRefusedError(
            _("{name}, apart", name=name), told["apart"], _("it is neither true nor false"), _("say true or false")
        )
    return OfHorse(None if carries is None else float(carries), told.get("apart"), str(told.get("saddle", "")))
