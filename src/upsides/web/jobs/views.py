"""Long jobs: what runs, one of them, and what is done every night."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.jobs.kinds import KINDS
from upsides.books.models import Job, Schedule
from upsides.books.queries import jobs as reads
from upsides.books.services import jobs as writes
from upsides.web.jobs import sentences
from upsides.web.jobs.forms import ScheduleForm
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import as_sentence


def jobs(request: VisitedRequest) -> HttpResponse:
    """Show what runs, waits and has ended, and what is done every night."""
    seen = reads.overview(settings.UPSIDES_LIBRARY, clock.today())
    context = {"seen": seen, "kinds": KINDS.values(), "sentence": sentences.about_jobs(seen, clock.now())}
    context |= {"running": [sentences.told(job, clock.now()) for job in seen.running]}
    context |= {"waiting": [sentences.told(job, clock.now()) for job in seen.waiting]}
    context |= {"ended": [sentences.told(job, clock.now()) for job in seen.ended]}
    context |= {
        "schedules": [(one, sentences.kind_words(one.kind), sentences.when_words(one)) for one in seen.schedules]
    }
    return render(request, "jobs/jobs.html", context | {"plans": may_open("schedule", request.visitor.roles)})


def job(request: HttpRequest, number: int) -> HttpResponse:
    """Show one job: how far it is, or how it ended."""
    found = _found(number)
    context = {"told": sentences.told(found, clock.now()), "job": found}
    return render(request, "jobs/job.html", context | {"sentence": sentences.about_job(found, clock.now())})


@require_POST
def ask(request: VisitedRequest) -> HttpResponse:
    """Ask for a job."""
    asked = writes.ask(request.POST.get("kind", ""), by=request.visitor.person)
    messages.success(request, _("Asked for: %(what)s.") % {"what": sentences.what(asked)})
    return redirect("jobs")


@require_POST
def stop(request: VisitedRequest, number: int) -> HttpResponse:
    """Stop a job."""
    found = _found(number)
    writes.cancel(found, request.visitor.person)
    messages.success(request, _("It ends as soon as its work listens: %(what)s.") % {"what": sentences.what(found)})
    return redirect("jobs")


@require_POST
def again(request: VisitedRequest, number: int) -> HttpResponse:
    """Ask for the same job once more."""
    found = _found(number)
    return redirect("job", writes.ask(found.kind, found.arguments, by=request.visitor.person).pk)


def schedule(request: HttpRequest, number: int) -> HttpResponse:
    """Show when something is done every night, or change it."""
    found = get_object_or_404(Schedule, pk=number)
    form = ScheduleForm(request.POST or None, initial=ScheduleForm.standing(found))
    if form.is_valid() and form.changed(found):
        return redirect("jobs")
    context = {"form": form, "sentence": as_sentence(sentences.when_words(found))}
    return render(request, "jobs/schedule.html", context | {"name": sentences.kind_words(found.kind)})


def _found(number: int) -> Job:
    found = reads.job(number)
    if found is None:
        raise Http404(_("There is no job with this number."))
    return found
