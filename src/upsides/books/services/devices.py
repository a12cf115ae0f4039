"""Devices: which phone or computer this is, and in whose name entries come from it.

A browser holds a token in a cookie; the books hold only its SHA-256. A token begins with `barn-` on a shared phone
and with `own-` on somebody's own. A program that sends recordings holds a key, which begins with `upload-`; what the
books hold of it begins so too, so that no browser gets in by it.
"""

import hashlib
import secrets

from django.core import signing

from upsides.books import clock
from upsides.books.models import Device, Person
from upsides.books.queries.devices import UPLOAD_PREFIX
from upsides.errors import (
    AuthorClosedError,
    AuthorTokenUnreadableError,
    DeviceNamelessError,
    DeviceRevokedError,
    TrustLostError,
    UploadKeyNamelessError,
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


def add_upload_key(name: str, by: Person) -> tuple[Device, str]:
    """Make a key with which a device or a program sends recordings, and does nothing else.

    Args:
        name: what will send with it.
        by: who makes it.

    Returns:
        The device, and the key, which is kept nowhere else.

    Raises:
        UploadKeyNamelessError: the name is empty.
    """
    if not name.strip():
        raise UploadKeyNamelessError
    token = UPLOAD_PREFIX + secrets.token_urlsafe(32)
    return _enter(_hashed_key(token), name.strip(), shared=True, person=None, added_by=by), token


def key_of(token: str) -> Device | None:
    """Return the device that a key is of, None where it is no key or was ended."""
    if not token.startswith(UPLOAD_PREFIX):
        return None
    return Device.objects.filter(token_hash=_hashed_key(token), revoked_at=None).first()


def _add(token: str, name: str, *, shared: bool, person: Person | None, added_by: Person) -> Device:
    if not name.strip():
        raise DeviceNamelessError
    return _enter(_hashed(token), name.strip(), shared=shared, person=person, added_by=added_by)


def _enter(token_hash: str, name: str, *, shared: bool, person: Person | None, added_by: Person) -> Device:
    return Device.objects.create(
        token_hash=token_hash,
        name=name[:NAME_LENGTH],
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


def _hashed_key(token: str) -> str:
    """Return what the books hold of a key: marked, and 57 digits of its hash, 228 bits."""
    return (UPLOAD_PREFIX + _hashed(token))[:64]
