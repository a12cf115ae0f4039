"""Who is looking, and what that person may see."""

from dataclasses import dataclass

from django.db.models import Q

from upsides.books import clock
from upsides.books.models import Horse, Inside, Person, Release, Role, Share

STAFF_INSIDE = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON, Role.SECRETARY})
"""Roles to which figures, chances and plans are open without a release."""

CALLS_INSIDE = frozenset({Role.TRAINER})
"""Roles to which what others called is open without a release; one's own calls always are."""

BARN_ROLES = frozenset({Role.HEAD_PERSON, Role.CARER, Role.RIDER})
"""Roles that count on a barn phone; whoever has none of them counts as one who looks after horses."""

STAFF = frozenset(Role) - {Role.OWNER}
"""Roles that see every horse; an owner sees his own."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Somebody who has signed in.

    Args:
        person: who.
        roles: what for; on a barn phone only what counts there.
        barn: whether this is a barn phone.
    """

    person: Person
    roles: frozenset[Role]
    barn: bool

    @property
    def sees_all_horses(self) -> bool:
        """Return whether every horse of the yard is open, not only the person's own."""
        return bool(self.roles & STAFF)


def visitor(person: Person, *, barn: bool) -> Visitor:
    """Return who is looking, with the roles that count on this device."""
    roles = frozenset(Role(role) for role in person.posts.values_list("role", flat=True))
    if barn:
        roles = roles & BARN_ROLES or frozenset({Role.CARER})
    return Visitor(person, roles, barn)


@dataclass(frozen=True, slots=True)
class Open:
    """For which horses some inside information is open to somebody.

    Args:
        everything: for all horses.
        horses: else for these, by number.
    """

    everything: bool
    horses: frozenset[int] = frozenset()

    def __contains__(self, horse: object) -> bool:
        return self.everything or horse in self.horses

    def __bool__(self) -> bool:
        return self.everything or bool(self.horses)


def inside_roles(what: Inside) -> frozenset[Role]:
    """Return the roles to which something is open without a release."""
    return CALLS_INSIDE if what == Inside.CALLS else STAFF_INSIDE


def opened(who: Visitor, what: Inside) -> Open:
    """Return for which horses `what` is open to `who`: by role, or by releases that stand now.

    Nothing is open on a barn phone, which lies about. What is released to owners is open to each for his own horses,
    and so is whatever is released to somebody who sees only his own.
    """
    if who.barn:
        return Open(everything=False)
    if who.roles & inside_roles(what):
        return Open(everything=True)
    theirs = Q(person=who.person) | Q(role__in=who.roles)
    given: set[tuple[int | None, str]] = set(
        Release.objects.filter(theirs, what=what, ended_at=None).values_list("horse", "role")
    )
    as_owner = {horse for horse, role in given if role == Role.OWNER or not who.sees_all_horses}
    as_staff = {horse for horse, role in given if role != Role.OWNER and who.sees_all_horses}
    if None in as_staff:
        return Open(everything=True)
    owned = shares_of(who.person) if as_owner else frozenset()
    own = owned if None in as_owner else owned & as_owner
    return Open(everything=False, horses=own | {horse for horse in as_staff if horse is not None})


def shares_of(person: Person) -> frozenset[int]:
    """Return the numbers of the horses that a person owns a share of today."""
    day = clock.today()
    running = Q(last_day=None) | Q(last_day__gte=day)
    shares = Share.objects.filter(running, owner=person, first_day__lte=day)
    return frozenset(shares.values_list("horse", flat=True))


def own_horses(who: Visitor) -> frozenset[int] | None:
    """Return the numbers of the horses that `who` may see, None for somebody who sees them all."""
    return None if who.sees_all_horses else shares_of(who.person)


def may_see_horse(who: Visitor, number: int) -> bool:
    """Return whether a horse is open to `who` at all."""
    own = own_horses(who)
    return Horse.objects.filter(pk=number).exists() if own is None else number in own
