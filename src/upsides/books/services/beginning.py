"""Beginning a yard: its name, its place, its trainer."""

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from allauth.mfa.models import Authenticator
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from upsides.books.models import Person, Role, Yard
from upsides.books.services.people import add_person
from upsides.errors import PasswordWeakError, PersonUnknownError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.jurisdictions import place_named


@dataclass(frozen=True, slots=True)
class Begun:
    """How far a yard has been set up.

    Args:
        yard: its name, empty for none.
        trainer: whether somebody can sign in as its trainer.
    """

    yard: str
    trainer: bool


FEED_TIMES = ["morning", "noon", "evening"]
"""The feeds of a day, until the yard says otherwise."""


def begun() -> Begun:
    """Return how far the yard has been set up."""
    name = Yard.objects.values_list("name", flat=True).first() or ""
    return Begun(name, trainers().exists())


def trainers() -> QuerySet[Person]:
    """Return the trainers who can sign in."""
    return Person.objects.filter(is_active=True, login__isnull=False, posts__role=Role.TRAINER)


def check_place(country: str, zone: str) -> None:
    """Refuse a country or a time zone that is not one.

    Raises:
        UnreadableError: it is not known.
    """
    place_named(country)
    try:
        datetime.now(UTC).astimezone(ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError):
        raise UnreadableError(_("time zone"), zone, _("Europe/London, Australia/Sydney or Asia/Tokyo")) from None


def check_password(password: str, login: str = "", name: str = "") -> None:
    """Refuse a password that would be guessed.

    Raises:
        PasswordWeakError: it is too short, too common or too like the person's name.
    """
    try:
        validate_password(password, Person(login=login, name=name))
    except ValidationError as error:
        raise PasswordWeakError(list(error.messages)) from None


@transaction.atomic
def begin_yard(name: str, country: str, zone: str) -> Yard:
    """Write down the yard, or name the one that was upgraded from books that had none.

    Raises:
        UnreadableError: the country or the time zone is not known.
    """
    check_place(country, zone)
    yard = Yard.objects.first() or Yard(pk=1)
    yard.name, yard.jurisdiction, yard.zone = name, country, zone
    yard.feed_times = yard.feed_times or FEED_TIMES
    yard.save()
    return yard


def begin_trainer(name: str, login: str, password: str) -> Person:
    """Let the trainer in.

    Raises:
        PasswordWeakError: the password would be guessed.
    """
    check_password(password, login, name)
    return add_person(name, [Role.TRAINER], login=login, password=password)


def new_password(login: str, password: str) -> Person:
    """Give somebody a new password, take the second step off, and end what is signed in under the old one.

    Args:
        login: sign-in name, empty for the only trainer.
        password: the new one.

    Raises:
        PersonUnknownError: nobody signs in under that name.
        PasswordWeakError: the password would be guessed.
    """
    found = trainers() if not login else Person.objects.filter(login=login.strip().lower(), erased_at=None)
    person = found.first() if found.count() == 1 else None
    if person is None:
        raise PersonUnknownError(login)
    check_password(password, person.login or "", person.name)
    with transaction.atomic():
        person.set_password(password)
        person.trust += 1
        person.save()
        Authenticator.objects.filter(user=person).delete()
    return person
