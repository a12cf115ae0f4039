"""`upsides deadlines`: what has to be said of races, by when, for how much."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import answer, json_option, library_option
from upsides.cli.race_values import deadline_value, money_value

if TYPE_CHECKING:
    from upsides.books.queries.engaged import Engaged
    from upsides.placing import Finding


@click.command()
@click.option("--hours", type=click.IntRange(1, 24 * 400), help="Only what has to be said within so many hours.")
@library_option
@json_option
def deadlines(hours: int | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say what has to be said of races next, soonest first, by the course's clock."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import clock
    from upsides.books.queries import moments
    from upsides.books.queries.engaged import engaged, pressing
    from upsides.books.queries.shut_out import shut_out
    from upsides.books.race_words import due_line

    found = pressing(engaged(library, moments.now()), clock.now(), hours)
    zone = clock.place().zone.key
    shut = shut_out(library, moments.now(), found)
    lines = [line for one in found for line in (due_line(one, zone), *_against(shut.get(one.engagement.pk, ())))]
    value = [_as_value(one) | {"against": [str(each) for each in shut.get(one.engagement.pk, ())]} for one in found]
    answer(as_json, value, lines or ["Nothing has to be said of a race as far as it is known here."])


def _against(found: "tuple[Finding, ...]") -> list[str]:
    return [f"    by what is known now it may not run: {one}" for one in found]


def _as_value(one: "Engaged") -> dict[str, Any]:
    return (deadline_value(one.due) if one.due else {}) | {
        "horse": one.horse.name,
        "race": one.race.title,
        "code": one.engagement.race_code or None,
        "course": one.race.course,
        "day": one.race.day,
        "state": one.engagement.state,
        "spent": [money_value(sum_) for sum_ in one.spent],
        "then": [deadline_value(each) for each in one.next.then] if one.next else [],
        "to_declare": [fact.what for fact in one.to_declare],
    }
