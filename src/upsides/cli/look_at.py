"""`upsides look-at`: whom to look at first, and why."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.books.queries.condition_first import First, LookAt, Reason
    from upsides.books.queries.moments import Moment


UNWATCHED = "What stands out in the readings was not worked out for this day: it holds what was entered alone."


@click.command("look-at")
@click.option("--top", type=click.IntRange(1, 1000), help="At most so many horses; as the yard's rules say without it.")
@click.option("--date", "day", type=Day(), help="The morning; an earlier one is told as it was known at 6 that day.")
@library_option
@json_option
def look_at(top: int | None, day: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say whom to look at first over the string: what was entered, what stands out, what was not read."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.jobs.condition import anew
    from upsides.books.models.answer import WATCH
    from upsides.books.queries import moments
    from upsides.books.queries.condition_first import look_at as found_at
    from upsides.books.queries.yard_rules import yard_rules
    from upsides.cli.condition import moment_of

    moment = moment_of(day)
    with moments.with_answers(anew(library, moment, [WATCH])):
        found = found_at(moment, top, yard_rules(library).overrides)
    answer(as_json, _as_value(found, moment), _as_lines(found))


def _as_value(found: "LookAt", moment: "Moment") -> dict[str, Any]:
    return {
        "day": moment.day,
        "as_of": moment.at.isoformat() if moment.at else None,
        "in_training": found.string,
        "watched_to": found.watched,
        "worked_out_later": found.later.isoformat() if found.later else None,
        "first": [_first(one) for one in found.first],
        "more": found.more,
        "beyond": found.beyond,
        "others": [_first(one) | {"can_wait": False} for one in found.asking]
        + [_first(one) | {"can_wait": True} for one in found.waiting],
        "groups": list(found.groups),
        "swapped": list(found.swapped),
    }


def _first(one: "First") -> dict[str, Any]:
    return {
        "horse": one.horse.name,
        "box": one.stood.called if one.stood else "",
        "reasons": [_reason(why) for why in one.reasons],
    }


def _reason(why: "Reason") -> dict[str, Any]:
    return {
        "source": why.source,
        "kind": why.kind or None,
        "words": why.words,
        "at": why.at.isoformat() if why.at is not None else None,
        "entry": why.entry,
    }


def _as_lines(found: "LookAt") -> list[str]:
    watched = [f"Readings were watched up to {found.watched}." if found.watched else UNWATCHED]
    if not found.string and not found.first:
        return ["Nothing is known of that day: the books have no horse in training on it."]
    if not found.first:
        return ["Nothing that was entered or read asks for anybody's eyes.", *watched, *found.groups, *found.swapped]
    wait = found.more - found.beyond
    beyond = f"; {found.beyond} more ask for eyes beyond what is looked at" if found.beyond else ""
    more = f"; {wait} {'' if found.beyond else 'more '}can wait" if wait else ""
    lines = [f"{len(found.first)} of {found.string} to look at first{beyond}{more}."]
    for one in found.first:
        lines += [f"  {_named(one)}", *(f"      {why.words}" for why in one.reasons)]
    if found.asking:
        lines += ["Beyond what is looked at:", *(f"  {_named(one)}: {one.reasons[0].words}" for one in found.asking)]
    return [*lines, *watched, *found.groups, *found.swapped]


def _named(one: "First") -> str:
    return f"{one.horse.name}, {one.stood.called}" if one.stood else one.horse.name
