"""Writes about people: who they are, what they are there for, whether they can sign in.

Everybody who may open the pages of people may change them, with one bound that holds here: only a trainer makes a
trainer, or changes one. And a yard is never left without a trainer who can sign in.
"""

from collections.abc import Iterable
from dataclasses import asdict

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX, make_password
from django.db import IntegrityError, transaction
from django.db.models import Q

from upsides.books import clock
from upsides.books.models import Bond, DayOff, Device, Person, PinTry, Post, Release, Role, SavedView, Shift
from upsides.books.riding import NOTHING, Riding
from upsides.books.services.devices import revoke_all_of
from upsides.books.services.pins import hashed_pin
from upsides.errors import (
    LastTrainerError,
    PersonErasedError,
    PersonNamelessError,
    RolesMissingError,
    SignInNameTakenError,
    SignInNameUnusableError,
    TrainersOnlyError,
)

ERASED, PIN_SET, PIN_CLEARED = "erased", "pin set", "pin cleared"
INVITED, SECOND_STEP_TAKEN = "invited", "second step taken"
"""Reasons in the history of a person, for what its rows do not show."""


@transaction.atomic
def add_person(
    name: str,
    roles: Iterable[Role | str],
    *,
    by: Person | None = None,
    login: str = "",
    password: str | None = None,
    pin: str = "",
    barn: str = "",
    email: str = "",
    phone: str = "",
    riding: Riding = NOTHING,
) -> Person:
    """Enter a person with one or more roles.

    Args:
        name: name as it is called in the yard.
        roles: what the person is there for.
        by: who enters it, None for the program.
        login: sign-in name, empty for somebody who never signs in.
        password: None for somebody who has yet to choose one.
        pin: digits for barn phones, empty for none.
        barn: barn worked in, empty for none.
        email: for letters.
        phone: for calls.
        riding: what riding takes of the person.

    Returns:
        The person.

    Raises:
        PersonFieldError: one of these cannot be entered; nothing is.
    """
    wanted = _checked_roles(roles)
    if by is not None and Role.TRAINER in wanted and not is_trainer(by):
        raise TrainersOnlyError
    person = Person(name=_checked_name(name), login=_checked_login(login), barn=barn.strip())
    person.email, person.phone, person.pin = email.strip(), phone.strip(), hashed_pin(pin) if pin else ""
    person.password = make_password(password)
    for field, value in asdict(riding).items():
        setattr(person, field, value)
    _save(person, by)
    for role in sorted(wanted):
        _begin(Post(person=person, role=role), by)
    return person


@transaction.atomic
def change_person(
    person: Person,
    by: Person,
    *,
    name: str,
    roles: Iterable[Role | str],
    login: str = "",
    barn: str = "",
    email: str = "",
    phone: str = "",
    riding: Riding | None = None,
) -> Person:
    """Change who somebody is and what for. A new address for letters ends the old one's use.

    Args:
        person: whom.
        by: who changes it.
        name: name as it is called in the yard.
        roles: what the person is there for.
        login: sign-in name, empty for none.
        barn: barn worked in, empty for none.
        email: for letters.
        phone: for calls.
        riding: what riding takes of the person, None to leave that as it is.

    Returns:
        The person as it stands now.

    Raises:
        PersonFieldError: one of these cannot be entered; nothing is.
        PersonErasedError: the person was erased.
    """
    wanted = _checked_roles(roles)
    person = locked_for_change(person, by)
    if Role.TRAINER in wanted and not is_trainer(by):
        raise TrainersOnlyError
    login = _checked_login(login, person.pk)
    if is_trainer(person) and (Role.TRAINER not in wanted or not login):
        _keep_a_trainer(person)
    if email.strip() != person.email:
        EmailAddress.objects.filter(user_id=person.pk).delete()
    after = {"name": _checked_name(name), "login": login or None, "barn": barn.strip()}
    after |= {"email": email.strip(), "phone": phone.strip()} | (asdict(riding) if riding else {})
    if any(getattr(person, field) != value for field, value in after.items()):
        for field, value in after.items():
            setattr(person, field, value)
        _save(person, by)
    _set_roles(person, wanted, by)
    return person


@transaction.atomic
def close_sign_in(person: Person, by: Person) -> None:
    """Close somebody's sign-in: sessions and devices end at once, what was entered stays.

    Raises:
        TrainersOnlyError: only a trainer may close a trainer's.
        LastTrainerError: this is the only trainer who can sign in.
        PersonErasedError: the person was erased.
    """
    person = locked_for_change(person, by)
    if is_trainer(person):
        _keep_a_trainer(person)
    person.is_active = False
    person.trust += 1
    _save(person, by)
    revoke_all_of(person)


@transaction.atomic
def reopen_sign_in(person: Person, by: Person) -> None:
    """Open a closed sign-in again; sessions and devices that were ended stay so.

    Raises:
        TrainersOnlyError: only a trainer may open a trainer's.
        PersonErasedError: the person was erased.
    """
    person = locked_for_change(person, by)
    person.is_active = True
    _save(person, by)


