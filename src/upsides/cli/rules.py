"""`upsides rules`: the rules in force on a day, each with where it comes from."""

from dataclasses import asdict
from datetime import date
from pathlib import Path

import click

from upsides.cli.options import Day, answer, json_option, library_option


@click.command()
@click.argument("jurisdiction")
@click.option("--on", type=Day(), required=True, help="The day.")
@library_option
@json_option
def rules(jurisdiction: str, on: date, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Show the rules in force in JURISDICTION (Britain, GB, Japan, ...), the library's own first.

    The authority's current code decides.
    """
    from upsides.rules import own_rules, rules_in_force

    rows = rules_in_force(jurisdiction, on, overrides=own_rules(library))
    lines = [f"{row.topic}: {row.name}: {row.value}\n    {row.confidence}; {row.source}" for row in rows]
    answer(as_json, {"jurisdiction": jurisdiction, "on": on, "rules": [asdict(row) for row in rows]}, lines)
