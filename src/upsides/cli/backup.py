"""`upsides backup`: everything that a yard needs in one file, while the books are in use."""

from pathlib import Path

import click

from upsides.cli.options import answer, json_option, library_option
from upsides.cli.progress import shown


@click.command()
@click.option(
    "--to",
    type=click.Path(path_type=Path),
    help="A new file, or a folder, in which the file is named by day and time. Without it: backups/ in the library.",
)
@click.option("--books-only", is_flag=True, help="Leave out the library's files: results, fits, own rules, the key.")
@click.option(
    "--keep", type=click.IntRange(min=1), help="Keep so many backups in the folder, this one too; drop older ones."
)
@library_option
@json_option
def backup(to: Path | None, books_only: bool, keep: int | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- options
    """Write the books and the library into one file; others may go on writing meanwhile.

    The file holds names, telephone numbers and the secret key. Keep it where the key itself might lie.
    """
    from upsides.books.keeping import back_up

    with shown() as line:
        made = back_up(library, to, line, books_only=books_only, keep=keep)
    rows = sum(made.tables.values())
    value = {
        "file": made.file,
        "bytes": made.bytes,
        "rows": rows,
        "tables": made.tables,
        "files": made.files,
        "removed": [str(path) for path in made.removed],
    }
    beside = "the books only" if books_only else f"{made.files:,} files of the library"
    lines = [f"{made.file}: {rows:,} rows of {len(made.tables)} tables, {beside}; {made.bytes / 1e6:,.1f} MB."]
    lines += [f"Removed the older {path}." for path in made.removed]
    if library.resolve() in made.file.resolve().parents:
        lines.append("It lies on the same disk as the books. Copy it to another machine.")
    answer(as_json, value, lines)
