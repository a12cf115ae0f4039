"""Recordings: their tracks, and those of which nobody knows the horse."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db.models import QuerySet

from upsides.books.models import Outing, Recorded, SetAside, Tracker
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.gallops import lines
from upsides.books.queries.moments import Moment
from upsides.books.queries.whose import Candidate, candidates, unclaimed_of
from upsides.books.recordings.tracks import kept_measured, kept_track
from upsides.recordings.measured import Measured
from upsides.recordings.track import Track

MOST = 100
"""So many recordings that wait are looked into; nobody reads a longer list."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """A recording of which nobody knows the horse.

    Args:
        recorded: its row.
        measured: what it shows, None where its track is gone.
        offered: those that it may be of, the likeliest first.
    """

    recorded: Recorded
    measured: Measured | None
    offered: tuple[Candidate, ...]


def recordings(moment: Moment) -> QuerySet[Recorded]:
    """Return the recordings that had come in, the last first."""
    found = Recorded.objects.select_related("tracker", "by")
    return found if moment.at is None else found.filter(recorded_at__lte=moment.at)


def as_worn(moment: Moment, rows: Iterable[Recorded]) -> list[Recorded]:
    """Return recordings with their trackers as these were called and worn at the moment."""
    found = list(rows)
    if moment.at is not None:
        worn = {row.tracker_id for row in found if row.tracker_id is not None}
        then = {tracker.pk: tracker for tracker in moments.rows(Tracker, moment).filter(id__in=worn)}
        for row in found:
            row.tracker = then.get(row.tracker_id or 0)
    return found


def unclaimed(moment: Moment) -> QuerySet[Recorded]:
    """Return the recordings that show something, are no horse's and are not set aside, the last first."""
    given = moments.standing(Outing, moment).exclude(recorded=None).values("recorded")
    return recordings(moment).exclude(began=None).exclude(pk__in=given).exclude(pk__in=set_aside(moment))


def set_aside(moment: Moment) -> frozenset[int]:
    """Return the numbers of the recordings that are set aside, because they are of no horse."""
    rows = SetAside.objects.order_by("pk")
    said = dict((rows if moment.at is None else rows.filter(recorded_at__lte=moment.at)).values_list("recorded", "on"))
    return frozenset(number for number, on in said.items() if on)


def waiting(moment: Moment, most: int = MOST) -> list[Waiting]:
    """Return the recordings that wait for a horse, the last first, each with those that it may be of."""
    return [_waiting(moment, one) for one in as_worn(moment, unclaimed(moment)[:most])]


def track_of(recorded: Recorded) -> tuple[Track, Measured]:
    """Return a recording's track, made again where its file is gone, and what was measured when it was read.

    Raises:
        OriginalMissingError: the file of the recording is gone as well.
        RecordingRefusedError: it has no track.
    """
    folder = Path(settings.UPSIDES_LIBRARY)
    found = kept_track(folder, recorded.sha256, recorded.part)
    if found is None:
        from upsides.books.recordings.reading import again  # it loads compiled code, which is hardly ever needed here

        found = again(folder, recorded.sha256, recorded.part, recorded.file, recorded.recorded_at, lines(moments.now()))
    return found[0], read(found[1])


def _waiting(moment: Moment, one: Recorded) -> Waiting:
    kept: dict[str, Any] | None = kept_measured(Path(settings.UPSIDES_LIBRARY), one.sha256, one.part)
    measured = read(kept) if kept is not None else None
    asked = unclaimed_of(one, measured)
    return Waiting(one, measured, candidates(moment, asked) if asked is not None else ())
