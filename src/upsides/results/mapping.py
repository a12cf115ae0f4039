"""Batches of text rows turned into rows of races and runs by a shape, with every refusal noted.

The result still lacks what only a whole race can tell (see `deriving`): it is what single rows say.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import polars as pl

from upsides.errors.wording import gettext as _
from upsides.results import cells
from upsides.results.description import Rule, Shape, Table
from upsides.results.fields import RACE_FIELDS, RUN_FIELDS
from upsides.results.readers import LINE, Fault
from upsides.results.reasons import LEFT_OUT, MISSING
from upsides.results.schema import RACES, REFUSED, RUNS, polars_schema

REFUSED_SCHEMA = polars_schema(REFUSED)
VALUE_WIDTH = 200

Dtypes = dict[str, pl.DataType]

_RACE_SCHEMA, _RUN_SCHEMA = polars_schema(RACES), polars_schema(RUNS)
RACE_DTYPES: Dtypes = {name: _RACE_SCHEMA.get(name, pl.String()) for name in RACE_FIELDS}
RUN_DTYPES: Dtypes = {name: _RUN_SCHEMA.get(name, pl.String()) for name in RUN_FIELDS}
STAGED_RACES = pl.Schema(
    {
        "race_key": pl.String(),
        "source": pl.String(),
        **RACE_DTYPES,
        "file": pl.String(),
        "line": pl.Int64(),
        "repeated": pl.Boolean(),
    }
)
STAGED_RUNS = pl.Schema(
    {
        "race_key": pl.String(),
        "source": pl.String(),
        "source_horse": pl.String(),
        **RUN_DTYPES,
        "file": pl.String(),
        "line": pl.Int64(),
    }
)
NAME_WITH_SUFFIX = r"^(.*\S)\s*\(([A-Za-z]{2,4})\)$"


@dataclass(frozen=True, slots=True)
class Mapped:
    """What a batch gave: rows of races, rows of runs, refusals."""

    races: pl.DataFrame
    runs: pl.DataFrame
    refused: pl.DataFrame


def map_batch(raw: pl.DataFrame, table: Table, shape: Shape, file: str) -> Mapped:
    """Map one batch of text rows; `raw` has the table's columns and LINE, its line numbers."""
    notes: list[pl.DataFrame] = []
    raw = leave_out(raw, table, shape.source, file, notes)
    race = read_fields(table.race, raw, RACE_DTYPES, shape, file, notes) if table.race else None
    run = read_fields(table.run, raw, RUN_DTYPES, shape, file, notes) if table.run else None
    lost = pl.repeat(False, raw.height, eager=True)
    for name in _required(table):
        frame = race if race is not None and name in RACE_DTYPES else run
        if frame is not None:
            lost |= frame[name].is_null()
            notes.append(missing(frame, name, shape.source, file, notes))
    if run is not None:
        run = named(run)
        lost |= run["horse_id"].is_null() & run["horse_name"].is_null()
        nameless = run.filter(run["horse_id"].is_null() & run["horse_name"].is_null())
        notes.append(refusals(nameless, shape.source, file, "horse_name", "", _("no horse is named")))
    races = _races(race, lost, shape, file, repeated=run is not None) if race is not None else STAGED_RACES.to_frame()
    runs = _runs(run, race, lost, shape, file) if run is not None else STAGED_RUNS.to_frame()
    lines = raw[LINE].filter(lost).implode()
    refused = pl.concat(notes, how="vertical") if notes else pl.DataFrame(schema=REFUSED_SCHEMA)
    fate = pl.when(pl.col("line").is_in(lines)).then(pl.lit("row")).otherwise("fate")
    return Mapped(races, runs, refused.with_columns(fate.alias("fate")))


def refusals(
    frame: pl.DataFrame,
    source: str,
    file: str,
    field: str,
    value: pl.Series | str,
    reason: str,
    fate: str = "row",
) -> pl.DataFrame:
    """Return one refusal for every row of `frame`, which has a LINE or line column."""
    line = frame[LINE] if LINE in frame.columns else frame["line"]
    values = pl.Series([value]).new_from_index(0, frame.height) if isinstance(value, str) else value
    return pl.DataFrame(
        {
            "source": pl.Series([source]).new_from_index(0, frame.height),
            "file": pl.Series([file]).new_from_index(0, frame.height),
            "line": line.cast(pl.Int64),
            "field": pl.Series([field]).new_from_index(0, frame.height),
            "value": values.cast(pl.String).str.slice(0, VALUE_WIDTH),
            "reason": pl.Series([reason]).new_from_index(0, frame.height),
            "fate": pl.Series([fate]).new_from_index(0, frame.height),
        },
        schema=REFUSED_SCHEMA,
    )


def faults(found: Sequence[Fault], source: str, file: str) -> pl.DataFrame:
    """Return the lines that the reader could not take, or took with a remark, as refusals."""
    rows = [
        (source, file, fault.line, "", fault.value[:VALUE_WIDTH], fault.reason, "noted" if fault.kept else "row")
        for fault in found
    ]
    return pl.DataFrame(rows, schema=REFUSED_SCHEMA, orient="row")


