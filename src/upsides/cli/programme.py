"""`upsides programme`: take in programmes of races to come, and say which races they name."""

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.race_values import MOST_SHOWN, race_line, race_value
from upsides.cli.refusals import refusal_lines

if TYPE_CHECKING:
    from upsides.books.services.programmes import Taken

WEEKS = 2


@click.group()
def programme() -> None:
    """Take in programmes of races to come."""


@programme.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--shape", required=True, help="Name of a shipped shape, or path of a TOML file.")
@click.option("--as", "login", default="", help="Sign-in name of who takes it in; the trainer without it.")
@library_option
@json_option
def add(file: Path, shape: str, login: str, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Take in FILE, a programme of races to come; newer word of a race goes before older, and engagements follow it."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.queries.office import office_person
    from upsides.books.services.programmes import take_programme

    taken = take_programme(library, file, shape, office_person(login))
    answer(as_json, _as_value(taken), _as_lines(taken))


@programme.command("list")
@click.option("--from", "first", type=Day(), help="First day; today without it.")
@click.option("--to", "last", type=Day(), help="Last day; a fortnight on without it.")
@library_option
@json_option
def list_(first: date | None, last: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say which races the programmes name on some days."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.queries import moments
    from upsides.books.queries.programme import programme as heard

    moment = moments.now()
    begins = first or moment.day
    found = heard(library, moment).between(begins, last or begins + timedelta(weeks=WEEKS))
    lines = [f"{code}  {race_line(race)}" for code, race in found.items()]
    value = [race_value(code, race) for code, race in found.items()]
    answer(as_json, value, lines or ["No programme that was heard names a race on these days."])


def _as_value(taken: "Taken") -> dict[str, Any]:
    counts: dict[str, int] = {}
    for one in taken.heard:
        counts[one.change.value] = counts.get(one.change.value, 0) + 1
    return {
        "file": taken.listed.file,
        "races": len(taken.heard),
        "kept": taken.kept,
        "changes": counts,
        "told": [str(one) for one in taken.heard if one.change.name != "SAME" and (one.before or one.alike)],
        "clashes": [{"race": race, "words": words} for race, words in taken.clashing],
        "followed": [{"horse": horse, "words": words} for horse, words in taken.followed],
        "refused": taken.listed.refused.select("reason", "line", "field", "value", "fate").to_dicts(),
        "refused_races": [{"line": one.line, "reason": one.reason} for one in taken.refused],
        "unused_columns": taken.listed.unused,
    }


def _as_lines(taken: "Taken") -> list[str]:
    from upsides.results.importing import rows_lost

    value = _as_value(taken)
    counts = ", ".join(f"{count} {what}" for what, count in value["changes"].items()) or "none"
    kept = "" if taken.kept else " It says nothing new, so it was not kept."
    lines = [f"{value['races']} races in {value['file']}: {counts}.{kept}"]
    told = value["told"]
    lines += [f"  {words}" for words in told[:MOST_SHOWN]]
    if len(told) > MOST_SHOWN:
        lines.append(f"  and {len(told) - MOST_SHOWN} more: --json gives all")
    lines += [f"  {one['race']}: its conditions contradict each other: {one['words']}" for one in value["clashes"]]
    lines += [f"  {one['horse']} was engaged: {one['words']}" for one in value["followed"]]
    if any(one.change.name == "MOVED" for one in taken.heard) and taken.followed:
        lines.append("  Of a race that was moved its horses are meant for it again: enter them anew.")
    refused = taken.listed.refused
    count, *rest = refusal_lines(refused, rows_lost(refused) + len(taken.refused))
    return [*lines, count, *(f"  line {one['line']}: {one['reason']}" for one in value["refused_races"]), *rest]
