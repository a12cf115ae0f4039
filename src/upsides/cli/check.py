"""`upsides check`: whether the books and the library are well."""

from dataclasses import asdict
from pathlib import Path

import click

from upsides.cli.options import answer, json_option, library_option
from upsides.cli.progress import shown

NOT_WELL = 1


@click.command()
@click.option(
    "--accept-clock", is_flag=True, help="Let the diary go on after a last entry that a wrong clock put too late."
)
@library_option
@json_option
def check(accept_clock: bool, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- options
    """Say whether the books and the library are well; ends with 1 where something is not."""
    from upsides.books.keeping import accept_clock as accept
    from upsides.books.keeping import check_books

    accepted = accept(library) if accept_clock else None
    with shown() as line:
        found = check_books(library, line)
    wrong = [one for one in found if not one.well]
    value = {"well": not wrong, "accepted_entry": accepted, "findings": [asdict(one) for one in found]}
    lines = [] if accepted is None else [f"The clock is accepted: what comes after entry {accepted} may be earlier."]
    lines.append(_answered(len(wrong)))
    lines += [f"  NOT WELL  {one.words}" for one in wrong]
    lines += [f"  well      {one.words}" for one in found if one.well]
    answer(as_json, value, lines)
    if wrong:
        raise click.exceptions.Exit(NOT_WELL)


def _answered(wrong: int) -> str:
    if not wrong:
        return "All is well."
    return "One thing is not well." if wrong == 1 else f"{wrong} things are not well."
