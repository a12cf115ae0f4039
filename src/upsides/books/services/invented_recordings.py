"""Entering the recordings of an invented yard: real files of its last days, and what was measured before."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

import polars as pl
from django.db import transaction

from upsides.books.models import Gallop, Horse, Outing, Person, Recorded, Tracker, Yard
from upsides.books.outings import kept, kept_messages, read
from upsides.books.queries import moments
from upsides.books.queries.gallops import lines
from upsides.books.queries.results import keyed
from upsides.books.recordings.inventing import as_came, made_and_read, together
from upsides.books.recordings.reading import Reader
from upsides.books.recordings.session import Session as Came
from upsides.books.services.histories import MANY, enter
from upsides.compute import Ledger, each, processes, serial
from upsides.demo import Books, Invented
from upsides.demo.tracked.drawing import drawn
from upsides.demo.tracked.session import Session
from upsides.recordings.measured import Measured

Told = Callable[[float, str], None]
MANY_FILES: Final = 100
"""From so many mornings on it pays to start processes for them."""
PROCESSES: Final = 2
_SENT_AFTER: Final = timedelta(hours=2)
"""So long after a horse pulled out its tracker's file came in."""
_APART: Final = timedelta(seconds=1)


def unheard(_share: float, _doing: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class _Morning:
    """A morning with what came of it.

    Args:
        session: what was done.
        known: whether the yard knows whose it is.
        came: what was read of its file, None where there is none.
    """

    session: Session
    known: bool
    came: Came | None = None


def load_recordings(
    invented: Invented, library: Path, books: Books, *, every_file: bool = False, progress: Told = unheard
) -> bool:
    """Make and read the files of the invented yard's trackers, and enter them; all of it or nothing.

    Files that were read before it was stopped are not made again.

    Args:
        invented: the world.
        library: folder of the library, in which files and tracks are kept.
        books: what the yard has in its books, which are entered.
        every_file: whether files are made for every morning, not for the last days only.
        progress: told what share of the files is read, and which was last.

    Returns:
        Whether they were entered: a yard that is not this one, or that has trackers, stays as it is.
    """
    ours = Yard.objects.filter(name=invented.yard.name, fixed_day=invented.today)
    if Tracker.objects.exists() or not ours.exists():
        return False
    rows = books.outings.to_dicts()
    mornings = [_Morning(Session.of_row(invented.seed, row), row["known"]) for row in rows]
    filed = [one for one, row in zip(mornings, rows, strict=True) if row["lately"] or (every_file and row["serial"])]
    done = library / f"invented-{invented.seed}.ledger"
    came = _made(library, [one.session for one in filed], done, progress)
    told = [_Morning(one.session, one.known, came.get(one.session.file)) for one in mornings]
    _enter(invented, library, books, told)
    done.unlink(missing_ok=True)
    return True


def _made(library: Path, sessions: Sequence[Session], done: Path, progress: Told) -> dict[str, Came]:
    """Make the files of mornings, keep them as originals, and read them; by the name of the file."""
    reader, mornings = Reader(library, lines(moments.now())), together(sessions)
    found: dict[str, Came] = {}
    with processes(PROCESSES) if len(mornings) >= MANY_FILES else serial() as executor:
        for name, told in each(executor, partial(made_and_read, reader, mornings), list(mornings), Ledger(done)):
            found |= {one.file: one for one in map(as_came, told)}
            progress(len(found) / len(sessions), name)
    return found


@transaction.atomic
def _enter(invented: Invented, library: Path, books: Books, told: Sequence[_Morning]) -> None:
    horses, numbers = _horses(library, books), dict(Gallop.objects.values_list("name", "pk"))
    trackers = _trackers(books.trackers, horses, told)
    by = Person.objects.filter(posts__role="assistant").order_by("pk").first()
    zone, stamp = ZoneInfo(invented.yard.zone), datetime.min.replace(tzinfo=UTC)
    recorded: list[Recorded] = []
    outings: list[Outing] = []
    for one in sorted(told, key=lambda each: each.session.pulled_out):
        stamp = max(one.session.pulled_out + _SENT_AFTER, stamp + _APART)
        file = None if one.came is None else _recorded(one.came, trackers[one.session.serial], by, stamp)
        recorded += [file] if file else []
        measured = read(one.came.measured or {}) if one.came else drawn(one.session, numbers)
        if one.known and measured.bouts:
            outings.append(_outing(one.session, horses[one.session.source_horse], measured, file, stamp, zone))
    Recorded.objects.bulk_create(recorded, batch_size=MANY)
    Outing.objects.bulk_create(outings, batch_size=MANY)


def _horses(library: Path, books: Books) -> dict[str, Horse]:
    named = keyed(library, books.horses).select("source_horse", "horse_key")
    by_key = {horse.horse_key: horse for horse in Horse.objects.all()}
    return {source: by_key[key] for source, key in named.rows()}


def _trackers(rows: pl.DataFrame, horses: Mapping[str, Horse], told: Sequence[_Morning]) -> dict[str, Tracker]:
    """Enter the trackers, by the serial numbers that their files hold, and return them by the numbers alone."""
    makers = {one.session.serial: one.came.device.maker for one in told if one.came is not None}
    made = [
        Tracker(
            serial=f"{makers.get(row['serial'], '')} {row['serial']}".strip(),
            name=row["name"],
            horse=horses[row["source_horse"]] if row["source_horse"] else None,
        )
        for row in rows.to_dicts()
    ]
    entered = enter(made, lambda _: rows["since"][0])
    return dict(zip(rows["serial"], entered, strict=True))


def _recorded(came: Came, tracker: Tracker, by: Person | None, stamp: datetime) -> Recorded:
    return Recorded(
        sha256=came.sha,
        part=came.part,
        file=came.file,
        format=came.format,
        size=came.size,
        tracker=tracker,
        sport=came.sport,
        began=None if came.began_s is None else datetime.fromtimestamp(came.began_s, UTC),
        ended=None if came.ended_s is None else datetime.fromtimestamp(came.ended_s, UTC),
        fixes=came.fixes,
        messages=kept_messages(came.messages),
        by=by,
        recorded_at=stamp,
    )


def _outing(
    session: Session, horse: Horse, measured: Measured, file: Recorded | None, stamp: datetime, zone: ZoneInfo
) -> Outing:
    began = file.began if file is not None and file.began is not None else session.pulled_out
    return Outing(
        recorded=file,
        horse=horse,
        day=began.astimezone(zone).date(),
        began=began,
        matched=Outing.Matched.TRACKER,
        metres=measured.metres,
        fast_m=measured.fast_m,
        measured=kept(measured),
        recorded_at=stamp,
    )
