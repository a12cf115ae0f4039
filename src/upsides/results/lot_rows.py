"""One batch of the list of a sale, turned from text into rows of lots by a shape, with every refusal noted."""

from dataclasses import dataclass
from typing import Final

import polars as pl

from upsides.errors.wording import gettext as _
from upsides.results.cells import IMPOSSIBLE
from upsides.results.description import Shape, Table
from upsides.results.fields import LOT_FIELDS
from upsides.results.mapping import NAME_WITH_SUFFIX, REFUSED_SCHEMA, leave_out, missing, read_fields, refusals
from upsides.results.readers import LINE
from upsides.results.reasons import ON_PURPOSE

LOTS: Final = pl.Schema(
    {
        "sale": pl.String(),
        "year": pl.Int16(),
        "day": pl.Date(),
        "number": pl.String(),
        "name": pl.String(),
        "sex": pl.String(),
        "foaled": pl.Int16(),
        "colour": pl.String(),
        "sire": pl.String(),
        "dam": pl.String(),
        "dam_sire": pl.String(),
        "price": pl.Float64(),
        "currency": pl.String(),
        "line": pl.Int64(),
    }
)
"""A lot: which sale and year, the day where it is printed, its number, and the horse; `price` is in `currency`, as
printed, empty where it was not sold. Names carry their country in brackets: Alder (IRE)."""

NAMES: Final = ("name", "sire", "dam", "dam_sire")
LONGEST: Final = {"sale": 100, "number": 20, **dict.fromkeys(NAMES, 100), "colour": 40, "currency": 20}
"""Most letters of each text; longer ones are no names but whole sentences in a wrong column."""
UNNAMED: Final = ("", "unnamed", "un-named", "not named", "unknown")
"""What stands in the place of a name where there is none, in small letters."""
OLDEST: Final = 30
NEEDED: Final = ("sale", "number", "year")
NO_PARENTS: Final = _("neither sire nor dam is named")
TOO_LONG: Final = _("longer than such a text can be")

_DTYPES: Final = {name: LOTS.get(name, pl.Int16()) for name in LOT_FIELDS}


@dataclass(frozen=True, slots=True)
class Rows:
    """What a batch gave.

    Args:
        lots: columns of `LOTS`.
        refused: columns of the schema's REFUSED.
        unread: rows that were left out although the shape wanted them.
    """

    lots: pl.DataFrame
    refused: pl.DataFrame
    unread: int


def rows_of(raw: pl.DataFrame, table: Table, shape: Shape, file: str, sale: str) -> Rows:
    """Map one batch of text rows.

    Args:
        raw: the table's columns and LINE.
        table: the table of the shape.
        shape: the shape.
        file: what the file is called in what is said of it.
        sale: the sale's name where the list does not say it, empty where it does.
    """
    notes: list[pl.DataFrame] = []
    raw = leave_out(raw, table, shape.source, file, notes)
    lot = read_fields(table.lot, _without_thousands(raw, table, shape), _DTYPES, shape, file, notes)
    lot = _brief(_tidied(lot, shape, sale), shape, file, notes)
    lot = _foaled(lot, shape, file, notes)
    lost = pl.repeat(False, lot.height, eager=True)
    for name in dict.fromkeys((*NEEDED, *table.required)):
        notes.append(missing(lot, name, shape.source, file, notes))
        lost |= lot[name].is_null()
    lots = lot.filter(~lost)
    notes += _without_parents(lots, shape, file)
    refused = pl.concat(notes) if notes else pl.DataFrame(schema=REFUSED_SCHEMA)
    gone = lot[LINE].filter(lost).implode()
    fate = pl.when(pl.col("line").is_in(gone) | ON_PURPOSE).then(pl.lit("row")).otherwise("fate")
    told = refused.with_columns(fate.alias("fate"))
    return Rows(lots.rename({LINE: "line"}).select(LOTS.names()).cast(LOTS), told, int(lost.sum()))


