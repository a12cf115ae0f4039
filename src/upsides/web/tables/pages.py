"""What the pages of tables show."""

from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.intake import checking
from upsides.books.intake.checking import Counts, Opened
from upsides.books.intake.proposing import Chosen, missing
from upsides.books.intake.rows import Wrong
from upsides.books.intake.specs import SPECS
from upsides.books.models import Intake, Job
from upsides.books.queries import intakes as reads
from upsides.books.queries.moments import Moment
from upsides.books.services.intakes import JOB, may_undo
from upsides.errors import UpsidesError
from upsides.errors.wording import of_kept
from upsides.web.jobs.sentences import failure_words, told
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.tables import sentences
from upsides.web.tables.asking import as_fields, every_row, heads

SHORT = 1000
"""Rows up to which a table is looked at, and taken in, while the page waits."""


def opened(what: str, sha: str) -> Opened:
    """Return a kept file.

    Raises:
        Http404: rows cannot be that.
        TableGoneError, TableUnreadableError: it cannot be read.
    """
    if what not in SPECS:
        raise Http404(_("A table's rows cannot be that."))
    return checking.opened(sha, what, settings.UPSIDES_LIBRARY)


def asked_to_check(one: Opened, chosen: Chosen) -> dict[str, Any]:
    """Return the arguments of the job that looks at all rows of a table."""
    return {"do": "check", "sha256": one.kept.sha256, "what": one.spec.what, "chosen": chosen.told()}


def read_page(one: Opened, chosen: Chosen) -> dict[str, Any]:
    """Return the page of a table that was given: its columns, its first rows, what is wrong with it."""
    lacking = missing(chosen, one.spec)
    long = one.kept.rows > SHORT
    job = reads.looked(JOB, asked_to_check(one, chosen)) if long and not lacking else None
    counts = None if lacking else _found(job) if long else checking.check(one, chosen)
    first = counts or (None if lacking else checking.check(one, chosen, most=checking.FEW))
    fields = as_fields(chosen, one)
    place = reverse("table_left_out", args=[one.spec.what, one.kept.sha256])
    return {
        "one": one,
        "title": Intake.What(one.spec.what).label,
        "sentence": sentences.about_read(lacking, counts, job),
        "heads": heads(chosen, one),
        "every": every_row(chosen, one),
        "order": chosen.order,
        "dated": "day" in chosen.columns or "joined" in chosen.columns,
        "first": first.first if first else [],
        "counts": counts,
        "wrong": counts.wrong if counts else [],
        "long": long and not lacking,
        "job": told(job, clock.now()) if job and job.ended_at is None else None,
        "fields": fields,
        "left_out": f"{place}?{urlencode(fields)}",
        "before": reads.same_file(one.kept.sha256),
    }


def _found(job: Job | None) -> Counts | None:
    """Return what a job found when it looked at all rows, None while it has not."""
    if job is None or job.state != Job.State.DONE or not job.result:
        return None
    names = ("rows", "fine", "taken", "already", "refused")
    wrong = [Wrong.of_kept(one) for one in job.result["wrong"]]
    first = [(int(line), str(words)) for line, words in job.result["first"]]
    return Counts(**{name: job.result[name] for name in names}, wrong=wrong, first=first)


def one_page(request: VisitedRequest, number: int, moment: Moment) -> dict[str, Any]:
    """Return the page of one import.

    Raises:
        Http404: there is none of that number.
    """
    found = reads.one(number, moment)
    if found is None:
        raise Http404(_("There is no import %(number)s in these books.") % {"number": number})
    job = reads.of_import(JOB, number) if moment.at is None else None
    running = job if job and job.ended_at is None else None
    return {
        "moment": moment,
        "found": found,
        "title": sentences.title(found.intake),
        "sentence": sentences.about_one(found, running),
        "job": told(running, clock.now()) if running else None,
        "failure": failure_words(job) if job and job.state == Job.State.FAILED else "",
        "wrong": [Wrong.of_kept(one) for one in found.told.get("wrong", ())],
        "left": [of_kept(one) for one in found.undone.get("left", ())],
        "stopped": not found.told and not found.undone and running is None,
        "undoable": _undoable(request, found.intake),
    }


def _undoable(request: VisitedRequest, intake: Intake) -> bool:
    try:
        may_undo(intake, request.visitor.person)
    except UpsidesError:
        return False
    return True
