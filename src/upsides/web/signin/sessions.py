"""Where somebody is signed in, and ending that."""

from dataclasses import dataclass
from datetime import datetime

from allauth.usersessions.internal.flows.sessions import end_sessions
from allauth.usersessions.models import UserSession
from django.contrib.auth import update_session_auth_hash
from django.db.models import F
from django.http import HttpRequest

from upsides.books.models import Person
from upsides.web.signin.devices import described


@dataclass(frozen=True, slots=True)
class SignedIn:
    """One browser in which a person is signed in.

    Args:
        number: of the session.
        device: browser and device in words.
        since: when the person signed in there.
        here: whether it is the one that asks.
    """

    number: int
    device: str
    since: datetime
    here: bool


def signed_in(person: Person, key: str | None) -> list[SignedIn]:
    """Return where a person is signed in: the browser that asks first, then the latest.

    Args:
        person: who.
        key: the key of the session that asks.
    """
    found = UserSession.objects.purge_and_list(person)
    rows = [SignedIn(one.pk, described(one.user_agent), one.created_at, one.session_key == key) for one in found]
    return sorted(rows, key=lambda row: (row.here, row.since), reverse=True)


def end_one(request: HttpRequest, person: Person, number: int) -> bool:
    """Sign a person out in one browser; return whether the person was signed in there."""
    found = list(UserSession.objects.filter(user=person, pk=number))
    end_sessions(request, found)
    return bool(found)


def end_others(request: HttpRequest, person: Person) -> None:
    """Sign a person out everywhere but in this browser, barn phones and entries kept on phones included."""
    Person.objects.filter(pk=person.pk).update(trust=F("trust") + 1)
    person.refresh_from_db(fields=["trust"])
    before = request.session.session_key
    update_session_auth_hash(request, person)
    request.session.save()
    UserSession.objects.filter(user=person, session_key=before).update(session_key=request.session.session_key)
    end_sessions(
        request, list(UserSession.objects.filter(user=person).exclude(session_key=request.session.session_key))
    )
