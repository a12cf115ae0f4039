"""What the page of a horse's medicines sends, and what it shows again."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import uuid4

from django.http import QueryDict

from upsides.books.diary.medicine import GIVERS, Vaccination
from upsides.books.diary.vet import MEDICAL
from upsides.errors import EntryMissingError, EntryRefusedError
from upsides.errors.wording import gettext
from upsides.web.diary.forms import values_of
from upsides.web.medicine.asking import day_of, number_of
from upsides.web.medicine.horse_page import horse_page
from upsides.web.shape.pages import horse_at
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.moments import moment_of
from upsides.web.string.following import back_there


def page_of(request: VisitedRequest, number: int, *, wrong: str = "", twice: str = "") -> dict[str, Any]:
    """Return the page of one horse's medicines.

    Args:
        request: what was asked, or what was sent.
        number: of the horse.
        wrong: why what was entered was refused.
        twice: what was given before, where a second dose waits to be confirmed.
    """
    moment = moment_of(request)
    page = horse_page(horse_at(number, moment), moment, request.GET)
    roles = request.visitor.roles
    typed = request.POST
    return page | {
        "back": back_there(request),
        "gives": bool(roles & GIVERS),
        "enters": bool(roles & MEDICAL),
        "client_id": uuid4(),
        "wrong": wrong,
        "twice": twice,
        "waiting": number_of(typed.get("entry", "")) if twice else None,
        "typed": {**values_of(typed, Vaccination), "on": typed.get("on", "")},
    }


def entry_of(typed: QueryDict) -> int:
    """Return the number of the entry that a form names.

    Raises:
        EntryMissingError: it names none.
    """
    number = number_of(typed.get("entry", ""))
    if number is None:
        raise EntryMissingError(gettext("none is named"))
    return number


def dose_of(typed: QueryDict) -> tuple[date, Mapping[str, str]]:
    """Return the day and the values of a dose as they were typed.

    Raises:
        EntryRefusedError: no day is named.
        UnreadableError: the day cannot be read.
    """
    on = day_of(typed.get("on", ""))
    if on is None:
        raise EntryRefusedError(
            gettext("day"), "", gettext("it is empty"), gettext("write the day on which it was given")
        )
    return on, values_of(typed, Vaccination)
