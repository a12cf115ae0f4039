"""Writes to the diary: entries, and entries that correct, withdraw or settle others."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from django.db import transaction

from upsides.books import clock
from upsides.books.diary import kind_of, read
from upsides.books.diary.raced import RaceReport
from upsides.books.models import Device, Engagement, Entry, Gallop, Horse, Person, Role, Yard
from upsides.books.queries.diary import rivals
from upsides.books.queries.hand_results import engaged_on, engagement_of, resulted_on
from upsides.books.queries.visitors import STAFF, visitor
from upsides.books.services.jobs import ask
from upsides.errors import (
    EntryClashError,
    EntryMissingError,
    EntryNotYoursError,
    EntryRefusedError,
    KindNotYoursError,
    NoConflictError,
    NoDiaryError,
)
from upsides.errors.wording import gettext as _
from upsides.results.checking import FASTEST_M_S

ROWS: Final[dict[str, type[Horse | Person | Gallop]]] = {"horse": Horse, "person": Person, "gallop": Gallop}
"""The tables whose rows entries may name."""
STEP_STATES: Final = {"meant": _("meant for it"), "entered": _("entered"), "confirmed": _("confirmed")}
MENDERS: Final = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON})
"""Roles that may correct what others entered."""


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry as a page or a phone hands it in.

    Args:
        client_id: its number, made where it was entered; the same number is the same entry.
        kind: name of its kind.
        horse: number of the horse that it is about, None where its kind is about something else.
        values: as typed.
        made_at: the device's clock when it was entered; kept however odd.
        happened_at: when it was so, None for when it was entered.
        supersedes: number (`client_id`) of the entry that it corrects, None for a new one.
        withdrawn: whether it takes that entry back instead of correcting it.
        gallop: number of the gallop that it is about, None where its kind is about something else.
    """

    client_id: UUID
    kind: str
    horse: int | None
    values: Mapping[str, object]
    made_at: datetime
    happened_at: datetime | None = None
    supersedes: UUID | None = None
    withdrawn: bool = False
    gallop: int | None = None


