"""Who may do what about working hours."""

from upsides.books.models import Role
from upsides.books.queries.staff import WORKING
from upsides.books.queries.visitors import Visitor
from upsides.web.shell.access import OFFICE, Roles

SEES_WEEK: Roles = WORKING
"""Everybody who works in the yard: names and hours, and that somebody is off."""

KEEPS: Roles = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY, Role.HEAD_PERSON})
"""Who enters that somebody is off, and so knows why; who keeps the yard's lists."""

CHANGES: Roles = OFFICE
"""Who changes hours, and what binds jockeys."""


PLANS_WORK: Roles = frozenset({Role.TRAINER, Role.ASSISTANT})
"""Who says what a morning takes."""


def knows_why(who: Visitor) -> bool:
    """Return whether somebody may know why another is off, and whose hours go over a limit."""
    return bool(who.roles & (KEEPS or frozenset()))


def changes(who: Visitor) -> bool:
    """Return whether somebody may change hours."""
    return bool(who.roles & (CHANGES or frozenset()))
