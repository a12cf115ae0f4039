"""Reads of people: the list and one person."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any

from allauth.mfa.models import Authenticator
from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX

from upsides.books.models import Horse, Person, Post, Role, Share
from upsides.books.queries import boxes, moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import STAFF, Visitor
from upsides.books.riding import Riding

MAY_CHANGE = frozenset({Role.TRAINER, Role.SECRETARY})
"""Roles that may change people."""


_RIDING = ("born", "weight_kg", "skill", "claim_lb", "minimum_lb")
_FIELDS = ("id", "name", "login", "email", "phone", "barn", "is_active", "erased_at", *_RIDING)


class SignIn(Enum):
    """Whether somebody can sign in."""

    OPEN = "open"
    INVITED = "invited"
    CLOSED = "closed"
    NEVER = "never"
    ERASED = "erased"


@dataclass(frozen=True, slots=True)
class Listed:
    """One person as a list shows it.

    Args:
        number: of the person.
        name: the name.
        roles: what for, in the order of the trade.
        barn: barn worked in, empty for none.
        sign_in: whether the person can sign in; one who has not yet chosen a password is invited.
        second_factor: whether signing in asks for a second factor; None for an earlier moment, which is not kept.
        pin: whether there is a PIN for barn phones; None for an earlier moment.
    """

    number: int
    name: str
    roles: tuple[Role, ...]
    barn: str
    sign_in: SignIn
    second_factor: bool | None
    pin: bool | None


@dataclass(frozen=True, slots=True)
class _Means:
    """By what somebody gets in: a password that the person chose, a second factor, a PIN."""

    password: bool
    second_factor: bool
    pin: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """One person as its own page shows it.

    Args:
        listed: what the list shows.
        login: sign-in name, empty for none.
        email: address for letters.
        phone: number for calls.
        erased_at: when the person was erased.
        horses: those it looks after.
        shares: what it owns, with its horses.
        riding: what riding takes of the person.
    """

    listed: Listed
    login: str
    email: str
    phone: str
    erased_at: datetime | None
    horses: list[Horse]
    shares: list[Share]
    riding: Riding


def people(
    moment: Moment, *, text: str = "", role: str = "", barn: str = "", sign_in: str = "", erased: bool = False
) -> list[Listed]:
    """Return the people that fit, by name.

    Args:
        moment: when.
        text: part of a name or of a sign-in name.
        role: only those who are there for this.
        barn: only those of this barn.
        sign_in: only those of this state, a value of `SignIn`.
        erased: whether erased people are listed too.
    """
    sought = text.casefold().split()
    return [
        one
        for row, one in _everybody(moment)
        if all(part in f"{row['name']} {row['login'] or ''}".casefold() for part in sought)
        and (not role or role in one.roles)
        and barn in {"", one.barn}
        and sign_in in {"", one.sign_in.value}
        and (erased or SignIn.ERASED.value == sign_in or one.sign_in is not SignIn.ERASED)
    ]


def person(number: int, moment: Moment) -> Shown | None:
    """Return one person, None where there was none."""
    found = next(iter(_everybody(moment, number)), None)
    if found is None:
        return None
    row, listed = found
    horses = moments.in_training(moment).filter(carer=number).order_by("name")
    shares = moments.rows(Share, moment).filter(owner=number).order_by("first_day", "id")
    details = (row["login"] or "", row["email"], row["phone"], row["erased_at"])
    return Shown(listed, *details, list(horses), list(shares), Riding(*(row[field] for field in _RIDING)))


def barns(moment: Moment) -> list[str]:
    """Return the names of the barns: those that have boxes in walking order, then others that people are in."""
    own = set(moments.rows(Person, moment).exclude(barn="").values_list("barn", flat=True))
    walked = boxes.barns(moment)
    return walked + sorted(own - set(walked), key=str.casefold)


def may_change(who: Visitor, roles: Iterable[Role]) -> bool:
    """Return whether `who` may change a person with these roles: only a trainer changes a trainer."""
    return bool(who.roles & MAY_CHANGE) and (Role.TRAINER in who.roles or Role.TRAINER not in roles)


def sees_contact(who: Visitor, roles: Iterable[Role]) -> bool:
    """Return whether `who` needs to reach such a person: the office reaches all, an assistant those who work here."""
    return bool(who.roles & MAY_CHANGE) or (Role.ASSISTANT in who.roles and bool(STAFF & frozenset(roles)))


def _everybody(moment: Moment, number: int | None = None) -> list[tuple[dict[str, Any], Listed]]:
    """Return each person's row with what a list shows of it, by name; or that of one person only."""
    rows = moments.rows(Person, moment).values(*_FIELDS)
    posts = moments.rows(Post, moment).values_list("person", "role")
    if number is not None:
        rows, posts = rows.filter(pk=number), posts.filter(person=number)
    roles: dict[int, set[Role]] = defaultdict(set)
    for holder, role in posts:
        roles[holder].add(Role(role))
    found = list(rows)
    means = _means() if moment.at is None else {}
    listed = [(dict(row), _listed(row, roles[row["id"]], means.get(row["id"]))) for row in found]
    return sorted(listed, key=lambda one: (one[1].name.casefold(), one[1].number))


def _listed(row: Any, roles: set[Role], means: _Means | None) -> Listed:
    in_order = tuple(role for role in Role if role in roles)
    state = _sign_in(row, chosen=means.password if means else True)
    return Listed(
        row["id"],
        row["name"],
        in_order,
        row["barn"],
        state,
        means.second_factor if means else None,
        means.pin if means else None,
    )


def _sign_in(row: Any, *, chosen: bool) -> SignIn:
    if row["erased_at"]:
        return SignIn.ERASED
    if not row["is_active"]:
        return SignIn.CLOSED
    if not row["login"]:
        return SignIn.NEVER
    return SignIn.OPEN if chosen else SignIn.INVITED


def _means() -> dict[int, _Means]:
    """Return by what each person can get in now."""
    second = set(Authenticator.objects.filter(type=Authenticator.Type.TOTP).values_list("user_id", flat=True))
    return {
        number: _Means(not password.startswith(UNUSABLE_PASSWORD_PREFIX), number in second, bool(pin))
        for number, password, pin in Person.objects.values_list("pk", "password", "pin")
    }