def leave_out(raw: pl.DataFrame, table: Table, source: str, file: str, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Return the rows without those that the shape leaves out on purpose, which are noted."""
    for out in table.leave_out:
        mask = raw[out.column].str.contains(out.matches).fill_null(False)
        gone = raw.filter(mask)
        notes.append(refusals(gone, source, file, "", gone[out.column], LEFT_OUT.format(reason=out.reason)))
        raw = raw.filter(~mask)
    return raw


def read_fields(
    rules: Iterable[Rule],
    raw: pl.DataFrame,
    dtypes: Dtypes,
    shape: Shape,
    file: str,
    notes: list[pl.DataFrame],
) -> pl.DataFrame:
    """Read every field of a table, noting the cells that cannot be used; what no rule fills stays empty."""
    columns: dict[str, pl.Series] = {LINE: raw[LINE]}
    for rule in rules:
        read = cells.read(rule, raw, shape)
        columns[rule.field.name] = read.value.cast(dtypes[rule.field.name], strict=False)
        if read.reason.null_count() < raw.height:
            notes.extend(_bad(read, rule.field.name, raw, shape.source, file))
    frame = pl.DataFrame(columns)
    absent = [pl.lit(None, dtype=dtype).alias(name) for name, dtype in dtypes.items() if name not in columns]
    return frame.with_columns(absent)


def _bad(read: cells.Cells, field: str, raw: pl.DataFrame, source: str, file: str) -> Iterable[pl.DataFrame]:
    for reason in read.reason.drop_nulls().unique(maintain_order=True):
        mask = (read.reason == reason).fill_null(False)
        yield refusals(raw.filter(mask), source, file, field, read.text.filter(mask), reason, "field")


def _required(table: Table) -> list[str]:
    needed = [*(("race_id", "date") if table.race else ("race_id",)), *table.required]
    return list(dict.fromkeys(needed))


def missing(frame: pl.DataFrame, name: str, source: str, file: str, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Note the rows that lack a needed field, unless its cell has been noted as bad already."""
    gone = frame.filter(frame[name].is_null())
    seen = [note["line"] for note in notes if note.height and note["field"][0] == name]
    if seen:
        gone = gone.filter(~gone[LINE].is_in(pl.concat(seen).implode()))
    return refusals(gone, source, file, name, "", MISSING.format(field=name))


def named(run: pl.DataFrame) -> pl.DataFrame:
    """Split the country suffix from the printed name."""
    name = pl.col("horse_name")
    return run.with_columns(
        suffix=pl.coalesce("suffix", name.str.extract(NAME_WITH_SUFFIX, 2)).str.to_uppercase(),
        horse_name=pl.coalesce(name.str.extract(NAME_WITH_SUFFIX, 1), name).str.replace_all(r"\s+", " "),
    )


def source_horse() -> pl.Expr:
    """Return the source's name for the horse: its number, or name, suffix and year where it has none.

    Where there is no year either, the dam tells apart the horses of one name.
    """
    suffix = pl.format(" ({})", "suffix").fill_null("")
    dam = pl.format(" out of {}", pl.col("dam").str.to_lowercase().str.replace_all(r"\s+", " ")).fill_null("")
    born = pl.coalesce(pl.format(" {}", "foaled"), dam)
    name = pl.concat_str(pl.col("horse_name").str.to_lowercase(), suffix.str.to_lowercase(), born)
    return pl.format("{}:{}", "source", pl.coalesce("horse_id", name))


def _races(race: pl.DataFrame, lost: pl.Series, shape: Shape, file: str, *, repeated: bool) -> pl.DataFrame:
    going = pl.col("going").str.to_lowercase()
    currency = pl.coalesce("currency", pl.when(pl.col("prize").is_not_null()).then(pl.lit(shape.currency or None)))
    country = pl.coalesce("country", pl.lit(shape.jurisdiction or None, dtype=pl.String))
    return (
        race.filter(~lost)
        .with_columns(going=going, currency=currency, country=country, source=pl.lit(shape.source), file=pl.lit(file))
        .with_columns(repeated=pl.lit(repeated))
        .with_columns(race_key=pl.format("{}:{}", "source", "race_id"))
        .rename({LINE: "line"})
        .select(STAGED_RACES.names())
    )


def _runs(run: pl.DataFrame, race: pl.DataFrame | None, lost: pl.Series, shape: Shape, file: str) -> pl.DataFrame:
    if race is not None:
        run = run.with_columns(race_id=race["race_id"])
    outcome = pl.coalesce(
        "outcome",
        pl.when(pl.col("position").is_not_null()).then(pl.lit("finished")).otherwise(pl.lit(shape.no_position)),
    )
    return (
        run.filter(~lost)
        .with_columns(outcome=outcome, source=pl.lit(shape.source), file=pl.lit(file))
        .with_columns(race_key=pl.format("{}:{}", "source", "race_id"), source_horse=source_horse())
        .rename({LINE: "line"})
        .select(STAGED_RUNS.names())
    )
