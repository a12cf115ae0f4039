"""Devices: which phone or computer this is, and in whose name entries come from it.

A browser holds a token in a cookie; the books hold only its SHA-256. A token begins with `barn-` on a shared phone
and with `own-` on somebody's own.
"""

import hashlib
import secrets

from django.core import signing

from upsides.books import clock
from upsides.books.models import Device, Person
from upsides.errors import (
    AuthorClosedError,
    AuthorTokenUnreadableError,
    DeviceNamelessError,
    DeviceRevokedError,
    TrustLostError,
)

SHARED_PREFIX, OWN_PREFIX = "barn-", "own-"
NAME_LENGTH = 60
_SALT = "upsides.author"


def add_shared(name: str, by: Person) -> tuple[Device, str]:
    """Enter a phone that people of a barn share.

    Args:
        name: what it is called, most usefully the barn that it hangs in.
        by: who makes it one.

    Returns:
        The device, and the token for its cookie, which is kept nowhere else.

    Raises:
        DeviceNamelessError: the name is empty.
    """
    token = SHARED_PREFIX + secrets.token_urlsafe(32)
    return _add(token, name, shared=True, person=None, added_by=by), token


def add_own(person: Person, name: str) -> tuple[Device, str]:
    """Enter somebody's own phone or computer.

    Returns:
        The device, and the token for its cookie, which is kept nowhere else.

    Raises:
        DeviceNamelessError: the name is empty.
    """
    token = OWN_PREFIX + secrets.token_urlsafe(32)
    return _add(token, name, shared=False, person=person, added_by=person), token


def _add(token: str, name: str, *, shared: bool, person: Person | None, added_by: Person) -> Device:
    name = name.strip()[:NAME_LENGTH]
    if not name:
        raise DeviceNamelessError
    return Device.objects.create(
        token_hash=_hashed(token),
        name=name,
        shared=shared,
        person=person,
        added_by=added_by,
        added_at=clock.now(),
    )


def device_of(token: str) -> Device | None:
    """Return the device that holds a token, None when there is none or it was ended."""
    return Device.objects.filter(token_hash=_hashed(token), revoked_at=None).first() if token else None


def revoke(device: Device) -> None:
    """End a device: its token and what was signed for it hold no longer. Its entries stay."""
    Device.objects.filter(pk=device.pk, revoked_at=None).update(revoked_at=clock.now())


def revoke_all_of(person: Person) -> None:
    """End every device of one person."""
    Device.objects.filter(person=person, revoked_at=None).update(revoked_at=clock.now())


def author_token(device: Device, person: Person) -> str:
    """Return a mark that entries kept on a device carry, so that they count as that person's when they arrive.

    It holds until the device is ended, or the person's sign-in is closed or all its sign-ins are ended.
    """
    return signing.dumps([device.pk, person.pk, person.trust], salt=_SALT)


def read_author_token(text: str) -> tuple[Device, Person]:
    """Return from which device entries come, and whose they are.

    Raises:
        AuthorTokenUnreadableError: the mark was not given here, or was altered.
        DeviceRevokedError: the device was ended.
        AuthorClosedError: the person's sign-in is closed.
        TrustLostError: the person was signed out everywhere since.
    """
    number, author, trust = _unsigned(text)
    device = Device.objects.filter(pk=number).first()
    person = Person.objects.filter(pk=author).first()
    if device is None or person is None or device.person_id not in {None, person.pk}:
        raise AuthorTokenUnreadableError
    if device.revoked_at is not None:
        raise DeviceRevokedError(device.name)
    if not person.is_active:
        raise AuthorClosedError(person.pk)
    if person.trust != trust:
        raise TrustLostError(person.pk)
    return device, person


def _unsigned(text: str) -> tuple[int, int, int]:
    try:
        device, person, trust = signing.loads(text, salt=_SALT)
    except (signing.BadSignature, ValueError):
        raise AuthorTokenUnreadableError from None
    return device, person, trust


def _hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
