"""Files of photographs, to those who may see them."""

import re
from collections.abc import Callable
from pathlib import Path

from django.http import FileResponse, Http404, HttpRequest, HttpResponseBase
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _

from upsides.books.queries.photos import may_see_photo
from upsides.books.queries.visitors import Visitor


def open_photo(who: Visitor, sha256: str) -> None:
    """See that somebody may look at a picture.

    Raises:
        Http404: there is none that the person may see.
    """
    if not re.fullmatch("[0-9a-f]{64}", sha256) or not may_see_photo(who, sha256):
        raise Http404(_("There is no such picture."))


def answer_with(request: HttpRequest, name: str, find: Callable[[str], Path]) -> HttpResponseBase:
    """Answer with a file, or that it is the one which the browser has.

    The browser asks each time, so that who may not look any more does not.

    Args:
        request: what was asked.
        name: the file's own name, which is never another file's.
        find: where it lies.

    Raises:
        Http404: the file is not there.
    """
    try:
        file = find(name).open("rb")
    except OSError:
        raise Http404(_("The file of this picture is not in the yard's folder. Tell the office.")) from None
    answer: HttpResponseBase | None = get_conditional_response(request, etag=f'"{name}"')
    if answer is None:
        answer = FileResponse(file, content_type="image/jpeg", filename=f"{name}.jpg")
    else:
        file.close()
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.headers["ETag"] = f'"{name}"'
    return answer
