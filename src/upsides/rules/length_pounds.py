"""What a length is worth in weight, by distance."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Entry, Rule, Ruled
from upsides.trade.units import FURLONG_M, POUND_KG

TOPIC: Final = "pounds per length"
POINTS: Final = "points"
SMOOTH: Final = "15 over furlongs"


def pounds_per_length(
    distance_m: float,
    on: date,
    *,
    jurisdiction: str = "Britain",
    code: str = "flat",
    scale: str = POINTS,
    overrides: Overrides = NONE,
) -> Ruled:
    """Return the pounds that one length is worth.

    Britain's published points are joined by straight lines over furlongs and level beyond the outermost; the
    rule of an answer at a point is the point's own, in between it is marked derived.

    Args:
        distance_m: distance in metres.
        on: day of the race.
        jurisdiction: a name or country code.
        code: "flat" or "jumps".
        scale: "points", or "15 over furlongs" for the smooth rule from memory.
        overrides: the yard's own rules.

    Raises:
        NoRuleError: nothing is in force.
        UnreadableError: the distance is not above 0.
    """
    entry = _entry(on, jurisdiction, code, scale, overrides)
    value = float(_pounds(entry, _positive(distance_m))[0])
    return Ruled(value, "lb", _rule_at(entry, distance_m))


def pounds_per_length_array(
    distance_m: ArrayLike,
    on: date,
    *,
    jurisdiction: str = "Britain",
    code: str = "flat",
    scale: str = POINTS,
    overrides: Overrides = NONE,
) -> tuple[NDArray[np.float64], Rule]:
    """Return the pounds that one length is worth in many races, (n,), and the rule; see `pounds_per_length`.

    Raises:
        NoRuleError: nothing is in force.
        UnreadableError: a distance is not above 0.
    """
    entry = _entry(on, jurisdiction, code, scale, overrides)
    return _pounds(entry, _positive(distance_m)), entry.rule


def _entry(on: date, jurisdiction: str, code: str, scale: str, overrides: Overrides) -> Entry:
    def wanted(body: Mapping[str, Any]) -> bool:
        return (body["code"], body["scale"]) == (code, scale)

    return in_force(TOPIC, jurisdiction, on, overrides, wanted)[0]


def _positive(distance_m: ArrayLike) -> NDArray[np.float64]:
    metres = np.atleast_1d(np.asarray(distance_m, dtype=np.float64))
    bad = ~(np.isfinite(metres) & (metres > 0))
    if bad.any():
        raise UnreadableError("distance", float(metres[bad][0]), _("1609.344 (metres, above 0)"))
    return metres


def _pounds(entry: Entry, metres: NDArray[np.float64]) -> NDArray[np.float64]:
    body = entry.body
    value: NDArray[np.float64]
    furlongs = metres / FURLONG_M
    if "points" in body:
        at = [point["furlongs"] for point in body["points"]]
        value = np.interp(furlongs, at, [point["value"] for point in body["points"]])
    elif "numerator" in body:
        value = float(body["numerator"]) / furlongs
    else:
        value = np.full(metres.shape, float(body["value"]))
    return value / POUND_KG if body["unit"] == "kg" else value


def _rule_at(entry: Entry, metres: float) -> Rule:
    for point in entry.body.get("points", ()):
        if "source" in point and abs(point["furlongs"] * FURLONG_M - metres) <= 0.5:
            return replace(entry.rule, source=point["source"], confidence=point["confidence"])
    return entry.rule
