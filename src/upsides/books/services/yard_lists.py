"""Writes about the yard itself: its name and feed times, its gallops, and things that have names.

What entries name is never deleted: it is taken out of use, and renamed in place.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import TypeVar

from django.db import IntegrityError, transaction

from upsides.books.models import Gallop, Person, Thing, Yard
from upsides.errors import UnreadableError, YardListError
from upsides.errors.wording import gettext as _
from upsides.trade.distance import Distance

LONGEST_NAME, MOST_FEEDS, LONGEST_FEED = 60, 8, 30
SHORTEST_M, LONGEST_M = 20, 20_000
MOST_RISE_M = 500
G = TypeVar("G", Gallop, Thing)


@dataclass(frozen=True, slots=True)
class Ground:
    """A gallop as it is entered.

    Args:
        name: what the yard calls it.
        surface: what it is made of.
        length_m: its length, None where it was not said.
        rise_m: how far it rises from start to end, negative where it falls.
    """

    name: str
    surface: Gallop.Surface
    length_m: int | None = None
    rise_m: int | None = None


def read_ground(name: str, surface: str, length: str, rise: str) -> Ground:
    """Read a gallop as typed.

    Raises:
        YardListError: a field cannot be right; it is named.
    """
    return Ground(_name(name), Gallop.Surface(surface), _length(length), _rise(rise))


@transaction.atomic
def keep_gallop(ground: Ground, by: Person, row: Gallop | None = None) -> Gallop:
    """Enter a gallop, or change one.

    Raises:
        YardListError: another gallop has that name.
    """
    return _keep(row or Gallop(), asdict(ground), by)


@transaction.atomic
def keep_thing(kind: Thing.Kind, name: str, by: Person, row: Thing | None = None) -> Thing:
    """Enter a thing, or rename one.

    Raises:
        YardListError: it has no name, or another of its kind has that name.
    """
    return _keep(row or Thing(), {"kind": kind, "name": _name(name)}, by)


@transaction.atomic
def set_used(row: Gallop | Thing, by: Person, *, used: bool) -> None:
    """Take a gallop or thing out of use, or use it again."""
    if row.used != used:
        row.used = used
        _save(row, by)


@transaction.atomic
def change_yard(name: str, feed_times: Iterable[str], by: Person) -> Yard:
    """Change what the yard is called and the feeds of its day.

    Raises:
        YardListError: it has no name, or its feeds cannot be told apart.
    """
    row = Yard.objects.select_for_update().get()
    feeds = [" ".join(feed.split()) for feed in feed_times if feed.strip()]
    if not feeds:
        raise YardListError("feed_times", _("a day has at least one feed; write one on each line, as morning"))
    if len({feed.casefold() for feed in feeds}) < len(feeds):
        raise YardListError("feed_times", _("two feeds have one name; call each by a name of its own"))
    if len(feeds) > MOST_FEEDS or max(map(len, feeds)) > LONGEST_FEED:
        raise YardListError(
            "feed_times",
            _(
                "write at most {most_feeds} feeds, each in at most {longest_feed} letters",
                most_feeds=MOST_FEEDS,
                longest_feed=LONGEST_FEED,
            ),
        )
    called = _name(name, longest=120)
    if (row.name, row.feed_times) != (called, feeds):
        row.name, row.feed_times = called, feeds
        _save(row, by)
    return row


def _keep(row: G, values: dict[str, object], by: Person) -> G:
    if row.pk and all(getattr(row, field) == value for field, value in values.items()):
        return row
    for field, value in values.items():
        setattr(row, field, value)
    others = type(row)._default_manager.exclude(pk=row.pk or 0)
    others = others.filter(kind=row.kind) if isinstance(row, Thing) else others
    if any(other.casefold() == row.name.casefold() for other in others.values_list("name", flat=True)):
        raise YardListError(
            _("name"), _("{name!r} is there already, in use or out of it; choose another name", name=row.name)
        )
    _save(row, by)
    return row


def _save(row: Gallop | Thing | Yard, by: Person) -> None:
    row._history_user = by  # type: ignore[union-attr]  # simple_history reads it
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:  # somebody else took the name between the look and the write
        raise YardListError(_("name"), _("{name!r} is there already; choose another name", name=row.name)) from error


def _name(text: str, longest: int = LONGEST_NAME) -> str:
    name = " ".join(text.split())
    if not any(letter.isalnum() for letter in name) or len(name) > longest:
        raise YardListError(
            _("name"), _("write a name of at most {longest} letters, as it is called in the yard", longest=longest)
        )
    return name


def _length(text: str) -> int | None:
    if not text.strip():
        return None
    try:
        metres = round(Distance.parse(text).metres)
    except UnreadableError:
        raise YardListError(
            _("length"), _("the length {text!r} cannot be read; write 5f, 1m 2f or 1000 m", text=text.strip())
        ) from None
    if not SHORTEST_M <= metres <= LONGEST_M:
        raise YardListError(
            _("length"), _("a gallop is not {metres:,} m long; write 5f, 1m 2f or 1000 m", metres=metres)
        )
    return metres


def _rise(text: str) -> int | None:
    digits = text.strip().lower().removesuffix("metres").removesuffix("m").strip().replace("−", "-")
    if not text.strip():
        return None
    if not digits.lstrip("-").isdecimal() or abs(int(digits)) > MOST_RISE_M:
        raise YardListError(
            _("rise"), _("the rise {text!r} cannot be right; write whole metres, as 22", text=text.strip())
        )
    return int(digits)
