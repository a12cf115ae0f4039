"""What phones send when signal is back: entries that waited on them, each with the mark of its author.

Nothing here looks at who is signed in. An entry counts as its author's by the mark alone, so that it arrives right when
the session has ended, or when somebody else uses the phone by then.
"""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.http import HttpRequest, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from upsides.books import clock
from upsides.books.models import Entry
from upsides.books.queries import moments
from upsides.books.queries.diary import written
from upsides.books.queries.visitors import visitor
from upsides.books.services.devices import read_author_token
from upsides.books.services.diary import Draft, record
from upsides.errors import AuthorTokenError, ClockWentBackError, EntryRefusedError, ParcelRefusedError, UpsidesError
from upsides.errors.wording import gettext
from upsides.web.diary.sentences import done
from upsides.web.shell.refusals import told

MOST: Final = 100
"""Most entries in one parcel."""
LONGEST: Final = 512 * 1024
"""Most bytes of one parcel."""
_FIRST, _LAST = 1970, 2200
"""Years that a device's clock can say; others no calendar shows."""


@csrf_exempt
@require_POST
def send(request: HttpRequest) -> JsonResponse:
    """Record the entries of a parcel one by one, and say of each what became of it."""
    try:
        sent, entries = _opened(request)
        return JsonResponse({"answers": [_answer(one, sent) for one in entries]})
    except ParcelRefusedError as error:
        return JsonResponse({"reason": told(error)}, status=400)
    except ClockWentBackError as error:
        return JsonResponse({"reason": told(error)}, status=503)


def _opened(request: HttpRequest) -> tuple[datetime, list[Any]]:
    """Return when a parcel was sent by the device's clock, and its entries.

    Raises:
        ParcelRefusedError: it is too large, or no parcel.
    """
    if int(request.headers.get("Content-Length") or 0) > LONGEST:
        raise ParcelRefusedError(gettext("it has more than {longest} kB", longest=LONGEST // 1024))
    try:
        parcel = json.loads(request.body)
        sent, entries = _moment(parcel["sent_at"]), parcel["entries"]
    except (ValueError, TypeError, KeyError, RecursionError, EntryRefusedError):
        raise ParcelRefusedError(gettext("it is not JSON with sent_at and entries")) from None
    if not isinstance(entries, list) or len(entries) > MOST:
        raise ParcelRefusedError(gettext("it is no list of at most {most} entries", most=MOST))
    return sent, entries


def _answer(one: Any, sent: datetime) -> dict[str, Any]:
    """Record one entry and say what became of it; `again` when a new sign-in of its author would change that."""
    number = one.get("client_id") if isinstance(one, dict) else None
    try:
        draft = _draft(one, sent)
        device, author = read_author_token(str(one.get("token", "")))
        before = Entry.objects.filter(client_id=draft.client_id).exists()
        entry = record(draft, author, device)
    except ClockWentBackError:
        raise
    except UpsidesError as error:
        again = isinstance(error, AuthorTokenError)
        return {"client_id": number, "outcome": "refused", "reason": told(error), "again": again}
    reader = visitor(author, barn=device.shared)
    words = done(written([entry], moments.now(), reader)[0])
    return {"client_id": number, "outcome": "already" if before else "recorded", "number": entry.pk, "words": words}


def _draft(one: Any, sent: datetime) -> Draft:
    """Return an entry as the phone wrote it down.

    Raises:
        EntryRefusedError: a part of it is missing or of the wrong kind.
    """
    if not isinstance(one, dict):
        raise EntryRefusedError(gettext("entry"), str(one)[:40], gettext("it is no entry"), gettext("enter it again"))
    values, horse = one.get("values"), one.get("horse")
    if not isinstance(values, Mapping):
        raise EntryRefusedError(
            gettext("values"), str(values)[:40], gettext("they have no names"), gettext("enter it again")
        )
    gallop = one.get("gallop")
    for what, number in (("horse", horse), ("gallop", gallop)):
        if number is not None and not (isinstance(number, int) and 0 < number < 10**9):
            raise EntryRefusedError(
                what, str(number)[:40], gettext("it is no number"), gettext("choose the {what} again", what=what)
            )
    happened, supersedes = one.get("happened_at"), one.get("supersedes")
    return Draft(
        client_id=_number(one.get("client_id")),
        kind=str(one.get("kind", "")),
        horse=horse,
        gallop=gallop,
        values=values,
        made_at=_in_the_yard(_moment(one.get("made_at")), sent),
        happened_at=None if happened is None else _in_the_yard(_moment(happened), sent),
        supersedes=None if supersedes is None else _number(supersedes),
        withdrawn=one.get("withdrawn") is True,
    )


def _number(text: Any) -> UUID:
    try:
        return UUID(str(text))
    except ValueError:
        raise EntryRefusedError(
            gettext("number"), str(text)[:40], gettext("it is no UUID"), gettext("enter it again")
        ) from None


def _moment(text: Any) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except (ValueError, TypeError):
        moment = None
    if moment is None or moment.tzinfo is None or not _FIRST <= moment.year < _LAST:
        raise EntryRefusedError(
            gettext("time"),
            str(text)[:40],
            gettext("it is no moment"),
            gettext("set the phone's clock and enter it again"),
        )
    return moment


def _in_the_yard(moment: datetime, sent: datetime) -> datetime:
    """Return a phone's time as it is; in an invented yard moved, by the clock on its wall, with the day of sending."""
    place = clock.place()
    if place.fixed_day is None:
        return moment
    return moment.astimezone(place.zone) + (place.fixed_day - sent.astimezone(place.zone).date())