def _without_thousands(raw: pl.DataFrame, table: Table, shape: Shape) -> pl.DataFrame:
    """Return the batch with prices like 12,000 as 12000, where the comma is not the decimal sign."""
    columns = {name for rule in table.lot if rule.field.name == "price" for name in rule.columns}
    if shape.decimal == ",":
        return raw
    printed = r"^\s*\d{1,3}(?:,\d{3})+(?:\.\d+)?\s*$"
    plain = [
        pl.when(pl.col(name).str.contains(printed)).then(pl.col(name).str.replace_all(",", "")).otherwise(name)
        for name in sorted(columns & set(raw.columns))
    ]
    return raw.with_columns(plain)


def _tidied(lot: pl.DataFrame, shape: Shape, sale: str) -> pl.DataFrame:
    """Return the rows with names, numbers and the sale written one way."""
    number = pl.col("number").str.replace_all(r"\s", "").str.to_uppercase()
    currency = pl.coalesce("currency", pl.lit(shape.currency or None, dtype=pl.String))
    return lot.with_columns(
        *(_named(pl.col(name)).alias(name) for name in NAMES),
        sale=pl.coalesce(_plain(pl.col("sale")), pl.lit(sale or None, dtype=pl.String)),
        year=pl.coalesce("year", pl.col("day").dt.year().cast(pl.Int16)),
        number=number.str.replace(r"\.0+$", "").str.replace(r"^0+(.)", "$1"),
        currency=pl.when(pl.col("price").is_not_null()).then(currency),
        colour=_plain(pl.col("colour")).str.to_lowercase(),
    )


def _plain(text: pl.Expr) -> pl.Expr:
    """Return a text with single blanks, null where nothing is left."""
    plain = text.str.replace_all(r"\s+", " ").str.strip_chars()
    return pl.when(plain != "").then(plain)


def _named(text: pl.Expr) -> pl.Expr:
    """Return a name with its country in capitals, null where it says that there is none."""
    plain = _plain(text)
    bare, country = plain.str.extract(NAME_WITH_SUFFIX, 1), plain.str.extract(NAME_WITH_SUFFIX, 2)
    whole = pl.coalesce(pl.format("{} ({})", bare, country.str.to_uppercase()), plain)
    return pl.when(~pl.coalesce(bare, plain).str.to_lowercase().is_in(UNNAMED)).then(whole)


def _brief(lot: pl.DataFrame, shape: Shape, file: str, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Empty texts that are too long to be what they should be, and note them."""
    for name, most in LONGEST.items():
        over = (lot[name].str.len_chars() > most).fill_null(False)
        if over.any():
            long = lot.filter(over)
            notes.append(refusals(long, shape.source, file, name, long[name], TOO_LONG, "field"))
            lot = lot.with_columns(lot[name].set(over, None))
    return lot


def _foaled(lot: pl.DataFrame, shape: Shape, file: str, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Empty years of foaling that cannot be, and fill those that the age at the sale implies.

    An age tells the year only where the shape names the birthday, and without the day of the sale only where that is
    the first of January.
    """
    possible = (pl.col("year") - pl.col("foaled")).is_between(0, OLDEST)
    wrong = lot.filter(~possible)
    notes.append(refusals(wrong, shape.source, file, "foaled", wrong["foaled"].cast(pl.String), IMPOSSIBLE, "field"))
    lot = lot.with_columns(foaled=pl.when(possible).then("foaled"))
    if shape.birthday is None:
        return lot
    month, day = shape.birthday
    on = pl.col("day") if (month, day) != (1, 1) else pl.coalesce("day", pl.date(pl.col("year"), 12, 31))
    had = (on.dt.month() > month) | ((on.dt.month() == month) & (on.dt.day() >= day))
    implied = on.dt.year() - pl.col("age") - pl.when(had).then(0).otherwise(1)
    return lot.with_columns(foaled=pl.coalesce("foaled", implied.cast(pl.Int16)))


def _without_parents(lots: pl.DataFrame, shape: Shape, file: str) -> list[pl.DataFrame]:
    """Remark on lots that lack a parent; they are kept."""
    sire, dam = lots["sire"].is_null(), lots["dam"].is_null()
    kinds = ((sire & dam, "sire", NO_PARENTS), (sire & ~dam, "sire", _("no sire is named")))
    told = (*kinds, (dam & ~sire, "dam", _("no dam is named")))
    return [refusals(lots.filter(which), shape.source, file, name, "", why, "noted") for which, name, why in told]
