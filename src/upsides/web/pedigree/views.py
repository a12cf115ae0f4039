"""A horse's pedigree."""

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from upsides.books.queries import pedigree as pedigrees
from upsides.web.pedigree.pedigree_page import pedigree_page
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.following import back_there


def pedigree(request: VisitedRequest, number: int) -> HttpResponse:
    """Show a horse's ancestors over five generations, and what they have in common."""
    moment = moment_of(request)
    shown = pedigrees.pedigree(settings.UPSIDES_LIBRARY, request.visitor, moment, number)
    if shown is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    page = {"moment": moment, "back": back_there(request)}
    return render(request, "pedigree/pedigree.html", page | pedigree_page(shown))
