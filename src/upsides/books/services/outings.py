"""Writes of recordings and outings: each recording once, its horse where that is plain, and corrections."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import transaction

from upsides.books import clock
from upsides.books.models import Horse, Outing, Person, Recorded, SetAside, Tracker, Yard
from upsides.books.outings import kept_messages, plain, read
from upsides.books.queries import moments
from upsides.books.queries.gallops import lines
from upsides.books.queries.whose import AHEAD, unclaimed_of, whose
from upsides.books.recordings.session import Session
from upsides.books.recordings.tracks import kept_track
from upsides.books.services.diary import next_stamp
from upsides.errors import GivenError, NotGivenError, NothingMeasuredError
from upsides.recordings.recording import Device, Message

LONGEST_FILE, LONGEST_SPORT, LONGEST_SERIAL = 200, 60, 60


@dataclass(frozen=True, slots=True)
class Entered:
    """What became of a session.

    Args:
        recorded: its row.
        outing: what its horse did by it, None where its horse is not known.
        fresh: whether it was not in the books before.
    """

    recorded: Recorded
    outing: Outing | None
    fresh: bool


@transaction.atomic
def enter(session: Session, by: Person | None = None) -> Entered:
    """Enter a session that was read, and what its horse did where that is plain; one that is there is found.

    Args:
        session: as read; its track is written.
        by: who gave it, None for a device or a folder.

    Raises:
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    before = Recorded.objects.filter(sha256=session.sha, part=session.part).first()
    if before is not None:
        return Entered(before, standing_of(before), fresh=False)
    stamp = next_stamp(yard)
    recorded = Recorded.objects.create(
        sha256=session.sha,
        part=session.part,
        file=plain(session.file)[-LONGEST_FILE:],
        format=session.format,
        size=session.size,
        tracker=_tracker(session.device),
        sport=plain(session.sport)[:LONGEST_SPORT],
        began=_moment(session.began_s),
        ended=_moment(session.ended_s),
        fixes=session.fixes,
        messages=kept_messages((*session.messages, *_ahead(session))),
        by=by,
        recorded_at=stamp,
    )
    return Entered(recorded, _outing(recorded, session, stamp), fresh=True)


@transaction.atomic
def give(recorded: Recorded, horse: Horse, author: Person) -> Outing:
    """Say whose a recording is; its tracker is from now on that horse's, and one that was set aside is no longer.

    Raises:
        NothingMeasuredError: it says nothing of any horse.
        OriginalMissingError: its file is gone, and so is what was measured.
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    if recorded.began is None:
        raise NothingMeasuredError(recorded.file)
    _remember(recorded.tracker, horse)
    old = standing_of(recorded)
    if old is not None and old.horse_id == horse.pk:
        return old
    measured, stamp = old.measured if old is not None else _measured(recorded), next_stamp(yard)
    _put_aside(recorded, author, stamp, on=False)
    return _written(recorded, horse.pk, Outing.Matched.HAND, measured, stamp, author=author)


@transaction.atomic
def take_from(recorded: Recorded, author: Person) -> Outing:
    """Say that a recording is not the horse's that it was given to; it waits for another.

    Raises:
        NotGivenError: it is no horse's.
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    old = standing_of(recorded)
    if old is None:
        raise NotGivenError(recorded.file)
    measured, stamp = old.measured, next_stamp(yard)
    return _written(recorded, old.horse_id, Outing.Matched.HAND, measured, stamp, author=author, withdrawn=True)


