"""The moment a page is asked for: `?as_of=2026-06-01T17:30` in the yard's own time, else now."""

from datetime import datetime

from django.http import HttpRequest

from upsides.books import clock
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.errors import UnreadableError


def moment_of(request: HttpRequest) -> Moment:
    """Return the moment that a page is asked for.

    Raises:
        UnreadableError: the moment cannot be read.
    """
    text = request.GET.get("as_of", "").strip()
    if not text:
        return moments.now()
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise UnreadableError("moment", text, "2026-06-01T17:30") from None
    if at.tzinfo is None:
        at = at.replace(tzinfo=clock.place().zone)
    return moments.as_of(at)
