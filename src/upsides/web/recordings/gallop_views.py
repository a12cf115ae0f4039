"""A gallop drawn on the ground from what a horse did there."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from upsides.books.queries import moments
from upsides.errors import UpsidesError
from upsides.web.recordings.asking import LineForm
from upsides.web.recordings.drawing import choices, preview, save
from upsides.web.recordings.one_page import seen
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import told


def recording_gallop(request: VisitedRequest, number: int) -> HttpResponse:
    """Show a canter of a recording as the line of a gallop, and save it as one."""
    it = seen(number, moments.now())
    works = choices(it)
    start = {"work": works[-1][0] if works else "", "marks": "furlongs"}
    form = LineForm(request.POST or None, works=works, initial=start)
    if request.method == "POST" and form.is_valid() and "save" in request.POST:
        try:
            drawn = save(it, form.cleaned_data, request.visitor.person)
            messages.success(
                request, _("%(gallop)s is drawn; its works are being looked for.") % {"gallop": drawn.name}
            )
            return redirect("gallop_works", drawn.pk)
        except UpsidesError as error:
            form.add_error("marks", told(error))
    context = {"form": form, "it": it, "works": works} | preview(it, form.data or start)
    return render(
        request, "recordings/line.html", context, status=400 if form.errors and "save" in request.POST else 200
    )
