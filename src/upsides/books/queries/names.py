"""What entries may name: people by role, horses, gallops, and the names of the yard's things."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any

from upsides.books.models import Gallop, Horse, Move, Person, Post, Thing, Yard
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered


@dataclass(frozen=True, slots=True)
class Lists:
    """Rows that can be chosen, by their numbers, and names that are offered.

    Args:
        people: number, name and roles of those who work in the yard or come there to work.
        horses: number and name of those in training.
        gallops: number and name of those in use.
        things: names by kind of thing; feed_time among them.
    """

    people: Sequence[tuple[int, str, tuple[str, ...]]] = ()
    horses: Sequence[tuple[int, str]] = ()
    gallops: Sequence[tuple[int, str]] = ()
    things: dict[str, list[str]] = field(default_factory=dict)

    def rows(self, of: str, roles: Collection[str] = ()) -> list[tuple[int, str]]:
        """Return the rows of one sort, people only of some roles where any are named."""
        if of == "person":
            return [(row, name) for row, name, has in self.people if not roles or set(roles) & set(has)]
        return list({"horse": self.horses, "gallop": self.gallops}[of])

    def told(self) -> dict[str, Any]:
        """Return what a phone may keep: nothing of people."""
        return {"gallops": list(self.gallops), "things": self.things}


def lists(moment: Moment) -> Lists:
    """Return what can be named at a moment."""
    tables = (Horse, Move, Person, Post, Gallop, Thing, Yard)
    return remembered("lists", moment, (), tables, lambda: _lists(moment))


def _lists(moment: Moment) -> Lists:
    gallops = moments.rows(Gallop, moment).filter(used=True).order_by("name")
    things: dict[str, list[str]] = {}
    for thing in moments.rows(Thing, moment).filter(used=True).order_by("kind", "name"):
        things.setdefault(thing.kind, []).append(thing.name)
    yard = moments.rows(Yard, moment).first()
    things["feed_time"] = list(yard.feed_times) if yard else []
    return Lists(
        people(moment),
        list(moments.in_training(moment).order_by("name").values_list("id", "name")),
        [(gallop.pk, gallop.name) for gallop in gallops],
        things,
    )


def people(moment: Moment) -> list[tuple[int, str, tuple[str, ...]]]:
    """Return those who work in the yard or come there to work: number, name and roles, in order of name."""
    roles: dict[int, list[str]] = {}
    for person, role in moments.rows(Post, moment).values_list("person_id", "role"):
        roles.setdefault(person, []).append(role)
    staff = {person: tuple(has) for person, has in roles.items() if set(has) != {"owner"}}
    named = moments.rows(Person, moment).filter(id__in=staff, is_active=True, erased_at=None).order_by("name")
    return [(person.pk, person.name, staff[person.pk]) for person in named]
