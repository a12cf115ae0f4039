"""`upsides results links`, `link`, `unlink`: which horses of different sources are one, and taking that back."""

from datetime import UTC, datetime
from pathlib import Path

import click

from upsides.cli.options import answer, json_option, library_option

reason_option = click.option("--reason", required=True, help="Why, for whoever reads it later.")


@click.command()
@library_option
@json_option
def links(library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """List what was linked and taken back, and the horses of two sources that look like one."""
    from dataclasses import asdict

    from upsides.results.identity import links as made
    from upsides.results.identity import suggest_links
    from upsides.results.library import Library

    opened = Library.open(library)
    rows, proposed = made(opened).to_dicts(), suggest_links(opened)
    lines = [f"{row['number']:>4}  {row['action']}  {row['kept']} = {row['merged']}: {row['reason']}" for row in rows]
    lines += [f"look like one ({link.confidence}): {link.kept} = {link.merged}: {link.reason}" for link in proposed]
    value = {"links": rows, "proposed": [asdict(link) for link in proposed]}
    answer(as_json, value, lines or ["Nothing is linked, and no two horses look like one."])


@click.command()
@click.argument("kept")
@click.argument("merged")
@reason_option
@library_option
@json_option
def link(kept: str, merged: str, reason: str, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say that the horses KEPT and MERGED (source:number) are one; its runs then count together."""
    from upsides.results.identity import merge
    from upsides.results.library import Library

    number = merge(Library.open(library), kept, merged, reason, datetime.now(UTC))
    undo = f"upsides results unlink {number} --reason WHY --library {library}"
    answer(as_json, {"number": number}, [f"{merged} is now {kept} (link {number}). To take it back: {undo}"])


@click.command()
@click.argument("number", type=int)
@reason_option
@library_option
@json_option
def unlink(number: int, reason: str, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Take back the link of that NUMBER; both stay on record."""
    from upsides.results.identity import unmerge
    from upsides.results.library import Library

    written = unmerge(Library.open(library), number, reason, datetime.now(UTC))
    answer(as_json, {"number": written}, [f"Link {number} is taken back."])
