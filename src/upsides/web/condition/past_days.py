"""A past day that was not worked out: asking for it, how far that is, and when it was done."""

from datetime import datetime
from typing import Any, Final
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.formats import date_format
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.models import Inside, Job
from upsides.books.queries import moments
from upsides.books.queries.condition_known import known_at, worked_out
from upsides.books.queries.jobs import last_job
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import opened
from upsides.books.services.jobs import ask
from upsides.web.jobs.sentences import about_job
from upsides.web.jobs.sentences import told as job_told
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of

KIND: Final = "condition"


@require_POST
def work_out_day(request: VisitedRequest) -> HttpResponse:
    """Ask for a past day's answers, from whom to look at first or from a horse's page."""
    moment = moment_of(request)
    if moment.at is not None and _may_ask(request):
        ask(KIND, _arguments(moment), by=request.visitor.person)
    horse = request.POST.get("horse", "")
    one = horse.isascii() and horse.isdecimal()
    page = reverse("horse_condition", args=[int(horse)]) if one else reverse("look_at")
    return redirect(f"{page}?{urlencode({'as_of': request.GET.get('as_of', '')})}")


def past_day(request: VisitedRequest, moment: Moment) -> dict[str, Any]:
    """Return what a page of a past day says of working it out; nothing of now, or where all of it stands.

    It is whether the visitor may ask for it, the job where there is one that has not ended, and words: by what was
    known, when it was done, or why it failed.
    """
    if moment.at is None:
        return {}
    told = worked_out(moment)
    said = {"known": _time(moment), "done": date_format(_local(told.later), "j F Y, H:i") if told.later else ""}
    if told.whole or not _may_ask(request) or not moments.in_training(moment).exists():
        return said
    job = last_job(KIND, _arguments(moment))
    running = job is not None and job.ended_at is None
    failed = job is not None and job.state == Job.State.FAILED
    return said | {
        "ask": not running,
        "job": job_told(job, clock.now()) if job is not None and running else None,
        "failed": about_job(job, clock.now()) if job is not None and failed else "",
    }


def _may_ask(request: VisitedRequest) -> bool:
    visitor = request.visitor
    return may_open("work_out_day", visitor.roles) and opened(visitor, Inside.FIGURES).everything


def _arguments(moment: Moment) -> dict[str, str]:
    return {"known_at": known_at(moment).isoformat()}


def _local(at: datetime) -> datetime:
    return at.astimezone(clock.place().zone)


def _time(moment: Moment) -> str:
    return date_format(_local(known_at(moment)), "H:i")
