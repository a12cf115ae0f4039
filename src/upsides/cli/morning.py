"""`upsides morning`: whom to look at first, who goes out, who runs, what is due."""

from datetime import date, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.books.queries.moments import Moment
    from upsides.books.queries.morning import Morning

EARLY = time(6)
"""An earlier morning is told as it was known at this time of it."""


@click.command()
@click.option("--date", "day", type=Day(), help="The morning; an earlier one is told as it was known at 6 that day.")
@library_option
@json_option
def morning(day: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say whom to look at first, what has not been looked at, who goes out, who runs, and what is due."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import morning_words as say
    from upsides.books.queries.morning import morning as found_on
    from upsides.books.queries.visitors import Open

    moment = _moment(day)
    found = found_on(library, moment, Open(everything=True))
    sentence = say.about_morning(found)
    answer(as_json, _as_value(found, moment, sentence), _as_lines(found, moment, sentence))


def _moment(day: date | None) -> "Moment":
    from upsides.books import clock
    from upsides.books.queries import moments
    from upsides.books.queries.days import moment_on

    today = clock.today()
    if day is None or day == today:
        return moments.now()
    return moments.as_of(moment_on(day, EARLY)) if day < today else moments.Moment(day)


def _as_value(found: "Morning", moment: "Moment", sentence: str) -> dict[str, Any]:
    places = found.places
    return {
        "day": moment.day,
        "as_of": moment.at.isoformat() if moment.at else None,
        "sentence": sentence,
        "in_training": found.string,
        "out": found.out,
        "eyes_on": found.eyes_on,
        "look_first": [
            {
                "horse": look.horse.name,
                "box": places[look.horse.pk].called if look.horse.pk in places else "",
                "eyes_on": look.eyes_on,
                "reasons": [
                    {"why": one.why.name.lower(), "words": one.words, "entry": one.entry} for one in look.reasons
                ],
            }
            for look in found.looks
        ],
        "not_looked_at": [
            {"barn": one.barn, "of": one.of, "horses": [horse.name for horse, _ in one.horses]}
            for one in found.unchecked
        ],
        "lots": [
            {"lot": lot.number, "done": lot.out, "rides": [_ride(ride) for ride in lot.rides]} for lot in found.lots
        ],
    } | _dated(found, moment)


def _dated(found: "Morning", moment: "Moment") -> dict[str, Any]:
    """Return what hangs on days: runners, deadlines, what is due."""
    from upsides.books import morning_words as say

    return {
        "runners": [
            {
                "horse": one.horse.name,
                "day": one.engagement.day,
                "race": one.engagement.race,
                "course": one.engagement.course,
                "off": one.off.isoformat() if one.off else None,
                "cannot_run": one.engagement.pk in found.cannot_run,
            }
            for one in found.runners
        ],
        "deadlines": [
            {
                "horse": one.horse.name,
                "step": one.step.value,
                "by": one.by.isoformat(),
                "race": one.engagement.race,
                "course": one.engagement.course,
                "day": one.engagement.day,
                "cannot_run": one.engagement.pk in found.cannot_run,
            }
            for one in found.deadlines
        ],
        "due": [
            {
                "what": one.kind.value,
                "horse": one.name,
                "by": one.last,
                "overdue": one.overdue(moment.day),
                "words": say.due_words(one, moment.day),
            }
            for one in found.due
        ],
    }


def _ride(ride: Any) -> dict[str, Any]:
    from upsides.books import morning_words as say

    return {
        "horse": ride.horse.name,
        "box": ride.stood.called if ride.stood else "",
        "exercise": ride.order.exercise,
        "words": say.work_words(ride.order),
        "furlongs": ride.order.furlongs,
        "gallop": ride.gallop,
        "rider": ride.rider,
        "upsides": list(ride.company),
        "other_work": sorted(ride.otherwise),
        "against": [one.value for one in ride.against],
        "done": ride.done.exercise if ride.done else None,
    }


def _as_lines(found: "Morning", moment: "Moment", sentence: str) -> list[str]:
    from upsides.books import morning_words as say

    lines = [sentence]
    looks = [(look, found.places.get(look.horse.pk)) for look in found.looks if look.eyes_on]
    lines += _section(
        "Look at these first",
        [
            f"{look.horse.name}{f', {stood.called}' if stood else ''}: {' '.join(one.words for one in look.reasons)}"
            for look, stood in looks
        ],
    )
    lines += _section(
        "Not looked at yet",
        [
            f"{one.barn or 'without a box'}, {len(one.horses)} of {one.of}: {', '.join(h.name for h, _ in one.horses)}"
            for one in found.unchecked
        ],
    )
    for lot in found.lots:
        rides = [
            "  ".join(part for part in (ride.horse.name, ride.rider, say.work_words(ride.order), ride.gallop) if part)
            + (f"  [{against}]" if (against := say.against_words(ride)) else "")
            for ride in lot.rides
        ]
        lines += _section(say.lot_title(lot), rides)
    runs = [
        f"{one.engagement.day} {one.horse.name}: {say.runner_words(one, found.cannot_run)}" for one in found.runners
    ]
    said = [f"{one.horse.name}: {say.deadline_words(one, found.cannot_run)}" for one in found.deadlines]
    due = [f"{one.name}: {say.due_words(one, moment.day)}" for one in found.due]
    return [*lines, *_section("Runners", runs), *_section("To be said within two days", said), *_section("Due", due)]


def _section(title: str, lines: list[str]) -> list[str]:
    return ["", title, *(f"  {line}" for line in lines)] if lines else []
