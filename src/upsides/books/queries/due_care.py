"""Courses that end, days that vet, farrier and dentist named, egg counts and wormers."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from upsides.books.queries.due_kinds import Asking, Due, DueKind
from upsides.books.queries.given import Given
from upsides.rules import add_months

EARLY: Final = timedelta(days=3)
"""Whoever comes so many days before the day that was named has come for it (our reading)."""
QUARTER: Final = 3
"""Months after which eggs are counted again (common practice, no source)."""
MANY_EGGS: Final = 200
"""Eggs a gram from which a wormer is often thought of (common practice, no source); the vet says."""
AGAIN: Final = {"vet_finding": DueKind.VET, "farrier": DueKind.FARRIER, "teeth": DueKind.TEETH}
"""Kinds of entries that may name a day on which somebody comes again."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A row of the diary.

    Args:
        number: of the entry.
        kind: of entry.
        horse: number of the horse.
        on: the day.
        values: as they are kept.
    """

    number: int
    kind: str
    horse: int
    on: date
    values: Mapping[str, Any]


def courses(asking: Asking, treated: Iterable[Given]) -> Iterator[Due]:
    """Yield the courses that end, each once although it is entered with every dose."""
    ends = {(one.horse, one.treatment.product.casefold(), one.last): one for one in treated if one.treatment.course_end}
    for one in ends.values():
        if asking.day <= one.last <= asking.until and one.horse in asking.names:
            name = asking.names[one.horse]
            yield Due(DueKind.COURSE_ENDS, one.horse, name, one.last, entry=one.number, text=one.treatment.product)


def again(asking: Asking, facts: Iterable[Fact]) -> Iterator[Due]:
    """Yield the last day that each of vet, farrier and dentist named, unless one has come for it.

    Args:
        asking: what is asked about.
        facts: entries of the kinds of `AGAIN`, in the order in which they were so.
    """
    rows: dict[tuple[str, int], list[Fact]] = {}
    for fact in facts:
        rows.setdefault((fact.kind, fact.horse), []).append(fact)
    for (kind, horse), own in rows.items():
        named = next((fact for fact in reversed(own) if fact.values.get("again")), None)
        if named is None or horse not in asking.names:
            continue
        last = date.fromisoformat(named.values["again"])
        came = any(fact.on > named.on and fact.on >= last - EARLY for fact in own)
        if last <= asking.until and not came:
            text = str(named.values.get("text") or "")
            yield Due(AGAIN[kind], horse, asking.names[horse], last, entry=named.number, text=text)


def worms(asking: Asking, facts: Iterable[Fact]) -> Iterator[Due]:
    """Yield egg counts that are older than a quarter, and high ones after which no wormer was entered.

    Args:
        asking: what is asked about.
        facts: egg counts and wormers, in the order in which they were so.
    """
    last = {(fact.kind, fact.horse): fact for fact in facts}
    for (kind, horse), fact in last.items():
        if kind != "egg_count" or horse not in asking.names:
            continue
        name, count, wormed = asking.names[horse], float(fact.values["epg"]), last.get(("worming", horse))
        due = add_months(fact.on, QUARTER)
        if due <= asking.until:
            yield Due(DueKind.EGG_COUNT, horse, name, due, entry=fact.number, count=count)
        if count >= MANY_EGGS and (wormed is None or wormed.on < fact.on):
            yield Due(DueKind.WORMING, horse, name, asking.day, fact.on, fact.number, count=count)
