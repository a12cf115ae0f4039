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
    from upsides.books.models import Horse
    from upsides.books.queries.chance_answers import Worked
    from upsides.books.queries.engaged import Engaged
    from upsides.books.queries.moments import Moment
    from upsides.books.queries.placing import Case
    from upsides.placing import Race, Terms

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
    chances, terms, ours = chances_standing(library, moment, list(found)), terms_of(library), string_of(moment)
    off = {code: _gaps(library, moment, code, race, said, ours, terms) for code, race in found.items()}
    value = {
        "first": begins,
        "last": ends,
        "races": [_race(code, race, known[code], said, chances.get(code)) | off[code] for code, race in found.items()],
    }
    now = clock.now()
    entries = {code: entry_text(race, now, terms) for code, race in found.items()}
    answer(as_json, value, _as_lines(found, known, said, chances, entries, off))


def _gaps(
    library: Path, moment: "Moment", code: str, race: "Race", said: list["Engaged"], ours: list["Horse"], terms: "Terms"
) -> dict[str, list[str]]:
    """Return who of ours the card of a race does not name, though in it, and whom it names without a word here."""
    from upsides.books.queries.off_the_card import gaps

    mine = [one for one in said if one.engagement.race_code == code]
    told = gaps(library, moment, race, code, mine, {one.name for one in ours}, terms)
    return {
        "not_on_card": [one.horse.name for one in told.missing],
        "only_on_card": list(told.unsaid),
        "out_on_card": [one.horse.name for one in told.still],
    }


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
    entries: dict[str, str], off: dict[str, dict[str, list[str]]],
) -> list[str]:  # fmt: skip
    from upsides.placing import clashes

    if not found:
        return ["No programme that was heard names a race on these days."]
    lines = []
    for code, race in found.items():
        may = [case for case in known[code] if case.says.name == "YES"]
        unknown = sum(1 for case in known[code] if case.says.name == "UNKNOWN")
        lines += [f"{code}  {race_line(race)}", f"    {entries[code]}"]
        lines += [f"    its conditions contradict each other: {words}" for words in clashes(race)]
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
        lines += [f"    {name}: the card does not name it; ask the authority" for name in off[code]["not_on_card"]]
        lines += [f"    {name}: the card names it; nothing was said of it" for name in off[code]["only_on_card"]]
        still = "taken out here; the card still names it: ask the authority"
        lines += [f"    {name}: {still}" for name in off[code]["out_on_card"]]
        told = [(case.horse.name, chance_text(chances.get(code), case.horse.pk)) for case in known[code] if case.open]
        lines += [f"    {name}: {text}" for name, text in told if text]
    return lines + worked_line(chances.values())
