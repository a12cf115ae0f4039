"""The library's tables on disk: Delta tables, pinned to versions by one small file.

A Delta table is atomic by itself; several of them are not. `library.json` names the version of every table
that belongs together and is swapped by one rename, so a reader sees either the state before an import or the
state after it. What a killed import left in a table is undone (restored to the pinned version) before the
next write.
"""

import json
import os
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pyarrow as pa
from deltalake import DeltaTable, WriterProperties, write_deltalake

from upsides.errors import LibraryMissingError, LibraryNewerError
from upsides.errors.wording import gettext as _
from upsides.results.schema import HORSES, RACES, REFUSED, RUNS, polars_schema

FORMAT_VERSION = 2
"""2 has horses without runs and their tables; what 1 wrote is read as it stands, and is 2 from the next import on."""
PIN_FILE = "library.json"

HORSES_SCHEMA = polars_schema(HORSES)
LINKS_SCHEMA = pl.Schema(
    {
        "number": pl.Int64(),
        "when": pl.Datetime("us", "UTC"),
        "action": pl.String(),
        "kept": pl.String(),
        "merged": pl.String(),
        "reason": pl.String(),
        "undoes": pl.Int64(),
    }
)
FILES_SCHEMA = pl.Schema(
    {
        "import_no": pl.Int64(),
        "source": pl.String(),
        "file": pl.String(),
        "sha256": pl.String(),
        "bytes": pl.Int64(),
        "shape": pl.String(),
        "reader": pl.String(),
        "races": pl.Int64(),
        "runs": pl.Int64(),
        "horses": pl.Int64(),
    }
)
SCHEMAS: dict[str, pl.Schema] = {
    "races": pl.Schema({**polars_schema(RACES), "year": pl.Int16(), "digest": pl.String()}),
    "runs": pl.Schema({**polars_schema(RUNS), "year": pl.Int16()}),
    "horses": HORSES_SCHEMA,
    "links": LINKS_SCHEMA,
    "refused": polars_schema(REFUSED),
    "files": FILES_SCHEMA,
}
PARTITIONS = {"races": ["source", "year"], "runs": ["source", "year"], "horses": ["source"]}
WRITER = WriterProperties(compression="ZSTD", compression_level=3, max_row_group_size=65_536)
MANY_FILES = 200
FEW_KEYS = 500
FILE_BYTES = 32 * 1024 * 1024
"""Size at which a data file is closed: what the writer holds of each partition stays below it."""


def table_path(folder: Path, name: str) -> str:
    """Return the address of a table, as deltalake and Polars take it."""
    return str(folder / name)


def create_tables(folder: Path) -> dict[str, int]:
    """Create every table empty and return their versions."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, schema in SCHEMAS.items():
        write_deltalake(
            table_path(folder, name),
            pl.DataFrame(schema=schema),
            mode="overwrite",
            partition_by=PARTITIONS.get(name),
        )
    return {name: DeltaTable(table_path(folder, name)).version() for name in SCHEMAS}


def read_pins(folder: Path) -> dict[str, int]:
    """Read the pinned table versions.

    Raises:
        LibraryMissingError: there is no library here.
        LibraryNewerError: it was written by a newer format.
    """
    path = folder / PIN_FILE
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        version, pins = content["format_version"], content["tables"]
    except FileNotFoundError:
        raise LibraryMissingError(folder) from None
    except (ValueError, KeyError, TypeError):
        raise LibraryMissingError(
            _("{folder} ({pin_file} there cannot be read)", folder=folder, pin_file=PIN_FILE)
        ) from None
    if not isinstance(version, int) or version > FORMAT_VERSION:
        raise LibraryNewerError(folder, version, FORMAT_VERSION)
    return {name: int(pins[name]) for name in SCHEMAS}


def write_pins(folder: Path, versions: dict[str, int]) -> None:
    """Publish a set of table versions by one rename, on disk before it is visible."""
    path, fresh = folder / PIN_FILE, folder / (PIN_FILE + ".new")
    content = {"format_version": FORMAT_VERSION, "tables": versions}
    with fresh.open("w", encoding="utf-8") as out:
        json.dump(content, out, indent=1)
        out.flush()
        os.fsync(out.fileno())
    fresh.replace(path)


def scan(folder: Path, name: str, version: int) -> pl.LazyFrame:
    """Scan one table at one version, its columns in the schema's order; those that it was written without are empty."""
    found = pl.scan_delta(table_path(folder, name), version=version)
    there = found.collect_schema().names()
    absent = [pl.lit(None, kind).alias(column) for column, kind in SCHEMAS[name].items() if column not in there]
    return found.with_columns(absent).select(SCHEMAS[name].names())


