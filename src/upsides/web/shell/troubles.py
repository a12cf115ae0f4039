"""The page that is shown when the machine is in the way, or when the program made a mistake."""

import sys

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.defaults import server_error

from upsides.books.troubles import in_words
from upsides.errors import TroubleError

AGAIN_S = 30


def failed(request: HttpRequest) -> HttpResponse:
    """Answer a request that ended in an error: in words, where it is the database's or the disk's.

    Django calls this while it handles the error. The page asks the database nothing.
    """
    error = sys.exc_info()[1]
    words = in_words(error) if error is not None else None
    if not isinstance(words, TroubleError):
        return server_error(request)
    page = render_to_string("shell/trouble.html", {"reason": f"{str(words)[:1].upper()}{str(words)[1:]}"})
    return HttpResponse(page, status=503, headers={"Retry-After": str(AGAIN_S)})
