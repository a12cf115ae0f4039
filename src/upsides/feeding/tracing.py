"""Which horses ate which batch, for a feed that turns out contaminated."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from upsides.errors import BatchUnknownError, FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.feeding.stock import Batch, Fed

Sureness = Literal["only this batch was open", "others were open too", "no batch was written down as open"]

SURENESS: Final[tuple[Sureness, ...]] = (
    "only this batch was open",
    "others were open too",
    "no batch was written down as open",
)
"""Surest first."""


@dataclass(frozen=True, slots=True)
class Eater:
    """A horse that ate a batch, or may have.

    Attributes:
        horse: its name.
        first, last: days between which it did.
        days: how many.
        kg: how much of the feed it had on those days; at most so much of the batch.
        sureness: on its surest day.
    """

    horse: str
    first: date
    last: date
    days: int
    kg: float
    sureness: Sureness


def who_ate(batch: Batch, batches: Iterable[Batch], fed: Iterable[Fed], first: date, last: date) -> tuple[Eater, ...]:
    """Return every horse that ate a batch between two days or may have, both days included, by name.

    A horse counts on each day on which it was fed the feed while the batch stood open; also, because a forgotten note
    must hide nobody, on each day on which the batch was in store, not finished, and no batch was written down as open.

    Args:
        batch: the one in question.
        batches: all deliveries.
        fed: what horses were fed; see `fed_between`.
        first: the first day.
        last: the last day.

    Raises:
        BatchUnknownError: it is not among the deliveries.
        FeedingRefusedError: the last day lies before the first.
    """
    every = [other for other in batches if other.feed == batch.feed]
    if batch not in every:
        raise BatchUnknownError(batch.feed, batch.number)
    if last < first:
        raise FeedingRefusedError(
            _("last day"), last, _("it lies before {first}", first=first), _("turn the days round")
        )
    rows: dict[str, list[tuple[Fed, Sureness]]] = {}
    for row in fed:
        if row.feed == batch.feed and row.kg > 0 and first <= row.day <= last:
            sure = _sure(row.day, batch, every)
            if sure:
                rows.setdefault(row.horse, []).append((row, sure))
    return tuple(_eater(horse, rows[horse]) for horse in sorted(rows))


def _sure(day: date, batch: Batch, every: list[Batch]) -> Sureness | None:
    """Return how surely the batch was fed on a day, None where it was not."""
    open_ones = [other for other in every if other.open_on(day)]
    if batch in open_ones:
        return "only this batch was open" if len(open_ones) == 1 else "others were open too"
    in_store = batch.delivered <= day and (batch.finished is None or day <= batch.finished)
    return "no batch was written down as open" if in_store and not open_ones else None


def _eater(horse: str, rows: list[tuple[Fed, Sureness]]) -> Eater:
    days = {row.day for row, _ in rows}
    surest = min((sure for _, sure in rows), key=SURENESS.index)
    return Eater(horse, min(days), max(days), len(days), sum(row.kg for row, _ in rows), surest)
