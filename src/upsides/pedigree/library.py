"""The pedigree of a library's own horses, whose parents the sources name but do not number."""

from dataclasses import dataclass

import polars as pl

from upsides.pedigree.columns import Columns
from upsides.pedigree.reading import SCHEMA, Table
from upsides.results.identity import plain_name
from upsides.results.library import Library

_READ = ("name", "suffix", "sex", "foaled", "sire", "dam", "dam_sire")


@dataclass(frozen=True, slots=True)
class Own:
    """A horse as its yard describes it, whether a library knows it or not.

    Args:
        key: its key in the library, or whatever tells it from the library's horses.
        name: its name.
        foaled: its year of foaling.
        sex: the trade's word.
        sire: its sire's name, "" where unknown.
        dam: its dam's.
    """

    key: str
    name: str
    foaled: int
    sex: str
    sire: str
    dam: str


def table_of(library: Library) -> Table:
    """Return the horses of a library as a pedigree table: one row a horse, however many sources know it.

    A parent's name means the horse of the library that bears it where exactly one does, it was foaled at least three
    years before, and its sex does not speak against it; otherwise it stands for an animal of its own.
    """
    return _table(_rows(library))


def table_behind(library: Library | None, own: Own) -> Table:
    """Return one horse and those of a library that can be its ancestors, which takes far less time than all of them.

    Where it has a row of its own in the library, this fills in the parents that the yard does not name. Who an
    ancestor is comes out as in `table_of`: every horse of a name that is asked for is there, and so is every foal of
    a dam, since foals tell her sire.

    Args:
        library: the library, None where there is none.
        own: the horse.
    """
    known = _rows(library) if library else pl.DataFrame(schema=SCHEMA)
    first = _own_row(own, known.filter(pl.col("animal") == own.key))
    others = _with_loose_names(known.filter(pl.col("animal") != own.key))
    wanted = _names(_with_loose_names(first))
    asked: set[str] = set()
    found = [others.clear()]
    while fresh := wanted - asked:
        asked |= fresh
        new = list(fresh)
        rows = others.filter(pl.col("~name").is_in(new) | pl.col("~dam").is_in(new))
        wanted |= _names(rows.filter(pl.col("~name").is_in(new))) | set(rows["~dam_sire"].drop_nulls())
        found.append(rows)
    behind = pl.concat(found).unique("animal", maintain_order=True).select(first.columns)
    return _table(pl.concat([first, behind]))


def _rows(library: Library) -> pl.DataFrame:
    """Return one row a horse, however many sources know it, in the columns of a pedigree table."""
    horses = library.horses().sort("source_horse").select("horse_key", *_READ).collect()
    suffix = pl.when(pl.col("suffix").is_null() | (pl.col("suffix") == "")).then(pl.lit(""))
    known = horses.group_by("horse_key", maintain_order=True).agg(pl.col(_READ).drop_nulls().last())
    rows = known.select(
        pl.lit(0).alias("line"),
        animal="horse_key",
        sire="sire",
        dam="dam",
        sex="sex",
        born=pl.col("foaled").cast(pl.String),
        name=pl.col("name") + suffix.otherwise(pl.format(" ({})", "suffix")),
        dam_sire="dam_sire",
    )
    return rows.cast(SCHEMA)


def _table(rows: pl.DataFrame) -> Table:
    lines = pl.int_range(1, pl.len() + 1, dtype=pl.Int64).alias("line")
    columns = Columns("horse_key", "sire", "dam", "sex", "foaled", "name", "dam_sire")
    return Table(rows.with_columns(lines).select(SCHEMA.names()), by_name=True, columns=columns, dated=True)


def _own_row(own: Own, known: pl.DataFrame) -> pl.DataFrame:
    """Return the horse's row: as the yard has it, and what the yard has not from the library's row."""
    row = known.row(0, named=True) if known.height else dict.fromkeys(SCHEMA)
    same_dam = not own.dam or plain_name(own.dam) == plain_name(row["dam"] or "")
    said = {
        "animal": own.key,
        "name": own.name,
        "born": str(own.foaled),
        "sex": own.sex,
        "sire": own.sire or row["sire"],
        "dam": own.dam or row["dam"],
        "dam_sire": row["dam_sire"] if same_dam else None,
    }
    return pl.DataFrame([row | said], schema=SCHEMA)


def _names(rows: pl.DataFrame) -> set[str]:
    """Return the parents that rows name."""
    named = pl.concat([rows[name] for name in ("~sire", "~dam", "~dam_sire")])
    return set(named.drop_nulls()) - {""}


def _with_loose_names(rows: pl.DataFrame) -> pl.DataFrame:
    """Add each name in a form that is the same for all spellings that `naming.key_of` takes for one, and some more."""
    return rows.with_columns(_loose(rows[name]).alias(f"~{name}") for name in ("name", "sire", "dam", "dam_sire"))


def _loose(names: pl.Series) -> pl.Series:
    if (names.str.len_bytes() != names.str.len_chars()).any():
        names = names.str.normalize("NFKD").str.to_lowercase().str.replace_all("ß", "ss", literal=True)
    return names.str.to_lowercase().str.replace_all(r"\s*\([a-z]{2,4}\)\s*$|[^\pL\pN]", "")
