"""Who may open which page.

Each area lists its own pages in `ACCESS` beside its addresses; what is not listed there is shut.
"""

from collections.abc import Mapping
from functools import cache
from importlib import import_module

from upsides.books.models import Role
from upsides.books.queries.visitors import STAFF, STAFF_INSIDE

Roles = frozenset[Role] | None

ANYONE: Roles = None
"""Also people who have not signed in."""

SIGNED_IN: Roles = frozenset(Role)
EVERY_HORSE: Roles = STAFF
INSIDE: Roles = STAFF_INSIDE
OFFICE: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY})
TRAINER: Roles = frozenset({Role.TRAINER})

AREAS = (
    "signin",
    "morning",
    "checks",
    "clock",
    "string",
    "horses",
    "races",
    "pedigree",
    "people",
    "staff",
    "barn",
    "diary",
    "medicine",
    "feeding",
    "shape",
    "legs",
    "pictures",
    "bloods",
    "trip",
    "recordings",
    "condition",
    "planning",
    "programme",
    "sales",
    "tables",
    "jobs",
)


@cache
def access() -> Mapping[str, Roles]:
    """Return the roles that may open each named page; None for a page that is open to anyone."""
    listed: dict[str, Roles] = {}
    for area in AREAS:
        listed |= import_module(f"upsides.web.{area}.urls").ACCESS
    return listed


def may_open(name: str | None, roles: frozenset[Role] | None) -> bool:
    """Return whether somebody with these roles may open a page.

    Args:
        name: the page's name, None for an address without one, which is shut.
        roles: the person's roles, None for somebody who has not signed in.
    """
    if name is None or name not in access():
        return False
    wanted = access()[name]
    return wanted is None or (roles is not None and bool(wanted & roles))
