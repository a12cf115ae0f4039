"""What worked on a gallop, out of the recordings of trackers and by thumbs on stopwatches."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import nan
from typing import Any, Final

from upsides.books import clock
from upsides.books.diary.clocked import Clocked
from upsides.books.models import Outing
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.days import day_span, entries_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.stretches import Span, same_time, span_of
from upsides.books.queries.upsides import Partner
from upsides.books.queries.works import APART_S
from upsides.recordings.bouts.gaits import CANTER_FAST
from upsides.recordings.stopwatch import sections, splits_of
from upsides.recordings.work import Split, counts_by, fair

LOOKED_AT: Final = 4000
"""So many outings are looked through for them."""
STEADY: Final = frozenset({"easy", "steady"})
"""Ordered paces that are canters."""


@dataclass(frozen=True, slots=True)
class OnGallop:
    """A work on the gallop.

    Attributes:
        horse: its number.
        name: of the horse.
        when: when it began.
        source: tracker, or thumb.
        fast: whether it was fast work.
        metres: how far it is told to have gone, as everywhere (`Piece.told_m`).
        splits: the lengths between marks.
        speed_ms, speed_sd_ms: mean speed at pace and its standard error.
        forward: whether it went up the gallop's line.
        going: of the diary's entry on the gallop that day, "" for none.
        rider: number of the person, None where not known.
        recorded: number of the recording, None for none.
        entry: number of the diary's entry, None for none.
        adjusted_ms, adjusted_sd_ms: speed with the day taken out, and its error; NaN where that cannot be said.
        beside: works on that day that say what the day did.
        company: the horses that went upsides.
    """

    horse: int
    name: str
    when: datetime
    source: str
    fast: bool
    metres: float
    splits: tuple[Split, ...]
    speed_ms: float
    speed_sd_ms: float
    forward: bool = True
    going: str = ""
    rider: int | None = None
    recorded: int | None = None
    entry: int | None = None
    adjusted_ms: float = nan
    adjusted_sd_ms: float = nan
    beside: int = 0
    company: tuple[Partner, ...] = ()

    @property
    def counts(self) -> tuple[float, ...]:
        """What each of `splits` counts in its speed, from 0 to 1."""
        return counts_by(self.source, self.splits)

    @property
    def day(self) -> date:
        """The day in the yard."""
        return self.when.astimezone(clock.place().zone).date()


def last_before(moment: Moment, gallop: int, first: date) -> date | None:
    """Return the last day before one on which something worked on a gallop; None for none."""
    rows = moments.standing(Outing, moment).filter(day__lt=first).order_by("-began", "-pk")
    tracked = (day for day, works in rows.values_list("day", "measured__works")[:LOOKED_AT] if _on(gallop, works or []))
    clocked = moments.entries(moment).filter(kind=Clocked.name, happened_at__lt=day_span(first)[0])
    thumbs = (
        at.astimezone(clock.place().zone).date()
        for at, values in clocked.order_by("-happened_at").values_list("happened_at", "values")[:LOOKED_AT]
        if Clocked.kept_as(values).gallop == gallop
    )
    return max((day for day in (next(tracked, None), next(thumbs, None)) if day is not None), default=None)


def by_trackers(moment: Moment, gallop: int, first: date, last: date, most: int) -> tuple[list[OnGallop], date]:
    """Return the works by trackers, and the first of the days that were looked through as a whole.

    Of an outing only its works are read out of the database, and no more of them than are wanted.
    """
    rows = moments.standing(Outing, moment).filter(day__range=(first, last)).order_by("-day", "-began", "-pk")
    found: list[tuple[float, Span, OnGallop]] = []
    told = rows.values_list("horse_id", "recorded_id", "day", "metres", "measured__works")
    for so_far, (horse, recorded, day, metres, works) in enumerate(told[:LOOKED_AT], start=1):
        found += [(metres, span, one) for span, one in _of_outing(gallop, horse, recorded, works or [])]
        if so_far == LOOKED_AT or len(found) > 2 * most:
            return _once_each(found), min(day + timedelta(days=1), last)
    return _once_each(found), first


def _on(gallop: int, works: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    return [one for one in works if (one.get("gallop") or {}).get("number") == gallop]


def _once_each(found: Sequence[tuple[float, Span, OnGallop]]) -> list[OnGallop]:
    """Return works; of two of one horse by recordings of the same time that of the recording which shows more."""
    taken: dict[tuple[int, date], list[Span]] = {}
    kept = []
    for _metres, span, one in sorted(found, key=lambda each: each[0], reverse=True):
        others = taken.setdefault((one.horse, one.day), [])
        if not any(same_time([span], [other]) for other in others):
            others.append(span)
            kept.append(one)
    return kept


def _of_outing(
    gallop: int, horse: int, recorded: int | None, works: Sequence[dict[str, Any]]
) -> list[tuple[Span, OnGallop]]:
    found = []
    for piece in read({"works": _on(gallop, works)}).works:
        on = piece.gallop
        if on is None:
            continue
        when = datetime.fromtimestamp(piece.start_s, UTC)
        one = OnGallop(
            horse, "", when, "tracker", piece.kind == "fast", piece.told_m, fair(on.splits), piece.pace_ms,
            piece.speed_sd_ms, forward=on.forward, recorded=recorded,
        )  # fmt: skip
        found.append((span_of(piece.start_s, piece.seconds), one))
    return found


def by_thumb(moment: Moment, gallop: int, first: date, last: date) -> list[OnGallop]:
    """Return the works that a stopwatch had."""
    rows = entries_of(moment, [Clocked.name], first, last).order_by("-happened_at", "-pk")[:LOOKED_AT]
    found = []
    for entry in rows:
        said = Clocked.kept_as(entry.values)
        if said.gallop != gallop or entry.horse_id is None:
            continue
        clocked = sections(said.splits)
        splits = splits_of(clocked)
        seconds, metres = float(clocked.seconds.sum()), float(clocked.end_m[-1])
        speed, sd = metres / seconds, float(clocked.covariance.sum()) ** 0.5
        found.append(
            OnGallop(entry.horse_id, "", entry.happened_at, "thumb", was_fast(said.instruction, speed), metres,
                     splits, speed, speed * sd / seconds, rider=said.rider, entry=entry.pk)
        )  # fmt: skip
    return found


def was_fast(instruction: str | None, speed_ms: float) -> bool:
    """Say whether a work by thumb was fast: as it was ordered, by its speed where nobody said."""
    return instruction not in STEADY if instruction else speed_ms >= CANTER_FAST.down_ms


def known(one: OnGallop, tracked: Sequence[OnGallop]) -> bool:
    """Say whether a work by thumb is one that a tracker had."""
    return any(other.horse == one.horse and abs((other.when - one.when).total_seconds()) < APART_S for other in tracked)