@transaction.atomic
def record(draft: Draft, author: Person, device: Device | None = None) -> Entry:
    """Write an entry, or find it where it was written before.

    Entries are written one after the other, so that the order of `recorded_at` is that in which they can be seen.

    Args:
        draft: what is entered.
        author: in whose name.
        device: where it was entered, if that is known.

    Returns:
        The entry; one that was recorded before under the same number and with the same content as it stands.

    Raises:
        KindUnknownError, EntryRefusedError: something of the entry cannot be right.
        EntryClashError: another entry has its number.
        EntryMissingError: it corrects an entry that is not there.
        EntryNotYoursError, NoDiaryError: the author may not write this.
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    entry = _written(draft, author, device)
    before = Entry.objects.filter(client_id=draft.client_id).first()
    if before is not None:
        if _content(before) != _content(entry) or (draft.happened_at and draft.happened_at != before.happened_at):
            raise EntryClashError(draft.client_id)
        return before
    _may_write(entry, author, device)
    _first_result(entry)
    entry.recorded_at = next_stamp(yard)
    entry.save(force_insert=True)
    if entry.kind == RaceReport.name:
        ask("chances", afresh=True)
        if any(one and _results(one) for one in (entry, entry.supersedes)):
            ask("by_hand", afresh=True)
    return entry


def correct(
    entry: Entry,
    values: Mapping[str, object],
    author: Person,
    device: Device | None = None,
    *,
    client_id: UUID,
    made_at: datetime,
) -> Entry:
    """Write other values for an entry; both stay. Raises what `record` raises."""
    draft = Draft(client_id, entry.kind, entry.horse_id, values, made_at, entry.happened_at, entry.client_id)
    return record(draft, author, device)


def withdraw(
    entry: Entry, author: Person, device: Device | None = None, *, client_id: UUID, made_at: datetime
) -> Entry:
    """Take an entry back; it stays visible. Raises what `record` raises."""
    draft = Draft(
        client_id, entry.kind, entry.horse_id, {}, made_at, entry.happened_at, entry.client_id, withdrawn=True
    )
    return record(draft, author, device)


def next_stamp(yard: Yard | None) -> datetime:
    """Return when what is written now is recorded: never before the diary's last entry.

    Raises:
        ClockWentBackError: the server's clock is behind the diary.
    """
    counted = Entry.objects.filter(pk__gt=yard.clock_from_entry if yard else 0)
    return clock.stamp(counted.order_by("-recorded_at").values_list("recorded_at", flat=True).first())


@transaction.atomic
def settle(
    keep: Entry, drop: Entry, by: Person, device: Device | None = None, *, client_id: UUID, made_at: datetime
) -> Entry:
    """Decide between two entries that stand against each other: `drop` is withdrawn, `keep` stays.

    Raises:
        NoConflictError: they do not stand against each other, or were settled since.
        EntryNotYoursError: `by` may not decide on entries of others.
    """
    Yard.objects.select_for_update().first()
    if not _roles(by, device) & MENDERS:
        raise EntryNotYoursError
    if keep.pk == drop.pk or not {keep.pk, drop.pk} <= {one.pk for one in rivals(drop)}:
        raise NoConflictError
    return withdraw(drop, by, device, client_id=client_id, made_at=made_at)


def _written(draft: Draft, author: Person, device: Device | None) -> Entry:
    """Return the entry that a draft describes, not saved and not yet stamped."""
    old = _superseded(draft)
    entry = Entry(client_id=draft.client_id, author=author, device=device, supersedes=old, withdrawn=draft.withdrawn)
    entry.kind = old.kind if old else draft.kind
    entry.values = {} if draft.withdrawn else _values(entry.kind, draft.values)
    about = kind_of(entry.kind).about
    entry.horse_id = old.horse_id if old else _horse(draft.horse) if about == "horse" else None
    entry.gallop_id = old.gallop_id if old else _gallop(draft.gallop) if about == "gallop" else None
    entry.made_at = draft.made_at
    entry.happened_at = draft.happened_at or (old.happened_at if old else draft.made_at)
    _in_its_race(entry)
    if entry.kind == RaceReport.name and entry.horse_id and entry.values.get("beside") == entry.horse_id:
        raise EntryRefusedError(
            _("beside"), "", _("no horse gallops beside itself"), _("choose the other horse, or leave it empty")
        )
    return entry


def _in_its_race(entry: Entry) -> None:
    """Refuse a result of a horse that was declared for no race that day: nobody could tell what it was a result of."""
    if entry.horse_id is None or not _results(entry):
        return
    day = _day(entry)
    if (declared := engagement_of(entry.horse_id, day)) is not None:
        _run_by_then(declared, entry)
        return
    row = next(iter(engaged_on(entry.horse_id, day)), None)
    if row is None:
        reason = _("the books know of no race of this horse on {day}", day=day)
        remedy = _("write down first what it ran in, or leave the result empty; look at the day it happened")
    else:
        told = {"race": row.race, "day": day, "state": STEP_STATES[row.state]}
        reason = _("for {race} on {day} it stands as {state}, not as declared", **told)
        remedy = _("write down with that race that it was declared, and when that was said; or leave the result empty")
    raise EntryRefusedError(_("result"), "", reason, remedy)


def _run_by_then(declared: Engagement, entry: Entry) -> None:
    """Refuse a result of a race that is still to be run, and a time in which no horse runs its distance."""
    said = RaceReport.kept_as(entry.values)
    if declared.off_at is not None and clock.now() < declared.off_at:
        off = declared.off_at.astimezone(clock.place().zone)
        reason = _("{race} is off at {off:%H:%M} on {off:%d %B}", race=declared.race, off=off)
        raise EntryRefusedError(_("result"), "", reason, _("write what came of it after the race"))
    seconds = said.seconds()
    if seconds and declared.distance_m and declared.distance_m > FASTEST_M_S * seconds:
        reason = _("no horse runs {metres} m in that time", metres=int(declared.distance_m))
        raise EntryRefusedError(_("time"), said.time or "", reason, _("write it like 1:38.25, or leave it empty"))


def _first_result(entry: Entry) -> None:
    """Refuse a second result of a horse on one day; one that corrects that day's result is none, moved there it is."""
    if entry.horse_id is None or not _results(entry):
        return
    old, day = entry.supersedes, _day(entry)
    if old is not None and _results(old) and _day(old) == day:
        return
    there = resulted_on(entry.horse_id, day)
    if any(old is None or old.pk not in {one.pk, one.supersedes_id} for one in there):
        reason = _("a result of this horse on {day} is in the diary already", day=day)
        remedy = _("correct that one, or leave the result empty; look at the day it happened")
        raise EntryRefusedError(_("result"), "", reason, remedy)