def undo_unpinned(folder: Path, pins: dict[str, int]) -> None:
    """Restore every table that is ahead of its pin: what an import left that did not reach its end."""
    for name, version in pins.items():
        table = DeltaTable(table_path(folder, name))
        if table.version() != version:
            table.restore(version)


def delete_races(folder: Path, name: str, source: str, races: pl.DataFrame) -> None:
    """Delete the rows of a table that belong to some races of one source, one year at a time.

    Args:
        folder: the library's folder.
        name: the table.
        source: the source.
        races: `race_key` and `year` of the races; a year is a partition, so that only its rows are looked at.
    """
    table = DeltaTable(table_path(folder, name))
    for (year,), part in races.sort("year").partition_by("year", as_dict=True).items():
        keys = part["race_key"].unique()
        if len(keys) <= FEW_KEYS:
            listed = ", ".join("'" + key.replace("'", "''") + "'" for key in keys)
            table.delete(f"source = '{source}' AND year = {year} AND race_key IN ({listed})")
        else:
            joined = f"t.source = '{source}' AND t.year = {year} AND t.race_key = s.key"
            merge = table.merge(pl.DataFrame({"key": keys}), joined, source_alias="s", target_alias="t")
            merge.when_matched_delete().execute()


def delete_refused(folder: Path, source: str, files: list[str]) -> None:
    """Delete what was refused from earlier versions of the files of a source, or from its frames."""
    names = ", ".join("'" + file.replace("'", "''") + "'" for file in files)
    where = f"file IN ({names})" if files else "file IS NULL"
    DeltaTable(table_path(folder, "refused")).delete(f"source = '{source}' AND {where}")


def append_frames(folder: Path, name: str, frames: Iterator[pl.DataFrame]) -> None:
    """Append frames to a table in one commit, holding one of them in memory at a time."""
    schema = pl.DataFrame(schema=SCHEMAS[name]).to_arrow().schema

    def batches() -> Iterator[pa.RecordBatch]:
        for frame in frames:
            yield from frame.select(SCHEMAS[name].names()).to_arrow().cast(schema).to_batches()

    reader = pa.RecordBatchReader.from_batches(schema, batches())
    path = table_path(folder, name)
    write_deltalake(
        path, reader, mode="append", schema_mode="merge", writer_properties=WRITER, target_file_size=FILE_BYTES
    )


def replace_where(folder: Path, name: str, frame: pl.DataFrame, predicate: str) -> None:
    """Replace the rows of a table that meet a predicate by a frame, in one commit."""
    write_deltalake(
        table_path(folder, name),
        frame.select(SCHEMAS[name].names()),
        mode="overwrite",
        schema_mode="merge",
        predicate=predicate,
        writer_properties=WRITER,
    )


def tidy(folder: Path) -> None:
    """Join small data files where many imports have left many, and drop files no version of a week needs."""
    for name in SCHEMAS:
        table = DeltaTable(table_path(folder, name))
        if len(table.file_uris()) > MANY_FILES:
            table.optimize.compact(target_size=4 * FILE_BYTES, writer_properties=WRITER)
            table.vacuum(dry_run=False)


def versions(folder: Path) -> dict[str, int]:
    """Return the newest version of every table."""
    return {name: DeltaTable(table_path(folder, name)).version() for name in SCHEMAS}
