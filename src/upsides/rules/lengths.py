"""Lengths and seconds: how many lengths make a second, by date, code, surface and going."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.errors import UnreadableError
from upsides.rules.lookup import NONE, Overrides, candidates, in_force, spans
from upsides.rules.rule import Rule, Ruled
from upsides.rules.slowness import SLOWNESS, slowness

TOPIC: Final = "lengths per second"


def lengths_per_second(
    jurisdiction: str,
    on: date,
    *,
    code: str = "flat",
    surface: str = "turf",
    going: str = "good",
    overrides: Overrides = NONE,
) -> Ruled:
    """Return the lengths that make a second.

    Args:
        jurisdiction: a name or country code.
        on: day of the race.
        code: "flat" or "jumps".
        surface: "turf", "dirt", "synthetic" (waxed) or "unwaxed synthetic".
        going: the official going of the straight as written, e.g. "good, good to soft in places".
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force for that code and surface.
        UnreadableError: the going matters and has no known word in it.
    """

    def wanted(body: Mapping[str, Any]) -> bool:
        return body["code"] == code and surface in body["surfaces"]

    entry = in_force(TOPIC, jurisdiction, on, overrides, wanted)[0]
    steps = entry.body["values"]
    if len(steps) == 1:
        return Ruled(float(steps[0]["value"]), "lengths/s", entry.rule)
    slow = slowness(going, entry.body["judged_by"])
    step = next((step for step in steps if slow <= SLOWNESS[step["down_to"]]), steps[-1])
    return Ruled(float(step["value"]), "lengths/s", entry.rule)


def lengths_from_seconds(seconds: float, per_second: float) -> float:
    """Return the lengths that a gap in time makes: seconds times lengths per second.

    Source: British Horseracing Authority, answer on how distances are calculated, 29 April 2014.
    """
    return seconds * per_second


def seconds_from_lengths(lengths: float, per_second: float) -> float:
    """Return the gap in time behind a distance in lengths; the inverse of `lengths_from_seconds`."""
    return lengths / per_second


@dataclass(frozen=True, slots=True)
class GoingReport:
    """What became of an array of races: how many had a going that could not be read, and the rules used."""

    rows: int
    unread: int
    rules: tuple[Rule, ...]

    def __str__(self) -> str:
        return f"lengths per second: {self.unread} of {self.rows} races had no readable going; taken as good"


def lengths_per_second_array(
    jurisdiction: str,
    dates: ArrayLike,
    *,
    surface: ArrayLike,
    going: ArrayLike,
    code: str = "flat",
    overrides: Overrides = NONE,
) -> tuple[NDArray[np.float64], GoingReport]:
    """Return the lengths that make a second in many races.

    A going that cannot be read counts as good and is reported.

    Args:
        jurisdiction: a name or country code, the same for all.
        dates: (n,) days (datetime64).
        surface: (n,) or one text, as in `lengths_per_second`.
        going: (n,) or one text.
        code: "flat" or "jumps", the same for all.
        overrides: the yard's own rules.

    Returns:
        (n,) lengths a second, never NaN, and the report.

    Raises:
        NoRuleError: nothing is in force for one of the races.
    """
    days = np.atleast_1d(np.asarray(dates, dtype="datetime64[D]"))
    heads, span = spans(candidates(TOPIC, jurisdiction, overrides), days)
    surfaces, of_surface = _distinct(surface, days.size)
    goings, of_going = _distinct(going, days.size)
    keys, of_race = np.unique((span * len(surfaces) + of_surface) * len(goings) + of_going, return_inverse=True)
    values, unread = np.empty(keys.size), np.zeros(keys.size, dtype=bool)
    rules: dict[Rule, None] = {}
    for i, key in enumerate(keys):
        rest, g = divmod(int(key), len(goings))
        s, p = divmod(rest, len(surfaces))
        found, unread[i] = _or_good(jurisdiction, heads[s], code, surfaces[p], goings[g], overrides)
        values[i], rules[found.rule] = found.value, None
    report = GoingReport(days.size, int(unread[of_race].sum()), tuple(rules))
    return values[of_race], report


def _distinct(texts: ArrayLike, size: int) -> tuple[list[str], NDArray[np.intp]]:
    wide = np.broadcast_to(np.asarray(texts, dtype=str), (size,))
    distinct, index = np.unique(wide, return_inverse=True)
    return [str(text) for text in distinct], index


def _or_good(
    jurisdiction: str, on: date, code: str, surface: str, going: str, overrides: Overrides
) -> tuple[Ruled, bool]:
    def ask(word: str) -> Ruled:
        return lengths_per_second(jurisdiction, on, code=code, surface=surface, going=word, overrides=overrides)

    try:
        return ask(going), False
    except UnreadableError:
        return ask("good"), True
