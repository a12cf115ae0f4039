"""`upsides calls`: how what people called has stood up beside the tool."""

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.books.queries.calls import Standing
    from upsides.condition.calls import Scored


@click.command()
@click.option("--as-of", type=Day(), help="As known at 6 in the morning of that day.")
@library_option
@json_option
def calls(as_of: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say how calls have stood up, person beside tool, question by question; of all people, as the trainer may see."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.queries.calls import standings_of
    from upsides.books.queries.office import office_person
    from upsides.books.queries.visitors import visitor
    from upsides.cli.condition import moment_of

    moment = moment_of(as_of)
    found = standings_of(visitor(office_person(), barn=False), moment)
    value = {
        "day": moment.day,
        "as_of": moment.at.isoformat() if moment.at else None,
        "people": [_person(one) for one in found],
    }
    answer(as_json, value, _as_lines(value))


def _person(one: "Standing") -> dict[str, Any]:
    return {
        "person": None if one.author.erased_at else one.author.name,
        "made": one.made,
        "unseen": one.unseen,
        "taken_back": one.taken_back,
        "scored": [_scored(each, one.waiting[each.about]) for each in one.scored],
        "would_run": [asdict(each) for each in one.ran],
        "trips": one.never,
    }


def _scored(one: "Scored", waiting: int) -> dict[str, Any]:
    return asdict(one) | {"waiting": waiting}


def _as_lines(value: dict[str, Any]) -> list[str]:
    lines = []
    for one in value["people"]:
        lines.append(f"{one['person'] or 'name removed'}: {one['made']} calls, {one['unseen']} before the tool's.")
        lines += [_line(each) for each in one["scored"]]
        lines += [_ran(each) for each in one["would_run"] if each["calls"]]
        lines += [f"  trip: {one['trips']} called; a best trip is never seen, so all stay open"] if one["trips"] else []
    return lines or ["Nobody has called anything yet."]


def _line(each: dict[str, Any]) -> str:
    alike = f"on the {each['beside']} that the tool called too {_score(each['alike'])}, the tool {_score(each['tool'])}"
    scores = f"{_score(each['person'])}; {alike if each['beside'] else 'the tool –'}"
    return f"  {each['about']}: {scores}; {each['shown']} shown, {each['open']} open, {each['waiting']} wait"


def _ran(each: dict[str, Any]) -> str:
    """Return how often horses ran after a verdict on whether they would; a share, never a score."""
    share, low, high = (f"{min(max(each[name], 0.01), 0.99):.2f}" for name in ("share", "low", "high"))
    share = f"a share of {share}, nine in ten between {low} and {high}"
    return f"  {each['said']}: {each['calls']} called, {each['ran']} ran; {share}; not scored"


def _score(told: dict[str, Any] | None) -> str:
    return "–" if told is None else f"{told['score']:.3f}"