def _results(entry: Entry) -> bool:
    """Return whether an entry says what came of a race."""
    return entry.kind == RaceReport.name and not entry.withdrawn and RaceReport.kept_as(entry.values).resulted


def _day(entry: Entry) -> date:
    return entry.happened_at.astimezone(clock.place().zone).date()


def _superseded(draft: Draft) -> Entry | None:
    """Return the entry that a draft corrects; a withdrawal can only be withdrawn, and that is how one is settled."""
    if draft.supersedes is None:
        if draft.withdrawn:
            raise EntryMissingError(_("none is named"))
        return None
    old = Entry.objects.filter(client_id=draft.supersedes).first()
    if old is None or (old.withdrawn and not draft.withdrawn):
        raise EntryMissingError(draft.supersedes)
    return old


def _horse(number: int | None) -> int:
    if number is None:
        raise EntryRefusedError(_("horse"), "", _("none was chosen"), _("choose the horse first"))
    if not Horse.objects.filter(pk=number).exists():
        raise EntryRefusedError(
            _("horse"), str(number), _("the yard has no horse of that number"), _("choose it from the list")
        )
    return number


def _gallop(number: int | None) -> int:
    if number is None or not Gallop.objects.filter(pk=number).exists():
        shown = "" if number is None else str(number)
        raise EntryRefusedError(_("gallop"), shown, _("the yard has no such gallop"), _("choose it from the list"))
    return number


def _values(kind: str, typed: Mapping[str, object]) -> dict[str, Any]:
    """Return the values of an entry as they are kept; what it names must be in the books.

    Raises:
        EntryRefusedError: a value cannot be right.
    """
    entry = read(kind, typed)
    for what, number in entry.rows():
        if not ROWS[what].objects.filter(pk=number).exists():
            raise EntryRefusedError(
                what, str(number), _("the books have no {what} of that number", what=what), _("choose from the list")
            )
    return entry.kept()


def _content(entry: Entry) -> tuple[Any, ...]:
    """Return what makes two entries of one number the same entry."""
    return (
        entry.kind,
        entry.horse_id,
        entry.gallop_id,
        entry.author_id,
        entry.values,
        entry.supersedes_id,
        entry.withdrawn,
    )


def _may_write(entry: Entry, author: Person, device: Device | None) -> None:
    roles = _roles(author, device)
    if not roles & STAFF:
        raise NoDiaryError
    kind = kind_of(entry.kind)
    if not roles & kind.by and not entry.withdrawn:
        raise KindNotYoursError(str(kind.title), [str(role.label) for role in Role if role in kind.by])
    if entry.supersedes is None or entry.supersedes.author_id == author.pk:
        return
    if not roles & MENDERS or (kind.judgement and not entry.withdrawn):
        raise EntryNotYoursError  # nobody's opinion is put into other words by another


def _roles(person: Person, device: Device | None) -> frozenset[Role]:
    """Return what somebody counts as on a device: on a shared one as less."""
    return visitor(person, barn=device is not None and device.shared).roles
