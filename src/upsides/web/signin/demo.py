"""The sign-ins of an invented yard, open to everybody who reaches its pages; a real yard has none of this."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.http import Http404
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.models import Person, Post, Role, Yard
from upsides.web.signin.backend import let_in

WORDS: Mapping[Role, Promise] = {
    Role.TRAINER: gettext_lazy("Come in as the trainer"),
    Role.ASSISTANT: gettext_lazy("Come in as an assistant trainer"),
    Role.HEAD_PERSON: gettext_lazy("Come in as a head person"),
    Role.CARER: gettext_lazy("Come in as somebody who looks after horses"),
    Role.RIDER: gettext_lazy("Come in as a work rider"),
    Role.SECRETARY: gettext_lazy("Come in as the secretary"),
    Role.VET: gettext_lazy("Come in as the vet"),
    Role.OWNER: gettext_lazy("Come in as an owner"),
}
"""What stands on the buttons, in their order."""


@dataclass(frozen=True, slots=True)
class DemoSignIn:
    """One button.

    Args:
        role: whom one comes in as.
        words: what stands on it.
        person: who that is.
    """

    role: Role
    words: Promise
    person: Person


def demo_sign_ins() -> list[DemoSignIn]:
    """Return a sign-in for each role that somebody has, none in a real yard.

    For a role that several have, it is one who has few others, so that one sees what the role sees.
    """
    if not _invented():
        return []
    roles: dict[Person, set[Role]] = {}
    for post in Post.objects.filter(person__login__isnull=False).select_related("person").order_by("person__pk"):
        if let_in(post.person):
            roles.setdefault(post.person, set()).add(Role(post.role))
    found = {
        role: min((person for person in roles if role in roles[person]), key=lambda one: len(roles[one]), default=None)
        for role in WORDS
    }
    return [DemoSignIn(role, WORDS[role], person) for role, person in found.items() if person is not None]


def demo_person(role: str) -> Person:
    """Return whom one comes in as under a role.

    Raises:
        Http404: the yard is a real one, or nobody has the role.
    """
    for one in demo_sign_ins():
        if one.role == role:
            return one.person
    raise Http404(_("There is no such sign-in here."))


def demo_password() -> str:
    """Return the password that everybody in an invented yard has."""
    from upsides.books.services.invented import DEMO_PASSWORD

    return DEMO_PASSWORD


def demo_pin() -> str:
    """Return the PIN that everybody in an invented yard has; empty in a real one."""
    from upsides.books.services.invented import DEMO_PIN

    return DEMO_PIN if _invented() else ""


def _invented() -> bool:
    yard = Yard.objects.first()
    return yard is not None and yard.invented
