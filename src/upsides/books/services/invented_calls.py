"""Entering the calls of an invented yard, each with what the tool held when it was made."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, Final
from uuid import UUID, uuid5

from django.db import transaction

from upsides.books.models import Answer, Call, Horse, Person
from upsides.books.models.answer import CALLS
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import keyed
from upsides.books.queries.tools_word import known_now, shares_of
from upsides.books.services.histories import MANY
from upsides.demo import Books
from upsides.ratings.kept_fits import fit_days

_CALLS: Final = UUID("6f0c1f8e-52c5-4c55-9a5d-8b0d7f7a1c11")
_NIGHT: Final = time(3)
"""When the shares of a fit's day were worked out, UTC."""


@transaction.atomic
def load_calls(library: Path, books: Books, today: date) -> bool:
    """Enter the calls of an invented yard whose horses, diary and fits stand; all of them or none.

    For the day of each fit before today the shares are kept that the tool's chances come from, as every night does.

    Returns:
        Whether they were entered: books that have calls stay as they are.
    """
    if Call.objects.exists():
        return False
    for day in fit_days(library):
        if day < today:
            at = datetime.combine(day, _NIGHT, UTC)
            values = shares_of(library, Moment(day, at))
            Answer.objects.create(name=CALLS, day=day, values=values, made_from={}, recorded_at=at)
    horses = {horse.horse_key: horse for horse in Horse.objects.all()}
    keys = keyed(library, books.horses).select("source_horse", "horse_key")
    by_code = {code: horses[key] for code, key in keys.iter_rows()}
    people = {person.login: person for person in Person.objects.exclude(login=None)}
    at_once = ("source_horse", "author", "recorded_at")
    made: list[Call] = []
    for (code, author, at), some in books.calls.group_by(at_once, maintain_order=True):
        asked = dict(some.select("about", "trip_f").iter_rows())
        known = known_now(library, Moment(at.date(), at), by_code[code], asked)
        made += [_row(one, by_code[code], people[author], known[one["about"]]) for one in some.to_dicts()]
    Call.objects.bulk_create(made, batch_size=MANY)
    return True


def _row(one: Mapping[str, Any], horse: Horse, author: Person, known: Mapping[str, Any]) -> Call:
    at = one["recorded_at"]
    return Call(
        client_id=uuid5(_CALLS, f"call {one['source_horse']} {one['author']} {one['about']} {at}"),
        horse=horse,
        author=author,
        about=one["about"],
        chance=one["chance"],
        trip_f=one["trip_f"],
        unseen=True,
        known=known,
        recorded_at=at,
    )
