"""What stood before a line of a wording, by which it is understood: a heading, a day, the line it goes on from."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.placing.conditions.cursor import Cursor
from upsides.placing.conditions.who import Record
from upsides.placing.kinds import RunKind
from upsides.placing.race import Build
from upsides.trade.age import AgeRange

LEAST_BASE: Final = {"lb": 80.0, "kg": 38.0}
"""From here on a weight is one to carry, not an allowance or a penalty."""


@dataclass(frozen=True, slots=True)
class Context:
    """What stood before.

    Attributes:
        section: weights, penalties, allowances, or "" before any heading.
        first: day from which penalties count by their heading.
        since_weights: whether they count from the publication of the weights by it.
        ages, builds: of the weight line before.
        ladder: record of the allowance line before.
        such: what "two such races" means after a penalty line; None where none says it, or one says it two ways.
    """

    section: str = ""
    first: date | None = None
    since_weights: bool = False
    ages: AgeRange | None = None
    builds: frozenset[Build] | None = None
    ladder: Record | None = None
    such: RunKind | None = None


Line = tuple[tuple[object, ...], Context]
LineForm = Callable[[Cursor, Context], Line | None]
