"""Writes about a lot: the yard's shortlist, and notes of what was seen. Both are added to and never changed."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Lot, LotNote, Mark, Person, Role, Yard
from upsides.books.queries.moments import now, standing
from upsides.books.services.diary import next_stamp
from upsides.errors import EntryClashError, NoteChangedError, NoteNotYoursError, NoteRefusedError
from upsides.errors.wording import gettext as _

MENDERS: Final = frozenset({Role.TRAINER, Role.ASSISTANT})
"""Roles that may correct what others noted about a lot."""
LONGEST_REASON: Final = 200
LONGEST_NOTE: Final = 2000


@dataclass(frozen=True, slots=True)
class Noted:
    """A note as a page hands it in.

    Args:
        client_id: its number, made with the page; the same number is the same note.
        kind: a value of `LotNote.Kind`.
        text: as typed.
        happened_at: when it was so, None for now.
    """

    client_id: UUID
    kind: str
    text: str
    happened_at: datetime | None = None


@transaction.atomic
def shortlist(lot: Lot, by: Person, *, on: bool, reason: str = "") -> Mark:
    """Put a lot on the yard's shortlist or take it off; a mark that would say what the last one says is not set again.

    Raises:
        NoteRefusedError: the reason is too long, or a lot is taken off that was not on it.
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    why = " ".join(reason.replace("\0", "").split())
    if len(why) > LONGEST_REASON:
        raise NoteRefusedError(
            _("reason"),
            why[:20] + "...",
            _("it is too long"),
            _("use at most {longest_reason} letters", longest_reason=LONGEST_REASON),
        )
    last = Mark.objects.filter(lot=lot).order_by("-pk").first()
    if last is None and not on:
        raise NoteRefusedError(
            _("shortlist"), "", _("lot {number} is not on it", number=lot.number), _("load the page again")
        )
    if last is not None and last.on == on and why in {"", last.reason}:
        return last
    return Mark.objects.create(lot=lot, by=by, recorded_at=next_stamp(yard), on=on, reason=why)


@transaction.atomic
def note(lot: Lot, noted: Noted, author: Person) -> LotNote:
    """Write down what somebody saw of a lot, or find it where it was written before.

    Raises:
        NoteRefusedError: something of it cannot be right.
        EntryClashError: another note has its number.
        ClockWentBackError: the server's clock is behind the diary.
    """
    return _recorded(_described(lot, noted, author), Yard.objects.select_for_update().first())


@transaction.atomic
def correct_note(old: LotNote, noted: Noted, author: Person) -> LotNote:
    """Write other words for a note; both stay to be read.

    Raises:
        NoteNotYoursError: the author may not correct it.
        NoteChangedError: it no longer stands.
        NoteRefusedError, EntryClashError, ClockWentBackError: as in `note`.
    """
    yard = Yard.objects.select_for_update().first()
    fresh = _described(old.lot, noted, author)
    fresh.supersedes, fresh.happened_at = old, noted.happened_at or old.happened_at
    return _mended(fresh, old, yard)


@transaction.atomic
def withdraw_note(old: LotNote, author: Person, client_id: UUID) -> LotNote:
    """Take a note back; it stays to be read. Raises what `correct_note` raises."""
    yard = Yard.objects.select_for_update().first()
    fresh = LotNote(client_id=client_id, lot=old.lot, kind=old.kind, author=author, happened_at=old.happened_at)
    fresh.supersedes, fresh.withdrawn = old, True
    return _mended(fresh, old, yard)


def _described(lot: Lot, noted: Noted, author: Person) -> LotNote:
    """Return the note that is asked for, not saved and not yet stamped."""
    if noted.kind not in LotNote.Kind.values:
        known = ", ".join(LotNote.Kind.values)
        raise NoteRefusedError(
            _("kind"), noted.kind[:20], _("there is no such kind of note"), _("choose one of {known}", known=known)
        )
    text = noted.text.replace("\r\n", "\n").replace("\0", "").strip()
    if not text:
        raise NoteRefusedError(_("note"), "", _("nothing is written"), _("write what was seen"))
    if len(text) > LONGEST_NOTE:
        raise NoteRefusedError(
            _("note"),
            text[:20] + "...",
            _("it is too long"),
            _("use at most {longest_note} letters", longest_note=LONGEST_NOTE),
        )
    present = clock.now()
    if noted.happened_at is not None and noted.happened_at > present:
        raise NoteRefusedError(
            _("when"), f"{noted.happened_at:%Y-%m-%d %H:%M}", _("that is still to come"), _("give the time")
        )
    happened = noted.happened_at or present
    return LotNote(client_id=noted.client_id, lot=lot, kind=noted.kind, text=text, author=author, happened_at=happened)


def _mended(fresh: LotNote, old: LotNote, yard: Yard | None) -> LotNote:
    mine = old.author_id == fresh.author_id
    if not mine and not fresh.author.posts.filter(role__in=MENDERS).exists():
        raise NoteNotYoursError
    before = LotNote.objects.filter(client_id=fresh.client_id).exists()
    if not before and not standing(LotNote, now()).filter(pk=old.pk).exists():
        raise NoteChangedError
    return _recorded(fresh, yard)


def _recorded(fresh: LotNote, yard: Yard | None) -> LotNote:
    """Write a note, or return the one that was written under its number with the same content."""
    before = LotNote.objects.filter(client_id=fresh.client_id).first()
    if before is not None:
        if _content(before) != _content(fresh):
            raise EntryClashError(fresh.client_id)
        return before
    fresh.recorded_at = next_stamp(yard)
    fresh.save(force_insert=True)
    return fresh


def _content(one: LotNote) -> tuple[object, ...]:
    return one.lot_id, one.kind, one.text, one.author_id, one.supersedes_id, one.withdrawn
