"""The yard's own lists: gallops, things that have names, feeds of a day."""

from collections.abc import Callable
from itertools import groupby
from typing import Any

from django import forms
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Gallop, Person, Thing, Yard
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.yard_limits import yard_limits
from upsides.books.services import yard_lists as writes
from upsides.books.services.yard_limits import change_limits
from upsides.errors import YardListError
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.staff.yard_forms import GallopForm, LimitsForm, ThingForm, YardForm
from upsides.web.staff.yard_words import about_mornings, about_yard, length_in_words, length_typed


def yard(request: VisitedRequest) -> HttpResponse:
    """Show the yard's own lists."""
    roles = request.visitor.roles
    may = {"limits": may_open("yard_limits", roles), "says_black_type": may_open("black_type", roles)}
    return render(request, "staff/yard.html", _lists(moment_of(request)) | may)


def change(request: VisitedRequest) -> HttpResponse:
    """Change the yard's name and the feeds of its day."""
    row = Yard.objects.get()
    form = YardForm(request.POST or None, initial={"name": row.name, "feed_times": "\n".join(row.feed_times)})

    def keep(data: dict[str, Any], by: Person) -> None:
        writes.change_yard(data["name"], data["feed_times"].splitlines(), by)

    return _filled(request, form, keep, _("Change the yard"), None)


def limits(request: VisitedRequest) -> HttpResponse:
    """Change what a morning takes: fast work, riders, gallops."""
    row, gallops = Yard.objects.get(), list(Gallop.objects.filter(used=True))
    initial = {f"fast_{day}": most for day, most in enumerate(row.fast_most)} | {"each": row.rides_each}
    form = LimitsForm(gallops, request.POST or None, initial=initial | {f"slots_{g.pk}": g.slots for g in gallops})

    def keep(data: dict[str, Any], by: Person) -> None:
        slots = {gallop.pk: data[f"slots_{gallop.pk}"] for gallop in gallops}
        change_limits([data[f"fast_{day}"] for day in range(7)], data["each"], slots, by)

    return _filled(request, form, keep, _("What a morning takes"), None, "staff/yard_limits.html")


def new_gallop(request: VisitedRequest) -> HttpResponse:
    """Enter a gallop."""
    return _gallop(request, None, _("Enter a gallop"))


def gallop(request: VisitedRequest, number: int) -> HttpResponse:
    """Change a gallop."""
    row = get_object_or_404(Gallop, pk=number)
    return _gallop(request, row, _("Change %(name)s") % {"name": row.name})


def new_thing(request: VisitedRequest) -> HttpResponse:
    """Enter a thing."""
    return _thing(request, None, _("Enter a thing"))


def thing(request: VisitedRequest, number: int) -> HttpResponse:
    """Rename a thing."""
    row = get_object_or_404(Thing, pk=number)
    return _thing(request, row, _("Change %(name)s") % {"name": row.name})


@require_POST
def use_gallop(request: VisitedRequest, number: int) -> HttpResponse:
    """Take a gallop out of use, or use it again."""
    return _used(request, get_object_or_404(Gallop, pk=number))


@require_POST
def use_thing(request: VisitedRequest, number: int) -> HttpResponse:
    """Take a thing out of use, or use it again."""
    return _used(request, get_object_or_404(Thing, pk=number))


def _gallop(request: VisitedRequest, row: Gallop | None, title: str) -> HttpResponse:
    initial = {}
    if row is not None:
        rise = "" if row.rise_m is None else row.rise_m
        initial = {"name": row.name, "surface": row.surface, "length": length_typed(row.length_m), "rise": rise}
    form = GallopForm(request.POST or None, initial=initial)

    def keep(data: dict[str, Any], by: Person) -> None:
        writes.keep_gallop(writes.read_ground(data["name"], data["surface"], data["length"], data["rise"]), by, row)

    return _filled(request, form, keep, title, row)


def _thing(request: VisitedRequest, row: Thing | None, title: str) -> HttpResponse:
    initial = {"kind": row.kind, "name": row.name} if row else {"kind": request.GET.get("kind", "")}
    form = ThingForm(request.POST or None, initial=initial)

    def keep(data: dict[str, Any], by: Person) -> None:
        writes.keep_thing(Thing.Kind(data["kind"]), data["name"], by, row)

    return _filled(request, form, keep, title, row)


def _filled(
    request: VisitedRequest,
    form: forms.Form,
    keep: Callable[[dict[str, Any], Person], None],
    title: str,
    row: Model | None,
    template: str = "staff/yard_form.html",
) -> HttpResponse:
    """Show a form, or keep what was filled in and go back to the lists."""
    if form.is_valid():
        try:
            keep(form.cleaned_data, request.visitor.person)
        except YardListError as error:
            form.add_error(error.field, told(error))
        else:
            return redirect("yard")
    context = {"form": form, "title": title, "row": row, "use": f"{row._meta.model_name}_use" if row else ""}
    return render(request, template, context)


def _used(request: VisitedRequest, row: Gallop | Thing) -> HttpResponse:
    writes.set_used(row, request.visitor.person, used=request.POST.get("used") == "1")
    return redirect("yard")


def _lists(moment: Moment) -> dict[str, Any]:
    gallops = list(moments.rows(Gallop, moment).order_by("-used", "name"))
    things = moments.rows(Thing, moment).order_by("kind", "-used", "name")
    kinds = {kind: list(rows) for kind, rows in groupby(things, key=lambda one: one.kind)}
    of_kind = [(kind, kind.label, kinds.get(kind.value, [])) for kind in Thing.Kind]
    return {
        "moment": moment,
        "row": moments.rows(Yard, moment).get(),
        "sentence": about_yard(gallops, [one for _kind, _label, rows in of_kind for one in rows]),
        "gallops": [(one, length_in_words(one.length_m)) for one in gallops],
        "things": of_kind,
        "mornings": about_mornings(yard_limits(moment), gallops),
    }
