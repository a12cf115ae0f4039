"""`upsides export`: the yard's tables for people and spreadsheets, or the whole yard as one archive."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown

if TYPE_CHECKING:
    from upsides.books.export.tables import Sheet


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--archive", "whole", is_flag=True, help="Write the whole yard into OUT, from which it can be rebuilt.")
@click.option("--with-results", is_flag=True, help="With --archive: the library of results and its fits too.")
@click.option("--what", multiple=True, help="A table, as horses, people, diary or mass; again for several.")
@click.option("--csv/--xlsx", "as_csv", default=None, help="CSV files into the folder OUT, or one workbook.")
@click.option("--mark", is_flag=True, help="Begin each CSV with the mark by which older spreadsheets know UTF-8.")
@click.option("--from", "first", type=Day(), help="First day of the diary.")
@click.option("--to", "last", type=Day(), help="Last day of the diary.")
@click.option("--by", "login", default="", help="Sign-in name of who reads; without it the trainer.")
@library_option
@json_option
def export(
    out: Path,
    whole: bool,  # noqa: FBT001 -- an option
    with_results: bool,  # noqa: FBT001 -- an option
    what: tuple[str, ...],
    as_csv: bool | None,  # noqa: FBT001 -- an option
    mark: bool,  # noqa: FBT001 -- an option
    first: date | None,
    last: date | None,
    login: str,
    library: Path,
    as_json: bool,  # noqa: FBT001 -- an option
) -> None:
    """Write the yard's tables to OUT: a workbook (OUT.xlsx), or a folder of CSV files.

    Figures, chances and plans are in none of them. What they hold of people is for the yard's office.
    """
    if whole:
        if what or as_csv is not None or first or last:
            raise click.UsageError("an archive holds everything: leave out --what, --csv, --xlsx, --from and --to")
        _archive(out, library, with_results=with_results, as_json=as_json)
        return
    if with_results:
        raise click.UsageError("--with-results belongs to --archive")
    if first and last and last < first:
        raise click.UsageError(f"--to {last} comes before --from {first}: no day lies between them")
    plain = out.suffix.casefold() != ".xlsx" if as_csv is None else as_csv
    sheets = _sheets(what, first, last, login, library)
    with shown() as line:
        counted = _counted(sheets)
        files = _write(sheets, out, line, plain=plain, mark=mark)
    value = {"files": files, "tables": counted}
    rows = sum(counted.values())
    answer(as_json, value, [f"{out}: {rows:,} rows of {len(counted)} tables, for people to read."])


def _archive(out: Path, library: Path, *, with_results: bool, as_json: bool) -> None:
    from upsides.books.keeping import archive

    with shown() as line:
        made = archive(library, out, line, with_results=with_results)
    rows = sum(made.tables.values())
    value = {"file": made.file, "bytes": made.bytes, "rows": rows, "tables": made.tables, "files": made.files}
    beside = "results and fits too" if with_results else "without results"
    lines = [
        f"{made.file}: {rows:,} rows of {len(made.tables)} tables and {made.files:,} files, {beside}; "
        f"{made.bytes / 1e6:,.1f} MB.",
        "It holds names, telephone numbers and hashed passwords; docs/archive.md says how it is read.",
        f"Rebuild the yard from it: upsides import --archive {made.file} --library NEW",
    ]
    answer(as_json, value, lines)


def _sheets(what: tuple[str, ...], first: date | None, last: date | None, login: str, library: Path) -> list["Sheet"]:
    from upsides.books.keeping.backup import refuse_missing
    from upsides.books.services.opening import connect_books, open_books

    connect_books(library)
    refuse_missing(library)
    open_books(library)
    from upsides.books.export.tables import Asked, sheets
    from upsides.books.queries.office import office_person
    from upsides.books.queries.visitors import visitor

    names = [name for one in what for name in one.split(",") if name]
    return sheets(names, Asked(visitor(office_person(login), barn=False), first, last))


def _counted(sheets: list["Sheet"]) -> dict[str, int]:
    """Return an empty count of each table, which its rows add to as they are written."""
    from dataclasses import replace

    counted = dict.fromkeys((sheet.name for sheet in sheets), 0)
    for place, sheet in enumerate(sheets):

        def rows(sheet: Any = sheet) -> Any:
            for row in sheet.rows():
                counted[sheet.name] += 1
                yield row

        sheets[place] = replace(sheet, rows=rows)
    return counted


def _write(sheets: list["Sheet"], out: Path, line: Any, *, plain: bool, mark: bool) -> list[str]:
    from upsides.books.export.writing import write_csv, write_xlsx
    from upsides.errors import ExportPlaceError

    if plain:
        if out.is_file():
            raise ExportPlaceError(out, "it is a file", "name a folder, or a workbook with --xlsx")
        return [str(path) for path in write_csv(sheets, out, line, mark=mark)]
    if out.exists():
        raise ExportPlaceError(out, "there is something of that name", "name another file")
    fresh = out.with_name(f".{out.name}.part")
    try:
        with fresh.open("xb") as file:
            write_xlsx(sheets, file, line)
        fresh.rename(out)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    return [str(out)]
