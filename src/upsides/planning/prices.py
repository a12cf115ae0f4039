"""What departing from each wish costs, in minutes; read from a file that a yard may edit."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from math import isfinite
from pathlib import Path
from typing import Any, Final

from upsides.errors import MorningRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.morning import Young
from upsides.planning.summed import Summed

SHIPPED: Final = Path(__file__).parent / "data" / "lots.toml"


@dataclass(frozen=True, slots=True)
class Parts(Summed):
    """A number for each wish: its price in minutes, how often it was departed from, or what that came to.

    Attributes:
        usual: a horse ridden by another than its usual rider.
        awkward: a point of awkwardness above a rider's fair share.
        saddle: a further saddle that a rider needs.
        barn_order: a lot between the one that a horse goes in and the one that the order of the barns gives it.
        walker: a horse left on the walker.
        change_rider: a horse with another rider than in the plan that stands.
        change_lot: a horse in another lot than in the plan that stands.
    """

    usual: float = 0.0
    awkward: float = 0.0
    saddle: float = 0.0
    barn_order: float = 0.0
    walker: float = 0.0
    change_rider: float = 0.0
    change_lot: float = 0.0


PARTS: Final = tuple(one.name for one in fields(Parts))
CHANGES: Final = ("walker", "change_rider", "change_lot")
"""What people notice of a plan that was changed."""


def changes_only(prices: Parts) -> Parts:
    """Return the prices of what people notice when a plan is changed, all others nothing."""
    return Parts(**{part: getattr(prices, part) for part in CHANGES})


def read_settings(path: Path = SHIPPED) -> tuple[Parts, Young]:
    """Return prices and the limits of the young from a file laid out as the shipped one.

    Raises:
        MorningRefusedError: the file cannot be read, or a value in it cannot be.
    """
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as trouble:
        raise MorningRefusedError(
            _("prices of lots"), path, str(trouble), _("lay it out as the shipped file")
        ) from None
    prices, young = _table(found, "price"), _table(found, "young")
    if unknown := set(prices) - set(PARTS):
        raise MorningRefusedError(
            "price", sorted(unknown)[0], _("there is no such wish"), _("name {parts}", parts=", ".join(PARTS))
        )
    return (
        Parts(**{part: _minutes(part, prices.get(part, {})) for part in PARTS}),
        Young(
            _whole(_("most lots"), young.get("lots")),
            _whole(_("most skill"), young.get("asks")),
            _whole(_("earliest minute"), young.get("earliest")),
            frozenset(map(str, young.get("exercises", ()))),
        ),
    )


def _table(found: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = found.get(name)
    if not isinstance(table, dict):
        raise MorningRefusedError(
            _("prices of lots"), name, _("this table is missing"), _("lay it out as the shipped file")
        )
    return table


def _minutes(part: str, row: object) -> float:
    value = row.get("minutes") if isinstance(row, dict) else None
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value) or value < 0:
        raise MorningRefusedError(
            _("price of {part}", part=part), value, _("it is no number of minutes"), _("give 0 or more minutes")
        )
    return float(value)


def _whole(field: str, value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise MorningRefusedError(
            _("young riders, {field}", field=field), value, _("it is no whole number"), _("give 0 or more")
        )
    return value
