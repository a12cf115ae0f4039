"""`upsides import`: the yard's own tables into the books, or a whole yard rebuilt from an archive."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import answer, json_option, library_option
from upsides.cli.progress import shown

if TYPE_CHECKING:
    from upsides.books.intake.checking import Counts, Opened
    from upsides.books.intake.proposing import Chosen

WHAT = ("horses", "masses", "treatments", "vaccinations", "bloods", "exercise")
SHOWN = 20
"""Rows left out that are told one by one; --json gives more, and the page of tables all."""
NOT_ALL = 1


@click.command(name="import")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--archive", "whole", is_flag=True, help="FILE is an archive: rebuild its yard in a new or empty folder.")
@click.option("--what", type=click.Choice(WHAT), help="What the rows of FILE are.")
@click.option("--columns", multiple=True, metavar="NAME=HEADING", help="Which column says what; again for several.")
@click.option("--every", multiple=True, metavar="NAME=VALUE", help="What is said of every row; again for several.")
@click.option("--order", type=click.Choice(["day", "month"]), help="What comes first in 3/4/2026; else as it seems.")
@click.option("--dry-run", is_flag=True, help="Look at every row and write nothing.")
@click.option("--all-or-nothing", is_flag=True, help="Write nothing where any row cannot be taken.")
@click.option("--by", "login", default="", help="Sign-in name of who takes it in; without it the trainer.")
@library_option
@json_option
def import_(
    file: Path,
    whole: bool,  # noqa: FBT001 -- an option
    what: str | None,
    columns: tuple[str, ...],
    every: tuple[str, ...],
    order: str | None,
    dry_run: bool,  # noqa: FBT001 -- an option
    all_or_nothing: bool,  # noqa: FBT001 -- an option
    login: str,
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Take the rows of FILE (CSV, TSV or XLSX) into the books; rows that cannot be taken are told and left out.

    Ends with 1 where rows were left out. The same file twice, or a row that is in the books already, doubles nothing.
    """
    if whole:
        if what or columns or every or dry_run:
            raise click.UsageError("an archive is taken whole: leave out --what, --columns, --every and --dry-run")
        _rebuild(file, library, as_json=as_json)
        return
    if what is None:
        raise click.UsageError(f"say what the rows are: --what {'|'.join(WHAT)}")
    with shown() as line:
        one = _opened(file, what, library)
        chosen = _chosen(one, _pairs(columns), _pairs(every), order)
        counts, number = _work(one, chosen, library, login, line, dry_run=dry_run, all_or_nothing=all_or_nothing)
    answer(as_json, _as_value(one, chosen, counts, number), _as_lines(one, chosen, counts, number))
    if counts.refused:
        raise click.exceptions.Exit(NOT_ALL)


def _rebuild(file: Path, library: Path, *, as_json: bool) -> None:
    from upsides.books.keeping import restore

    with shown() as line:
        done = restore(file, library, line)
    tables = {name: table.rows for name, table in done.manifest.tables.items()}
    value = {
        "library": done.folder, "made_at": done.manifest.made_at, "yard": done.manifest.yard,
        "rows": sum(tables.values()), "tables": tables, "files": done.files, "same": True,
    }  # fmt: skip
    lines = [
        f"{library}: {done.manifest.yard or 'the books'}, {sum(tables.values()):,} rows of {len(tables)} tables and "
        f"{done.files:,} files; each table was read again and is the same, row for row, as in the archive.",
        f"Everybody signs in again. Start: upsides serve --library {library}",
    ]
    answer(as_json, value, lines)


def _pairs(given: tuple[str, ...]) -> dict[str, str]:
    pairs = [one.partition("=") for one in given]
    if wrong := [name for name, sign, _ in pairs if not sign or not name]:
        raise click.UsageError(f"{wrong[0]!r} has no sign '='; write NAME=VALUE")
    return {name.strip(): value.strip() for name, _, value in pairs}


