"""`upsides placing`: over some days, which of the string may run in which race, and what each horse is engaged for."""

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.race_values import (
    case_value,
    chance_text,
    chance_value,
    entry_text,
    race_line,
    race_value,
    weight_text,
    worked_line,
)

if TYPE_CHECKING:
    from upsides.books.queries.chance_answers import Worked
    from upsides.books.queries.engaged import Engaged
    from upsides.books.queries.placing import Case
    from upsides.placing import Race

WEEK = timedelta(days=7)
MOST_NAMES = 12
"""Horses named one by one; --json gives all."""


@click.command()
@click.option("--from", "first", type=Day(), help="First day; today without it.")
@click.option("--to", "last", type=Day(), help="Last day; a week on without it.")
@library_option
@json_option
def placing(first: date | None, last: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say of each race of some days which of the string may run in it, off what weight, and who is engaged."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books import clock
    from upsides.books.queries import moments
    from upsides.books.queries.chances_standing import chances_standing
    from upsides.books.queries.engaged import engaged
    from upsides.books.queries.entrants import terms_of
    from upsides.books.queries.placing import cases, string_of
    from upsides.books.queries.programme import programme

    moment = moments.now()
    begins = first or moment.day
    ends = last or begins + WEEK
    if ends < begins:
        raise click.BadParameter("--to lies before --from")
    found = programme(library, moment).between(begins, ends)
    known = cases(library, moment, found, string_of(moment))
    said = engaged(library, moment, begins, ends)
    chances = chances_standing(library, moment, list(found))
    value = {
        "first": begins,
        "last": ends,
        "races": [_race(code, race, known[code], said, chances.get(code)) for code, race in found.items()],
    }
    now, terms = clock.now(), terms_of(library)
    entries = {code: entry_text(race, now, terms) for code, race in found.items()}
    answer(as_json, value, _as_lines(found, known, said, chances, entries))


def _race(
    code: str, race: "Race", known: list["Case"], said: list["Engaged"], worked: "Worked | None"
) -> dict[str, Any]:
    return race_value(code, race) | {
        "ours": [case_value(case) | {"chance": chance_value(worked, case.horse.pk)} for case in known if case.open],
        "may_not": sum(1 for case in known if not case.open),
        "engaged": [
            {"horse": one.horse.name, "state": one.engagement.state} for one in said if one.engagement.race_code == code
        ],
    }


def _as_lines(
    found: dict[str, "Race"], known: dict[str, list["Case"]], said: list["Engaged"], chances: dict[str, "Worked"],
    entries: dict[str, str],
) -> list[str]:  # fmt: skip
    if not found:
        return ["No programme that was heard names a race on these days."]
    lines = []
    for code, race in found.items():
        may = [case for case in known[code] if case.says.name == "YES"]
        unknown = sum(1 for case in known[code] if case.says.name == "UNKNOWN")
        lines += [f"{code}  {race_line(race)}", f"    {entries[code]}"]
        names = ", ".join(f"{case.horse.name} {weight_text(case.carried)}" for case in may[:MOST_NAMES])
        more = f" and {len(may) - MOST_NAMES} more" if len(may) > MOST_NAMES else ""
        lines.append(
            f"    may run: {names + more if may else 'none of ours'}{f'; {unknown} not known' if unknown else ''}"
        )
        lines += [
            f"    {one.horse.name}: {one.engagement.get_state_display()}"
            for one in said
            if one.engagement.race_code == code
        ]
        told = [(case.horse.name, chance_text(chances.get(code), case.horse.pk)) for case in known[code] if case.open]
        lines += [f"    {name}: {text}" for name, text in told if text]
    return lines + worked_line(chances.values())
