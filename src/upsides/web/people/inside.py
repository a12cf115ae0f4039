"""Inside information: to whom it is released, and who looked."""

from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from upsides.books.models import Inside, Person, Release, Role
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.releases import looked as sights
from upsides.books.queries.releases import standing
from upsides.books.services.releases import end_release, release
from upsides.errors import ReleaseRefusedError
from upsides.web.people import sentences
from upsides.web.people.forms import LookedFilter, ReleaseForm
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told

A_PAGE = 50


def released(request: VisitedRequest) -> HttpResponse:
    """Show what is released to whom."""
    form = ReleaseForm(initial={"to": request.GET.get("to", "")})
    return _released_page(request, moment_of(request), form)


@require_POST
def give(request: VisitedRequest) -> HttpResponse:
    """Release inside information."""
    form = ReleaseForm(request.POST)
    if form.is_valid():
        try:
            _give(form, request.visitor.person)
        except ReleaseRefusedError as error:
            form.add_error(None, told(error))
        else:
            return redirect("released")
    return _released_page(request, moments.now(), form)


@require_POST
def end(request: VisitedRequest, number: int) -> HttpResponse:
    """End a release."""
    end_release(get_object_or_404(Release, pk=number), request.visitor.person)
    return redirect("released")


def looked(request: VisitedRequest) -> HttpResponse:
    """Show who looked at inside information."""
    asked = LookedFilter(request.GET)
    asked.is_valid()
    chosen = {name: value for name, value in asked.cleaned_data.items() if value}
    keys = {name: getattr(value, "pk", value) for name, value in chosen.items()}
    page = Paginator(sights(**keys), A_PAGE).get_page(request.GET.get("page"))
    rest = request.GET.copy()
    rest.pop("page", None)
    sentence = sentences.about_looked(page.paginator.count, cut=bool(chosen))
    context = {"asked": asked, "cut": bool(chosen), "page": page, "rest": rest.urlencode(), "sentence": sentence}
    return render(request, "people/looked.html", context)


@transaction.atomic
def _give(form: ReleaseForm, by: Person) -> None:
    """Release each thing that is ticked; all or none."""
    for what in form.cleaned_data["what"]:
        release(by, Inside(what), horse=form.cleaned_data["horse"], **form.receiver())


def _released_page(request: VisitedRequest, moment: Moment, form: ReleaseForm) -> HttpResponse:
    releases = standing(moment)
    context = {
        "moment": moment,
        "releases": releases,
        "sentence": sentences.about_released(len(releases)),
        "form": form,
        "is_trainer": Role.TRAINER in request.visitor.roles,
    }
    return render(request, "people/released.html", context)