def _opened(file: Path, what: str, library: Path) -> "Opened":
    from upsides.books.keeping.backup import refuse_missing
    from upsides.books.services.opening import connect_books, open_books

    connect_books(library)
    refuse_missing(library)
    open_books(library)
    from upsides.books.intake import checking, files
    from upsides.errors import TableUnreadableError

    if file.stat().st_size > files.MOST_BYTES:
        most = f"{files.MOST_BYTES / 1e6:.0f} MB is the most"
        raise TableUnreadableError(file.name, f"it is too large: {most}", "divide it into several files")
    kept = files.keep(file.read_bytes(), file.name, library)
    return checking.opened(kept.sha256, what, library)


def _chosen(one: "Opened", columns: dict[str, str], every: dict[str, str], order: str | None) -> "Chosen":
    """Return what was proposed, changed by what was said; an empty heading leaves a column out."""
    from upsides.books.intake.proposing import Chosen

    taken = set(columns.values())
    proposed = {name: heading for name, heading in one.proposed.columns.items() if heading not in taken}
    both = {name: heading for name, heading in (proposed | columns).items() if heading and name not in every}
    results = tuple(heading for heading in one.proposed.results if heading not in both.values())
    return Chosen(both, every, order or one.proposed.order, results)


def _work(
    one: "Opened", chosen: "Chosen", library: Path, login: str, line: Any, *, dry_run: bool, all_or_nothing: bool
) -> tuple["Counts", int | None]:
    """Look at every row, and take those that are fine; return what became of them, and the import's number."""
    from upsides.books.intake.checking import check
    from upsides.books.queries.office import office_person
    from upsides.books.services.intakes import begin, take

    by = office_person(login)
    counts = check(one, chosen, lambda share, what: line(0.3 * share, what))
    if dry_run or not counts.taken or (all_or_nothing and counts.refused):
        return counts, None
    intake = begin(one, chosen, by, counts)
    return take(intake, library, lambda share, what: line(0.3 + 0.7 * share, what)), intake.pk


def _as_value(one: "Opened", chosen: "Chosen", counts: "Counts", number: int | None) -> dict[str, Any]:
    return {
        "import": number, "file": one.kept.name, "sha256": one.kept.sha256, "what": one.spec.what,
        "columns": dict(chosen.columns), "every": dict(chosen.every), "order": chosen.order,
        "results": list(chosen.results),
        "unused": _unused(one, chosen), "rows": counts.rows, "fine": counts.fine,
        "taken": counts.taken if number is not None else 0, "already": counts.already, "refused": counts.refused,
        "wrong": [
            {"line": wrong.line, "column": wrong.column, "typed": wrong.typed, "reason": wrong.reason,
             "remedy": wrong.remedy}
            for wrong in counts.wrong
        ],
    }  # fmt: skip


def _unused(one: "Opened", chosen: "Chosen") -> list[str]:
    used = {*chosen.columns.values(), *chosen.results}
    return [heading for heading in one.table.headings if heading not in used]


def _as_lines(one: "Opened", chosen: "Chosen", counts: "Counts", number: int | None) -> list[str]:
    labels = one.spec.by_name
    said = [f"{heading} says {labels[name].label}" for name, heading in chosen.columns.items()]
    head = "Nothing was written." if number is None else f"Import {number}: {counts.taken:,} taken in."
    lines = [
        f"{one.kept.name}: {counts.rows:,} rows of {one.spec.what}. {'; '.join(said)}.",
        *(f"  line {line}: {words}" for line, words in counts.first),
        f"{head} {counts.fine:,} rows can be taken, {counts.already:,} are in the books already, "
        f"{counts.refused:,} cannot be taken."
        if number is None
        else f"{head} {counts.already:,} were in the books already, {counts.refused:,} rows were left out.",
    ]
    lines += [
        f"  line {wrong.line}, {wrong.column} {wrong.typed!r}: {wrong.reason}; {wrong.remedy}"
        for wrong in counts.wrong[:SHOWN]
    ]
    if len(counts.wrong) > SHOWN:
        lines.append("  and more; --json tells them, and the page of tables gives them as a file.")
    unused = _unused(one, chosen)
    return [*lines, f"Not used: {', '.join(unused)}."] if unused else lines
