"""Writes of calls: verdicts that people say before the tool's is shown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from math import isfinite
from pathlib import Path
from typing import Final
from uuid import UUID

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Call, Horse, Inside, Person, Sight, Yard
from upsides.books.models.call import ABOUT
from upsides.books.queries import moments
from upsides.books.queries.tools_word import known_now
from upsides.books.services.diary import next_stamp
from upsides.condition.calls import About
from upsides.errors import CallGoneError, CallRefusedError
from upsides.errors.wording import gettext as _

TRIPS_F: Final = (4.0, 24.0)
"""Between these trips are raced, furlongs."""


@dataclass(frozen=True, slots=True)
class Said:
    """What somebody says.

    Args:
        client_id: its number, made where it was said; the same number is the same call.
        about: the question.
        chance: how likely, between 0 and 1, neither included.
        trip_f: the trip that is meant, furlongs; None where the question is another.
    """

    client_id: UUID
    about: About
    chance: float
    trip_f: float | None = None


@transaction.atomic
def call(library: Path, horse: Horse, said: Sequence[Said], author: Person) -> list[Call]:
    """Write down what somebody says of a horse, with what the tool holds at this moment; all of it or nothing.

    Args:
        library: folder of the library.
        horse: which horse.
        said: at least one verdict.
        author: who says it.

    Raises:
        CallRefusedError: nothing is said, a chance or a trip is none, or the question was answered today.
        ClockWentBackError: the server's clock is behind the diary.
    """
    yard = Yard.objects.select_for_update().first()
    if not said:
        raise CallRefusedError(_("call"), "", _("nothing was said"), _("answer at least one question"))
    known = known_now(library, moments.now(), horse, {one.about: one.trip_f for one in said})
    unseen = not _shown_today(author, horse)
    return [_written(horse, one, author, known, next_stamp(yard), unseen=unseen) for one in said]


@transaction.atomic
def take_back(old: Call, author: Person, client_id: UUID) -> Call:
    """Take a call back on its own day; it stays, and is counted as taken back.

    Raises:
        CallGoneError: it is somebody else's, was taken back, or is of another day.
    """
    yard = Yard.objects.select_for_update().first()
    gone = old.withdrawn or Call.objects.filter(supersedes=old).exists()
    if gone or old.author_id != author.pk or old.recorded_at < _morning():
        raise CallGoneError
    row = Call(client_id=client_id, horse=old.horse, author=author, about=old.about, chance=old.chance)
    row.trip_f, row.unseen, row.known = old.trip_f, old.unseen, old.known
    row.supersedes, row.withdrawn, row.recorded_at = old, True, next_stamp(yard)
    row.save(force_insert=True)
    return row


def _written(
    horse: Horse, said: Said, author: Person, known: Mapping[str, dict[str, object]], at: datetime, *, unseen: bool
) -> Call:
    _checked(said)
    before = Call.objects.filter(client_id=said.client_id).first()
    if before is not None:
        if (before.horse_id, before.author_id, before.about, before.chance) != (
            horse.pk, author.pk, said.about, said.chance,
        ):  # fmt: skip
            raise CallRefusedError(_("call"), said.about, _("another has its number"), _("load the page again"))
        return before
    own = Call.objects.filter(author=author, horse=horse, about=said.about, recorded_at__gte=_morning())
    if own.filter(withdrawn=False, superseded_by=None).exists():
        raise CallRefusedError(
            _("call"), said.about, _("you answered this today"), _("take that back first, or wait a day")
        )
    row = Call(client_id=said.client_id, horse=horse, author=author, about=said.about, chance=said.chance)
    row.trip_f, row.unseen, row.known, row.recorded_at = said.trip_f, unseen, known[said.about], at
    row.save(force_insert=True)
    return row


def _checked(said: Said) -> None:
    if said.about not in ABOUT:
        raise CallRefusedError(
            _("question"), str(said.about)[:20], _("there is no such"), _("choose of {about}", about=", ".join(ABOUT))
        )
    if not (isfinite(said.chance) and 0.0 < said.chance < 1.0):
        raise CallRefusedError(_("chance"), str(said.chance)[:20], _("it lies between 0 and 1"), _("choose it again"))
    low, high = TRIPS_F
    if said.about == "trip" and not (said.trip_f is not None and low <= said.trip_f <= high):
        shown = "" if said.trip_f is None else f"{said.trip_f:g}"
        raise CallRefusedError(
            _("trip"), shown, _("trips are {low:g} to {high:g} furlongs", low=low, high=high), _("choose one")
        )
    if said.about != "trip" and said.trip_f is not None:
        raise CallRefusedError(
            _("trip"), f"{said.trip_f:g}", _("{about} asks for none", about=said.about), _("leave it out")
        )


def _shown_today(author: Person, horse: Horse) -> bool:
    """Return whether somebody was shown the tool's answers about a horse today, on a page of that horse."""
    shown = (Inside.FIGURES, Inside.CHANCES)
    return Sight.objects.filter(person=author, horse=horse, what__in=shown, at__gte=_morning()).exists()


def _morning() -> datetime:
    return datetime.combine(clock.today(), time(), clock.place().zone)
