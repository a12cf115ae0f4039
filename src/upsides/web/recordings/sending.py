"""Recordings as devices send them: with a key of their own, without a session, answered in JSON.

    POST /recordings/send/?name=morning.fit   the file as the body
    POST /recordings/send/                    one or more files as multipart/form-data, under any name
    GET  /recordings/send/?job=12             what became of what this key sent

`Authorization: Bearer upload-...` goes with each. The key stands in no address, and so in no log.
"""

from datetime import timedelta
from pathlib import PurePath
from typing import IO, Any, Final, cast

from django.http import HttpRequest, JsonResponse
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from upsides.books import clock
from upsides.books.models import Device, Job, Recorded
from upsides.books.sent import Sent
from upsides.books.services.devices import key_of
from upsides.books.services.recordings import JOB, MOST_A_FILE, receive
from upsides.errors import NoRecordingsError, RecordingEmptyError, RecordingTooLargeError, UpsidesError
from upsides.errors.wording import gettext, of_kept
from upsides.web.shell.refusals import in_words, refused

A_MINUTE: Final = 60
"""So many times a minute one key may send."""
_MULTIPART: Final = "multipart/form-data"


@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def recordings_send(request: HttpRequest) -> JsonResponse:
    """Take what a device sends, or say what became of it."""
    key = _key(request)
    if key is None:
        reason = _("send the device's key as Authorization: Bearer upload-..., as the yard's page of keys gives it")
        return _answer({"refused": reason}, 401, **{"WWW-Authenticate": "Bearer"})
    if request.method != "POST":
        return _became(request, key)
    if _sent_lately(key) >= A_MINUTE:
        words = _("this key sent %(often)s times within a minute; wait a minute, and send several files at once")
        reason = words % {"often": A_MINUTE}
        return _answer({"refused": reason}, 429, **{"Retry-After": "60"})
    try:
        return _taken(_files(request), key)
    except RecordingTooLargeError as error:
        return _answer({"refused": refused(error)}, 413)
    except UpsidesError as error:
        return _answer({"refused": refused(error)}, 400)


def _key(request: HttpRequest) -> Device | None:
    scheme, _blank, token = request.headers.get("Authorization", "").partition(" ")
    return key_of(token.strip()) if scheme.lower() == "bearer" else None


def _sent_lately(key: Device) -> int:
    since = clock.now() - timedelta(minutes=1)
    return Job.objects.filter(kind=JOB, asked_at__gte=since, arguments__key=key.pk).count()


def _files(request: HttpRequest) -> list[Sent]:
    """Return what was sent.

    Raises:
        NoRecordingsError: nothing.
        RecordingEmptyError: a file of no bytes.
        RecordingTooLargeError: more than a recording can be, as the request itself says.
    """
    if (request.content_type or "").startswith(_MULTIPART):
        given = [one for files in request.FILES.lists() for one in files[1]]
        sent = [Sent(one.name or "recording", cast("IO[bytes]", one)) for one in given]
        if any(not one.size for one in given):
            raise RecordingEmptyError(next(one.name for one in given if not one.size))
        return sent
    name = PurePath(request.GET.get("name", "").replace("\\", "/")).name or gettext("recording")
    length = int(request.META.get("CONTENT_LENGTH") or 0)
    if length > MOST_A_FILE:
        raise RecordingTooLargeError(
            name, gettext("it is larger than {most_a_file} million bytes", most_a_file=MOST_A_FILE >> 20)
        )
    if not length:
        raise NoRecordingsError
    return [Sent(name, cast("IO[bytes]", request))]


def _taken(sent: list[Sent], key: Device) -> JsonResponse:
    job = receive(sent, key=key)
    found = [(one["name"], PurePath(one["path"]).name) for one in job.arguments["files"]]
    known = set(Recorded.objects.filter(sha256__in=[sha for _name, sha in found]).values_list("sha256", flat=True))
    told = {
        "received": [name for name, sha in found if sha not in known],
        "already": [name for name, sha in found if sha in known],
        "job": job.pk,
    }
    return _answer(told, 202)


def _became(request: HttpRequest, key: Device) -> JsonResponse:
    """Say what became of what this key sent."""
    number = request.GET.get("job", "")
    job = Job.objects.filter(pk=int(number), kind=JOB).first() if number.isdecimal() and len(number) < 12 else None
    if job is None or job.arguments.get("key") != key.pk:
        reason = _("this key sent nothing of that number; ask with ?job= and the number it was given")
        return _answer({"refused": reason}, 404)
    files = [_file(one) for one in (job.result or job.checkpoint or {}).get("files", ())]
    return _answer({"job": job.pk, "state": job.state, "files": files}, 200)


def _file(one: dict[str, Any]) -> dict[str, Any]:
    state = "refused" if one["refused"] else "received" if one.get("fresh", True) else "already"
    return {"file": one["file"], "state": state, "reason": in_words(of_kept(one["refused"]))}


def _answer(told: dict[str, Any], status: int, **headers: str) -> JsonResponse:
    return JsonResponse(told, status=status, headers={"Cache-Control": "no-store", **headers})
