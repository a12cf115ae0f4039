"""What is sent with photographs."""

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from django.http import HttpRequest

from upsides.books.models import Horse
from upsides.books.sent import Sent
from upsides.web.shape.forms import seen_at as time_seen

SAID: Final = ("text", "for_owner")
"""Fields of the entry beside the picture itself."""


def sent_files(request: HttpRequest) -> list[Sent]:
    """Return the files of a form, none of them read yet."""
    return [Sent(one.name or "", one.file) for one in request.FILES.getlist("pictures") if one.file]


def seen_at(typed: Mapping[str, str], horse: Horse) -> datetime | None:
    """Return when the pictures were taken, None for now.

    Raises:
        EntryRefusedError: it is no time, or cannot be right.
    """
    return time_seen(typed.get("seen", ""), horse)