@transaction.atomic
def set_pin(person: Person, pin: str, by: Person) -> None:
    """Give somebody a PIN for barn phones; wrong tries of the old one no longer count.

    Raises:
        PinUnusableError: it is too easy, too short, too long, or not of digits.
        TrainersOnlyError: only a trainer may set a trainer's.
        PersonErasedError: the person was erased.
    """
    person = locked_for_change(person, by)
    person.pin = hashed_pin(pin)
    PinTry.objects.filter(person=person, right=False).delete()
    _save(person, by, PIN_SET)


@transaction.atomic
def clear_pin(person: Person, by: Person) -> None:
    """Take somebody's PIN away, so that the name stands on no barn phone.

    Raises:
        TrainersOnlyError: only a trainer may clear a trainer's.
        PersonErasedError: the person was erased.
    """
    person = locked_for_change(person, by)
    person.pin = ""
    _save(person, by, PIN_CLEARED)


@transaction.atomic
def erase(person: Person, by: Person) -> None:
    """Blank all that is personal about somebody, now and in the history; entries and shares keep the number.

    The last row of the history says who did it and when.

    Raises:
        TrainersOnlyError: only a trainer may erase a trainer.
        LastTrainerError: this is the only trainer who can sign in.
        PersonErasedError: the person was erased before.
    """
    person = locked_for_change(person, by)
    if is_trainer(person):
        _keep_a_trainer(person)
    moment = clock.now()
    _set_roles(person, frozenset(), by)
    Release.objects.filter(person=person, ended_at=None).update(ended_at=moment)
    Device.objects.filter(person=person).update(name="–")
    revoke_all_of(person)
    for model in (PinTry, SavedView):
        model._default_manager.filter(person=person).delete()
    for dated in (Shift, DayOff, Bond):
        dated._default_manager.filter(person=person).delete()
        dated.history.filter(person=person.pk).delete()
    for theirs in (EmailAddress, Authenticator, UserSession):
        theirs.objects.filter(user_id=person.pk).delete()
    blank = {"name": f"person {person.pk}", "login": None, "email": "", "phone": "", "barn": ""} | asdict(NOTHING)
    for field, value in blank.items():
        setattr(person, field, value)
    person.pin, person.is_active, person.erased_at = "", False, moment
    person.trust += 1
    person.set_unusable_password()
    _save(person, by, ERASED)
    Person.history.filter(id=person.pk).update(**blank)


@transaction.atomic
def remember(person: Person, by: Person, reason: str) -> None:
    """Keep in somebody's history what was done about the sign-in, and by whom.

    Raises:
        TrainersOnlyError: it is a trainer's, and `by` is none.
        PersonErasedError: the person was erased.
    """
    _save(locked_for_change(person, by), by, reason)


def is_trainer(person: Person) -> bool:
    """Return whether somebody is a trainer."""
    return Post.objects.filter(person=person, role=Role.TRAINER).exists()


def locked_for_change(person: Person, by: Person) -> Person:
    """Return the person as it stands, held until the transaction ends; so are all trainers, lest two leave at once.

    Raises:
        TrainersOnlyError: it is a trainer, and `by` is none.
        PersonErasedError: the person was erased.
    """
    trainers = Post.objects.filter(role=Role.TRAINER).values("person")
    concerned = Person.objects.select_for_update().filter(Q(pk=person.pk) | Q(pk__in=trainers)).order_by("pk")
    held = next(one for one in concerned if one.pk == person.pk)
    if held.erased_at is not None:
        raise PersonErasedError(held.pk)
    if is_trainer(held) and not is_trainer(by):
        raise TrainersOnlyError
    return held


def _keep_a_trainer(leaving: Person) -> None:
    """Refuse to lose the last trainer who can sign in."""
    others = Person.objects.filter(posts__role=Role.TRAINER, is_active=True, login__isnull=False).exclude(pk=leaving.pk)
    if others.exclude(password__startswith=UNUSABLE_PASSWORD_PREFIX).exists():
        return
    raise LastTrainerError(leaving.name)


def _checked_name(name: str) -> str:
    name = " ".join(name.split())
    if not any(letter.isalnum() for letter in name):
        raise PersonNamelessError
    return name


def _checked_login(login: str, number: int | None = None) -> str:
    login = login.strip().lower()
    if not all(letter.isalnum() or letter in ".-_@+" for letter in login):
        raise SignInNameUnusableError(login)
    if login and Person.objects.filter(login=login).exclude(pk=number or 0).exists():
        raise SignInNameTakenError(login)
    return login


def _checked_roles(roles: Iterable[Role | str]) -> frozenset[Role]:
    wanted = frozenset(Role(role) for role in roles)
    if not wanted:
        raise RolesMissingError
    return wanted


def _set_roles(person: Person, wanted: frozenset[Role], by: Person) -> None:
    has = {Role(post.role): post for post in Post.objects.filter(person=person)}
    for role in sorted(has.keys() - wanted):
        has[role]._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
        has[role].delete()
    for role in sorted(wanted - has.keys()):
        _begin(Post(person=person, role=role), by)


def _begin(post: Post, by: Person | None) -> None:
    post._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    post.save()


def _save(person: Person, by: Person | None, reason: str | None = None) -> None:
    person._change_reason = reason  # type: ignore[attr-defined]  # simple_history reads it
    person._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    try:
        with transaction.atomic():
            person.save()
    except IntegrityError as error:  # somebody else took the name between the look and the write
        raise SignInNameTakenError(person.login or "") from error
