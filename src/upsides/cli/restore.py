"""`upsides restore`: a backup brought back into a new folder."""

from pathlib import Path

import click

from upsides.cli.options import answer, json_option, library_option
from upsides.cli.progress import shown


@click.command()
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@library_option
@json_option
def restore(file: Path, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Bring the backup FILE back into a folder that is new or empty, named with --library.

    With UPSIDES_DATABASE set the books go into that PostgreSQL database, which must be empty.
    """
    from upsides.books.keeping import restore as bring_back

    with shown() as line:
        done = bring_back(file, library, line)
    was, rows = done.manifest, sum(table.rows for table in done.manifest.tables.values())
    value = {
        "library": done.folder,
        "made_at": was.made_at,
        "program": was.program,
        "yard": was.yard,
        "rows": rows,
        "tables": {name: table.rows for name, table in was.tables.items()},
        "files": done.files,
        "same": True,
    }
    of = f"of {was.yard}" if was.yard else "without a yard"
    lines = [
        f"{library}: the books {of} as they were at {was.made_at[:16].replace('T', ' ')} UTC. {rows:,} rows of "
        f"{len(was.tables)} tables and {done.files:,} files came back; each table was read again and is the same, row "
        "for row, as in the backup.",
        *([] if was.library else ["The backup held the books only: add the results again, or copy them here."]),
        f"Everybody signs in again. Start: upsides serve --library {library}",
    ]
    answer(as_json, value, lines)
