"""`upsides deadlines`: what has to be said of races, by when, for how much."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import answer, json_option, library_option
from upsides.cli.race_values import deadline_value, money_value

if TYPE_CHECKING:
    from upsides.books.queries.barred import Barred
    from upsides.books.queries.engaged import Engaged


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
    from upsides.books.queries.barred import barred, to_say
    from upsides.books.queries.engaged import engaged
    from upsides.books.race_words import barred_line, due_line

    listed = engaged(library, moments.now())
    kept = barred(library, moments.now(), listed)
    found, out = to_say(listed, kept, clock.now(), hours)
    zone = clock.place().zone.key
    lines = [due_line(one, zone) for one in found]
    lines += [barred_line(one, kept[one.engagement.pk], zone) for one in out]
    both = sorted((*found, *out), key=lambda one: (one.due is None, one.due.at if one.due else one.race.day))
    value = [_as_value(one, kept.get(one.engagement.pk)) for one in both]
    answer(as_json, value, lines or ["Nothing has to be said of a race as far as it is known here."])


def _as_value(one: "Engaged", kept: "Barred | None") -> dict[str, Any]:
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
        "cannot_run": kept is not None,
        "against": [str(each) for each in kept.against] if kept else [],
        "left_off": kept.left_off if kept else False,
        "again_certified": kept.certified if kept else None,
        "again_otherwise": kept.otherwise if kept else None,
    }