@transaction.atomic
def put_aside(recorded: Recorded, author: Person, *, on: bool) -> None:
    """Say that a recording is of no horse, so that it waits for none; or, with `on` not set, that it may be of one.

    Saying again what is so writes nothing.

    Raises:
        GivenError: it is a horse's.
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    if standing_of(recorded) is not None:
        raise GivenError(recorded.file)
    _put_aside(recorded, author, next_stamp(yard), on=on)


def _put_aside(recorded: Recorded, author: Person, stamp: datetime, *, on: bool) -> None:
    last = recorded.set_aside.order_by("pk").last()
    if (last is not None and last.on) != on:
        SetAside.objects.create(recorded=recorded, on=on, author=author, recorded_at=stamp)


@transaction.atomic
def renew(outing: Outing, measured: dict[str, object]) -> Outing:
    """Write what was measured anew, because the yard's gallops are others; an outing that no longer stands is left.

    Raises:
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    recorded = outing.recorded
    if recorded is None or standing_of(recorded) != outing:
        return outing
    matched = Outing.Matched(outing.matched)
    return _written(recorded, outing.horse_id, matched, measured, next_stamp(yard), author=outing.author)


def standing_of(recorded: Recorded) -> Outing | None:
    """Return the outing by a recording that stands now, None where it is no horse's."""
    return moments.standing(Outing, moments.now()).filter(recorded=recorded).order_by("pk").last()


def _outing(recorded: Recorded, session: Session, stamp: datetime) -> Outing | None:
    """Write what the horse did, where it is plain which."""
    if session.measured is None:
        return None
    asked = unclaimed_of(recorded, read(session.measured))
    if asked is None:
        return None
    found = whose(moments.now(), asked)
    if found.horse is None or found.how is None:
        return None
    return _written(recorded, found.horse, found.how, session.measured, stamp)


def _written(
    recorded: Recorded,
    horse: int,
    how: Outing.Matched,
    measured: dict[str, object],
    stamp: datetime,
    *,
    author: Person | None = None,
    withdrawn: bool = False,
) -> Outing:
    """Write a row that supersedes the last one of the recording."""
    told, began = read(measured), recorded.began or stamp
    return Outing.objects.create(
        recorded=recorded,
        horse_id=horse,
        day=began.astimezone(clock.place().zone).date(),
        began=began,
        matched=how,
        metres=told.metres,
        fast_m=told.fast_m,
        measured=measured,
        author=author,
        recorded_at=stamp,
        supersedes=Outing.objects.filter(recorded=recorded).order_by("pk").last(),
        withdrawn=withdrawn,
    )


def _measured(recorded: Recorded) -> dict[str, object]:
    """Return what was measured of a recording that was no horse's, made again where it is gone."""
    folder = Path(settings.UPSIDES_LIBRARY)
    kept = kept_track(folder, recorded.sha256, recorded.part)
    if kept is None:
        from upsides.books.recordings.reading import again  # it loads compiled code, which is hardly ever needed here

        kept = again(folder, recorded.sha256, recorded.part, recorded.file, recorded.recorded_at, lines(moments.now()))
    return kept[1]


def _remember(tracker: Tracker | None, horse: Horse) -> None:
    if tracker is not None and tracker.horse_id != horse.pk:
        tracker.horse = horse
        tracker.save()


def _tracker(device: Device) -> Tracker | None:
    """Return the tracker that wrote a recording, entered where it is new; None where the file does not tell.

    It is called by its make and serial number until somebody calls it something else; a make that its file gives as a
    number is no name.
    """
    if not device.serial:
        return None
    serial = plain(" ".join(part for part in (device.maker, device.serial) if part))[-LONGEST_SERIAL:]
    called = next((part for part in (device.product, device.maker) if part and not part.isdecimal()), "")
    name = plain(f"{called} {device.serial}".strip())[-LONGEST_SERIAL:]
    return Tracker.objects.get_or_create(serial=serial, defaults={"name": name})[0]


def _ahead(session: Session) -> tuple[Message, ...]:
    began = _moment(session.began_s)
    if began is None or began <= clock.now() + AHEAD:
        return ()
    return (Message("clock_ahead", {"when": f"{began:%Y-%m-%d %H:%M}"}),)


def _moment(seconds: float | None) -> datetime | None:
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)
