"""The kinds of work about races: letters that remind of deadlines, and the races that were let go."""

from collections.abc import Mapping
from datetime import timedelta
from smtplib import SMTPRecipientsRefused
from typing import Any, Final

from django.conf import settings
from django.core.mail import send_mail

from upsides.books import clock
from upsides.books.jobs.running import Running
from upsides.books.models import Inside, Job, Person
from upsides.books.queries import moments
from upsides.books.queries.barred import Barred, barred, to_say
from upsides.books.queries.engaged import Engaged, engaged
from upsides.books.queries.office import OFFICE
from upsides.books.queries.visitors import opened, visitor
from upsides.books.race_words import letter
from upsides.books.services.let_go import write_let_go
from upsides.books.services.sights import saw

HOURS: Final = 48
"""How far ahead a letter looks."""
FIRST_BACK: Final = timedelta(days=7)
"""How far back races let go are looked for where they never were."""
PAGE: Final = "e-mail"


def reminders(running: Running) -> dict[str, Any]:
    """Write to everybody of the office who has an e-mail address what has to be said within two days.

    Of a horse that cannot run where it is engaged nothing is asked: that it cannot, and what follows, is written. An
    address that the mail server refuses keeps nobody else's letter back; the number of whoever has it is returned.
    """
    moment = moments.now()
    listed = engaged(running.folder, moment)
    kept = barred(running.folder, moment, listed)
    found, out = to_say(listed, kept, clock.now(), HOURS)
    if not found and not out:
        return {"letters": 0, "due": 0, "cannot_run": 0}
    people = Person.objects.filter(posts__role__in=OFFICE, is_active=True, erased_at=None).exclude(email="").distinct()
    sent: list[int] = list(running.checkpoint or [])
    refused: list[int] = []
    for person in people.exclude(pk__in=sent).order_by("pk"):
        running.progress(len(sent) / (len(sent) + len(people)), "letters")
        try:
            written = _write(person, found, out, kept)
        except SMTPRecipientsRefused:
            refused.append(person.pk)
            continue
        if written:
            sent.append(person.pk)
            running.keep(sent)
    return {"letters": len(sent), "due": len(found), "cannot_run": len(out), "refused": refused}


def _write(person: Person, found: list[Engaged], out: list[Engaged], kept: Mapping[int, Barred]) -> bool:
    """Write to one person of the horses whose plans are open to him; return whether there was anything to write."""
    who = visitor(person, barn=False)
    open_to = opened(who, Inside.PLANS)
    mine, gone = ([one for one in each if one.horse.pk in open_to] for each in (found, out))
    if not mine and not gone:
        return False
    subject, text = letter(mine, gone, kept, clock.place().zone.key)
    saw(who, Inside.PLANS, PAGE)
    send_mail(subject, text, settings.DEFAULT_FROM_EMAIL, [person.email])
    return True


def let_go(running: Running) -> dict[str, Any]:
    """Write down the races whose entries closed since this was last done, and that one of ours might have run in."""
    now = clock.now()
    before = Job.objects.filter(kind="let_go", state=Job.State.DONE).order_by("-ended_at").first()
    first = before.started_at if before and before.started_at else now - FIRST_BACK
    running.progress(0.1, "races whose entries have closed")
    return {"written": write_let_go(running.folder, moments.now(), first, now)}
