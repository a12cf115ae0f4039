"""Sales, their lots, and what is decided and noted about a lot."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.books.models import Lot, LotNote
from upsides.books.queries import sales as reads
from upsides.books.services.lot_notes import correct_note, note, shortlist, withdraw_note
from upsides.errors import UpsidesError
from upsides.web.diary.forms import client_id
from upsides.web.sales.asking import asked_of
from upsides.web.sales.forms import NoteForm
from upsides.web.sales.pages import lot_page, sale_page
from upsides.web.sales.sentences import about_sales
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there, in_place


def sales(request: VisitedRequest) -> HttpResponse:
    """Show every sale of which there is a list."""
    moment = moment_of(request)
    listed = reads.sales(request.visitor, moment)
    page = {"moment": moment, "back": back_there(request), "sales": listed, "sentence": about_sales(listed)}
    page |= {"open": reads.private(request.visitor), "library": settings.UPSIDES_LIBRARY}
    return render(request, "sales/sales.html", page)


def sale(request: VisitedRequest, number: int) -> HttpResponse:
    """Show the lots of a sale, fifty a page, or those that are looked for; the list alone where it is replaced."""
    moment, asked, as_of = moment_of(request), asked_of(request.GET), request.GET.get("as_of", "")
    found = reads.sale_lots(request.visitor, moment, number, asked.wanted)
    if found is None:
        raise Http404(_("There is no sale %(number)s in these books.") % {"number": number})
    page = {"moment": moment, "back": back_there(request), "open": reads.private(request.visitor)}
    page |= sale_page(found, asked, as_of)
    part = in_place(request)
    answer = render(request, "sales/part.html" if part else "sales/sale.html", page)
    patch_vary_headers(answer, ["HX-Request"])
    if part:
        answer.headers["HX-Replace-Url"] = request.path + asked.address(as_of=as_of)
    return answer


def lot(request: VisitedRequest, number: int) -> HttpResponse:
    """Show one lot: how it is bred, what its relatives did, and what the yard's people say of it."""
    return render(request, "sales/lot.html", lot_page(request, number))


@require_POST
def lot_shortlist(request: VisitedRequest, number: int) -> HttpResponse:
    """Put a lot on the shortlist, or take it off."""
    found = get_object_or_404(Lot, pk=number)
    on = "off" not in request.POST
    shortlist(found, request.visitor.person, on=on, reason=request.POST.get("reason", ""))
    messages.success(request, _("It is on the shortlist.") if on else _("It is off the shortlist."))
    return redirect("lot", number)


@require_POST
def lot_note(request: VisitedRequest, number: int) -> HttpResponse:
    """Write down what was seen of a lot; a note that cannot be taken comes back as it was typed."""
    found, form, wrong = get_object_or_404(Lot, pk=number), NoteForm(request.POST), ""
    try:
        if form.is_valid():
            note(found, form.noted(), request.visitor.person)
            messages.success(request, _("Noted."))
            return redirect("lot", number)
    except UpsidesError as error:
        wrong = told(error)
    return render(request, "sales/lot.html", lot_page(request, number, form, wrong), status=400)


@require_POST
def lot_note_mend(request: VisitedRequest, number: int) -> HttpResponse:
    """Correct a note, or take it back; what it said stays to be read."""
    old, form, who = get_object_or_404(LotNote, pk=number), NoteForm(request.POST), request.visitor.person
    if "withdraw" in request.POST:
        withdraw_note(old, who, client_id(request.POST))
    elif form.is_valid():
        correct_note(old, form.noted(), who)
    else:
        page = lot_page(request, old.lot_id, wrong=_("Nothing was corrected: write what was seen, and how."))
        return render(request, "sales/lot.html", page, status=400)
    messages.success(request, _("That is what stands now; what it said before stays to be read."))
    return redirect("lot", old.lot_id)
