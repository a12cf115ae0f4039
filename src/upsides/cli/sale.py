"""`upsides sale`: bring in the list of a sale, and say which sales there are."""

from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.progress import shown
from upsides.cli.refusals import refusal_lines

if TYPE_CHECKING:
    from upsides.books.queries.moments import Moment
    from upsides.books.services.sales import Taken
    from upsides.results.lots import Listed

READ = 0.15
"""Share of the work that is done when the file has been read."""
MOST_LINES = 20
"""Sales told one by one; a file can hold dozens. --json gives all."""


@click.group()
def sale() -> None:
    """Keep lists of sale lots in the books."""


@sale.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--shape", required=True, help="Name of a shipped shape, or path of a TOML file.")
@click.option("--sale", "name", default="", help="Name of the sale, where the list itself does not say it.")
@library_option
@json_option
def add(file: Path, shape: str, name: str, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Take in FILE, the list of a sale's lots; the same list twice changes nothing, a corrected one corrects."""
    from upsides.books.services.opening import open_books
    from upsides.results.lots import read_lots

    with shown() as line:
        listed = read_lots(file, shape, name, lambda share, what: line(share * READ, what))
        open_books(library)
        from upsides.books.services.sales import import_sale

        taken = import_sale(listed, lambda share, what: line(READ + share * (1 - READ), what))
    answer(as_json, _as_value(listed, taken), _as_lines(listed, taken))


def _as_value(listed: "Listed", taken: list["Taken"]) -> dict[str, Any]:
    return {
        "sales": [_counts(one) for one in taken],
        "lots": listed.lots.height,
        "refused_rows": listed.left_out,
        "refused": listed.refused.select("reason", "file", "line", "field", "value", "fate").to_dicts(),
        "unused_columns": listed.unused,
    }


def _counts(taken: "Taken") -> dict[str, Any]:
    numbers = ("lots", "new", "changed", "removed", "missing")
    told = {"number": taken.sale.pk, "name": taken.sale.name, "year": taken.sale.year, "day": taken.sale.day}
    return told | {name: getattr(taken, name) for name in numbers}


def _as_lines(listed: "Listed", taken: list["Taken"]) -> list[str]:
    sales = [_line(one) for one in taken if one.new or one.changed or one.removed or one.missing]
    if len(sales) > MOST_LINES:
        sales = [*sales[:MOST_LINES], f"  and {len(sales) - MOST_LINES} sales more."]
    if not sales:
        sales = ["The books held all of it already." if taken else "Nothing could be taken."]
    several = "1 sale" if len(taken) == 1 else f"{len(taken)} sales"
    head = f"{listed.file}: {listed.lots.height:,} lots of {several}."
    unused = [f"Not used: {', '.join(listed.unused)}."] if listed.unused else []
    return [head, *sales, *unused, *refusal_lines(listed.refused, listed.left_out)]


def _line(taken: "Taken") -> str:
    parts = [f"{taken.new:,} new", f"{taken.changed:,} changed", f"{taken.removed:,} no longer in the list"]
    said = [part for part in parts if not part.startswith("0 ")]
    if taken.missing:
        said.append(f"{taken.missing:,} not in the list but kept, because some of its rows could not be read")
    return f"  {taken.sale.name} {taken.sale.year}: {taken.lots:,} lots; {', '.join(said)}."


@sale.command(name="list")
@click.option("--as-of", type=Day(), help="As the books stood on the evening of that day.")
@library_option
@json_option
def list_sales(as_of: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say which sales there are, the latest first."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.queries.sales import every_sale

    sales = [
        {"number": one.sale.pk, "name": one.sale.name, "year": one.sale.year, "day": one.sale.day, "lots": one.lots,
         "removed": one.removed, "shortlisted": one.shortlisted, "file": one.sale.file,
         "imported_at": one.sale.imported_at.isoformat()}
        for one in every_sale(_moment(as_of))
    ]  # fmt: skip
    lines = [
        f"{one['year']}  {one['name']}: {one['lots']:,} lots, {one['shortlisted']:,} on the shortlist" for one in sales
    ]
    answer(as_json, {"sales": sales}, lines or ["No sale yet. Bring one in: upsides sale add FILE --shape NAME"])


def _moment(as_of: date | None) -> "Moment":
    from upsides.books import clock
    from upsides.books.queries import moments

    if as_of is None:
        return moments.now()
    return moments.as_of(datetime.combine(as_of + timedelta(days=1), time(), clock.place().zone))
