"""What can be due, and what the lists are made from."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from upsides.books.models import Engagement
from upsides.books.queries.given import Reason
from upsides.rules import DoseWindow, Overrides, VaccinationRecord


class DueKind(StrEnum):
    """What is due."""

    VACCINATION = "vaccination"
    BOOSTER_BETWEEN = "booster between"
    COURSE_ENDS = "course ends"
    VET = "vet"
    FARRIER = "farrier"
    TEETH = "teeth"
    EGG_COUNT = "egg count"
    WORMING = "worming"
    STAND_DOWN = "stand-down"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing that is due.

    Args:
        kind: what.
        horse: number of the horse.
        name: its name.
        last: the day by which it is due; of a stand-down the first day after it; None for "now".
        since: the day from which it may be done, None where that is any.
        entry: number of the entry that it comes from, None where there is none.
        text: product or reason as it was entered, or the disease; empty where there is none.
        record: the vaccination record.
        best: stretches of days on which the dose suits every engagement.
        engagements: races of the horse that it touches.
        reason: the stand-down, and what it follows.
        count: of an egg count, eggs a gram.
    """

    kind: DueKind
    horse: int
    name: str
    last: date | None
    since: date | None = None
    entry: int | None = None
    text: str = ""
    record: VaccinationRecord | None = None
    best: tuple[DoseWindow, ...] = ()
    engagements: tuple[Engagement, ...] = ()
    reason: Reason | None = None
    count: float | None = None

    def overdue(self, day: date) -> bool:
        """Return whether it should have been done before a day."""
        return self.kind is not DueKind.STAND_DOWN and (self.last is None or self.last < day)


@dataclass(frozen=True, slots=True)
class DueList:
    """What is due over the yard.

    Args:
        items: overdue first, then by the last day.
        place: whose rules on vaccination were asked.
        diseases: what they ask vaccination against; empty where no rule is known there.
        undosed: number and name of the horses of which no dose at all is entered.
        uncounted: number and name of the horses without an egg count in the days looked back.
    """

    items: tuple[Due, ...]
    place: str
    diseases: tuple[str, ...]
    undosed: tuple[tuple[int, str], ...]
    uncounted: tuple[tuple[int, str], ...]

    def __iter__(self) -> Iterator[Due]:
        return iter(self.items)

    def __len__(self) -> int:
        return len(self.items)


@dataclass(frozen=True, slots=True)
class Asking:
    """What is asked about.

    Args:
        day: the day.
        until: the last day ahead.
        names: the yard's horses, by number.
        place: the yard's jurisdiction.
        overrides: its own rules.
        ahead: the engagements of each horse.
    """

    day: date
    until: date
    names: Mapping[int, str]
    place: str
    overrides: Overrides
    ahead: Mapping[int, list[Engagement]] = field(default_factory=dict)
