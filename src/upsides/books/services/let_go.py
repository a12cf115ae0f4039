"""Writes of races let go: what was known when entries closed, and why a race was passed. Rows are added."""

from datetime import datetime
from pathlib import Path

from django.db import transaction

from upsides.books import clock
from upsides.books.models import LetGo, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.let_go import closed_between, passed_in
from upsides.books.queries.moments import Moment
from upsides.books.services.diary import next_stamp
from upsides.errors import FigureRefusedError
from upsides.errors.wording import gettext as _

LONGEST_NOTE = 200


@transaction.atomic
def write_let_go(folder: Path, moment: Moment, first: datetime, last: datetime) -> int:
    """Write the races whose entries closed between two moments, and that one of ours could have been entered for.

    Of each horse and race the first row stands for ever. Each race is looked at from the moment at which its entries
    closed, however late that is done: results, marks and chances that came since change nothing of it.

    Args:
        folder: of the library.
        moment: when it is written.
        first: entries closed after this moment.
        last: and not after this one.

    Returns:
        How many rows were written.
    """
    yard = Yard.objects.select_for_update().first()
    there = set(LetGo.objects.filter(by=None).values_list("horse", "race_code"))
    found = [
        one
        for at, races in closed_between(folder, moment, first, last).items()
        for one in passed_in(folder, _as_of(at, moment), races, at)
    ]
    fresh = [one for one in found if (one.case.horse.pk, one.case.code) not in there]
    stamp = next_stamp(yard)
    LetGo.objects.bulk_create(
        LetGo(
            horse_id=one.case.horse.pk,
            race_code=one.case.code,
            race=(one.case.race.title or str(one.case.race))[:120],
            course=one.case.race.course[:60],
            day=one.case.race.day,
            known=one.known(),
            recorded_at=stamp,
        )
        for one in fresh
    )
    return len(fresh)


def _as_of(at: datetime, moment: Moment) -> Moment:
    """Return the moment at which entries closed; where that lies ahead of the one that is looked from, that one."""
    return moment if at > (moment.at or clock.now()) else moments.as_of(at)


@transaction.atomic
def say_why(number: int, reason: str, note: str, by: Person) -> LetGo:
    """Write why a race was passed; what was said before stays to be read.

    Raises:
        FigureRefusedError: there is no such row or reason, or the note is too long.
    """
    yard = Yard.objects.select_for_update().first()
    row = LetGo.objects.filter(pk=number, by=None).first()
    if row is None:
        raise FigureRefusedError(_("race let go"), number, _("there is none of that number"), _("load the page again"))
    if reason not in LetGo.Reason.values:
        raise FigureRefusedError(_("reason"), reason, _("it is none of the list"), _("choose one"))
    plain = " ".join(note.split())
    if len(plain) > LONGEST_NOTE:
        raise FigureRefusedError(
            _("note"),
            plain[:20],
            _("it is too long"),
            _("use at most {longest_note} letters", longest_note=LONGEST_NOTE),
        )
    return LetGo.objects.create(
        horse_id=row.horse_id,
        race_code=row.race_code,
        race=row.race,
        course=row.course,
        day=row.day,
        reason=reason,
        note=plain,
        by=by,
        recorded_at=next_stamp(yard),
    )
