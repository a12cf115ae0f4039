"""Import of published results: atomic, repeatable, bounded in memory, with every refusal reported.

Files are read in batches and mapped by their shape; rows are staged in buckets of whole races; each bucket is
settled against the library; and everything is published by one commit. Killed at any moment before it, the
library is as it was.
"""

import hashlib
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path

import polars as pl

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _
from upsides.results import by_hand, tables
from upsides.results.blocks import read_blocks
from upsides.results.deriving import Conventions
from upsides.results.description import Shape
from upsides.results.given import GivenFile, open_files, text_bytes, unused_columns
from upsides.results.horses import NO_PARENTS, rebuild_horses
from upsides.results.library import Library
from upsides.results.listed import STAGED_HORSES, called_otherwise, map_horses, raced, settle_horses, told_anew
from upsides.results.lock import writing
from upsides.results.mapping import STAGED_RACES, STAGED_RUNS, faults, map_batch
from upsides.results.readers import open_source, read_batches
from upsides.results.recognising import recognise
from upsides.results.schema import REFUSED, polars_schema
from upsides.results.settling import Settled, settle
from upsides.results.shape import load_shape
from upsides.results.staging import Stage, buckets_for

Progress = Callable[[float, float, str], None]
SHOWN_REFUSALS = 200_000
FRAME = "a frame"
"""Where horses stand that came without a file."""
READING, SETTLING = 700.0, 950.0
"""How far the progress stands, of 1000, when files are read and when races are settled."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did.

    Args:
        source: the source.
        races: races read and kept.
        runs: runs read and kept.
        new: races that the library did not hold.
        replaced: races that it held in another form.
        unchanged: races that it held as they are.
        horses: horses read from tables of horses and kept.
        horses_changed: those of which the library now says something that it did not say.
        horses_raced: horses of the source in tables of horses that have run here; 0 where none was read.
        refused_rows: rows left out.
        refused: refusals and remarks in the schema REFUSED; `fate` "row" is a row left out. At most
            SHOWN_REFUSALS of them; all are in `library.refused()`.
        unused: columns that nothing was taken from, by file, with the reason where the shape gives one.
    """

    source: str
    races: int
    runs: int
    new: int
    replaced: int
    unchanged: int
    refused_rows: int
    refused: pl.DataFrame
    horses: int = 0
    horses_changed: int = 0
    horses_raced: int = 0
    unused: dict[str, dict[str, str]] = field(default_factory=dict)


def add(
    library: Library,
    files: Sequence[str | Path],
    shape: str | Path | Shape,
    progress: Progress | None = None,
    max_line: int | None = None,
) -> Imported:
    """Add files of results to the library.

    Args:
        library: where they go; it is refreshed when the import is done.
        files: the tables, in any order; which is which is told from their columns.
        shape: name of a shipped shape, path of a TOML file, or a shape already loaded.
        progress: called with what is done, the total and what is being done.
        max_line: longest line that is read, in bytes.

    Raises:
        ShapeError: the shape cannot be used.
        FileUnreadableError: a file cannot be used; nothing was taken.
        LibraryBusyError: another process is writing.
    """
    shape = shape if isinstance(shape, Shape) else load_shape(shape)
    tell = progress or _silent
    opened = open_files([Path(file) for file in files], shape, max_line)
    with writing(library.folder):
        library.refresh()
        reader = hashlib.sha256(f"{shape.sha256} {version('upsides')}".encode()).hexdigest()
        before = _same_as_last(library, shape.source, opened, reader)
        if before is not None:
            return before
        stage = _new_stage(library.folder, sum(text_bytes(item.source) for item in opened))
        try:
            unused = {item.name: unused_columns(item) for item in opened}
            _read(opened, shape, stage, tell)
            conventions = Conventions(shape.margin_to, shape.section_m, shape.section_from, shape.birthday)
            return _finish(library, stage, shape.source, conventions, opened, (shape.name, reader), unused, tell)
        finally:
            stage.close()


def check_files(files: Sequence[str | Path], shape: str | Path | Shape) -> Shape:
    """Look at files before a library is made for them, and return the shape, read.

    Text is read to its end, so that a file that is cut off is told here; of other files the columns are read.

    Raises:
        ShapeError: the shape cannot be used.
        FileUnreadableError: a file cannot be used.
    """
    shape = shape if isinstance(shape, Shape) else load_shape(shape)
    if not files:
        raise FileUnreadableError("results", _("no file was given"), _("name at least one"))
    for path in map(Path, files):
        source = open_source(path, shape.delimiter, shape.encoding, shape.header_line, shape.sheet)
        recognise(source, shape)
        if source.kind in ("text", "json"):
            deque(read_blocks(path), maxlen=0)
        elif source.kind == "parquet":
            next(read_batches(source), None)
    return shape


def add_frames(
    library: Library, races: pl.DataFrame, runs: pl.DataFrame, source: str, horses: pl.DataFrame | None = None
) -> Imported:
    """Add races and runs that are in the schema already, as source `source`.

    Args:
        library: where they go; it is refreshed when the import is done.
        races: columns of the schema's RACES; `race_id`, `date` needed, others may be absent.
        runs: columns of the schema's RUNS; `race_key` (source:race_id) and `source_horse` needed, others may
            be absent.
        source: the name of the source; keys are expected to begin with it.
        horses: what is known of horses besides, whether they have run or not: of the schema's HORSES `source_horse`
            needed, `name`, `suffix`, `foaled`, `sex` (male or female), `sire`, `dam` and `dam_sire` where known.

    Raises:
        LibraryBusyError: another process is writing.
    """
    races = races.with_columns(source=pl.lit(source), race_key=pl.format(source + ":{}", "race_id"))
    runs = runs.with_columns(source=pl.lit(source))
    with writing(library.folder):
        library.refresh()
        stage = _new_stage(library.folder, 150.0 * runs.height)
        try:
            stage.spread("races", _fitted(races, STAGED_RACES).with_columns(repeated=pl.lit(False)))
            stage.spread("runs", _fitted(runs, STAGED_RUNS))
            if horses is not None:
                named = horses.rename({"name": "horse_name"}).with_columns(source=pl.lit(source), file=pl.lit(FRAME))
                stage.put("horses", 0, _fitted(named, STAGED_HORSES))
            return _finish(library, stage, source, Conventions(), [], ("", ""), {}, _silent)
        finally:
            stage.close()


def _silent(done: float, total: float, label: str) -> None:
    """Tell nobody."""


def _fitted(frame: pl.DataFrame, schema: pl.Schema) -> pl.DataFrame:
    columns = [
        (pl.col(name) if name in frame.columns else pl.lit(None)).cast(dtype).alias(name)
        for name, dtype in schema.items()
    ]
    return frame.select(columns)


def _new_stage(folder: Path, text_bytes: float) -> Stage:
    stage = folder / "staging"
    Stage.remove(stage)
    return Stage(stage, buckets_for(text_bytes))


def _same_as_last(library: Library, source: str, opened: list[GivenFile], reader: str) -> Imported | None:
    """Return what the last import of the source gave, when it was of these very files by this very reader."""
    files = library.table("files").filter(pl.col("source") == source).collect()
    last = files.filter(pl.col("import_no") == pl.col("import_no").max())
    if set(last["sha256"]) != {item.sha256 for item in opened} or set(last["reader"]) != {reader}:
        return None
    refused = library.refused().filter((pl.col("source") == source) & pl.col("file").is_in(list(last["file"])))
    races = last["races"][0]
    return Imported(
        source=source,
        races=races,
        runs=last["runs"][0],
        new=0,
        replaced=0,
        unchanged=races,
        refused_rows=rows_lost(refused.collect()),
        refused=refused.head(SHOWN_REFUSALS).collect(),
        horses=last["horses"][0] or 0,
        horses_raced=raced(library, source) if last["horses"][0] else 0,
        unused={item.name: unused_columns(item) for item in opened},
    )


def _read(opened: list[GivenFile], shape: Shape, stage: Stage, tell: Progress) -> None:
    """Read, map and stage every file."""
    sizes = [max(text_bytes(item.source), 1.0) for item in opened]
    for place, item in enumerate(opened):
        before, share = sum(sizes[:place]) / sum(sizes), sizes[place] / sum(sizes)
        for batch in read_batches(item.source):
            stage.put("refused", 0, faults(batch.faults, shape.source, item.name))
            _stage_batch(batch.frame, item, shape, stage)
            tell(READING * (before + share * min(batch.done, 1.0)), 1000.0, f"reading {item.name}")


def _stage_batch(raw: pl.DataFrame, item: GivenFile, shape: Shape, stage: Stage) -> None:
    if item.table.horse:
        horses, refused = map_horses(raw, item.table, shape, item.name)
        stage.put("horses", 0, horses)
    else:
        mapped = map_batch(raw, item.table, shape, item.name)
        stage.spread("races", mapped.races)
        stage.spread("runs", mapped.runs)
        refused = mapped.refused
    stage.put("refused", 0, refused)


def _finish(
    library: Library,
    stage: Stage,
    source: str,
    conventions: Conventions,
    opened: list[GivenFile],
    reader: tuple[str, str],
    unused: dict[str, dict[str, str]],
    tell: Progress,
) -> Imported:
    """Settle every bucket and commit."""
    known = library.table("races").filter(pl.col("source") == source).select("race_key", "digest").collect()
    counts = dict.fromkeys(("races", "runs", "new", "replaced", "unchanged"), 0)
    replaced: list[pl.Series] = []
    stage.flush()
    for bucket in range(stage.buckets):
        done = _settle_bucket(stage, bucket, library, known, conventions)
        replaced.append(done.replaced)
        counts = {name: counts[name] + done.counts[name] for name in counts}
        share = (bucket + 1) / stage.buckets
        tell(READING + (SETTLING - READING) * share, 1000.0, "putting races together")
    listed, notes = settle_horses(list(stage.each("horses", 0)))
    stage.put("refused", 0, notes)
    counts |= {"horses": listed.height, "horses_changed": told_anew(library, source, listed)}
    if _changes_anything(library, counts, source, opened):
        tell(SETTLING, 1000.0, "writing")
        _commit(library, stage, source, pl.concat(replaced), listed, opened, reader, counts)
    tell(1000.0, 1000.0, "done")
    refused, lost = _shown(stage)
    counts["horses_raced"] = raced(library, source) if listed.height else 0
    return Imported(source=source, refused_rows=lost, refused=refused, unused=unused, **counts)


def _settle_bucket(
    stage: Stage, bucket: int, library: Library, known: pl.DataFrame, conventions: Conventions
) -> Settled:
    races = pl.concat([STAGED_RACES.to_frame(), *stage.read("races", bucket)])
    runs = pl.concat([STAGED_RUNS.to_frame(), *stage.read("runs", bucket)])
    done = settle(races, runs, library, known, conventions)
    stage.drop("races", bucket)
    stage.drop("runs", bucket)
    stage.put("final_races", bucket, done.races)
    stage.put("final_runs", bucket, done.runs)
    stage.put("parents", bucket, done.parents)
    stage.put("refused", 0, done.notes)
    return done


def _changes_anything(library: Library, counts: dict[str, int], source: str, opened: list[GivenFile]) -> bool:
    if counts["new"] or counts["replaced"] or counts["horses_changed"]:
        return True
    seen = library.table("files").filter(pl.col("source") == source).select("sha256").collect()["sha256"]
    return any(item.sha256 not in seen for item in opened)


def _commit(
    library: Library,
    stage: Stage,
    source: str,
    replaced: pl.Series,
    listed: pl.DataFrame,
    opened: list[GivenFile],
    reader: tuple[str, str],
    counts: dict[str, int],
) -> None:
    """Write the staged rows to every table and publish them by one rename."""
    folder = library.folder
    tables.undo_unpinned(folder, library.pins)
    gone = library.table("races").filter((pl.col("source") == source) & pl.col("race_key").is_in(replaced.implode()))
    old = gone.select("race_key", "year").collect(engine="streaming")
    horses = _horses_touched(library, stage, source, old)
    for name in ("races", "runs"):
        tables.delete_races(folder, name, source, old)
        tables.append_frames(folder, name, stage.all(f"final_{name}"))
    tables.delete_refused(folder, source, [item.name for item in opened])
    if opened:
        tables.append_frames(folder, "files", iter([_file_rows(library, source, opened, reader, counts)]))
    parents = pl.concat([NO_PARENTS.to_frame(), *stage.all("parents")])
    known = rebuild_horses(folder, source, horses, parents, listed)
    stage.put("refused", 0, called_otherwise(listed, known))
    tables.append_frames(folder, "refused", stage.all("refused"))
    by_hand.give_way(folder)
    tables.tidy(folder)
    tables.write_pins(folder, tables.versions(folder))
    library.refresh()


def _horses_touched(library: Library, stage: Stage, source: str, old: pl.DataFrame) -> pl.Series:
    """Return the horses whose runs change: those in the new rows, and those in the rows that are replaced."""
    touched = [pl.Series("source_horse", [], pl.String)]
    touched += [frame["source_horse"].unique() for frame in stage.all("final_runs")]
    for (year,), part in old.partition_by("year", as_dict=True).items():
        runs = library.table("runs").filter((pl.col("source") == source) & (pl.col("year") == year))
        held = runs.filter(pl.col("race_key").is_in(part["race_key"].implode()))
        touched.append(held.select("source_horse").collect(engine="streaming")["source_horse"].unique())
    return pl.concat(touched).unique()


def _file_rows(
    library: Library, source: str, opened: list[GivenFile], reader: tuple[str, str], counts: dict[str, int]
) -> pl.DataFrame:
    number = (library.table("files").select(pl.col("import_no").max()).collect().item() or 0) + 1
    rows = [
        (
            number,
            source,
            item.name,
            item.sha256,
            item.source.path.stat().st_size,
            reader[0],
            reader[1],
            counts["races"],
            counts["runs"],
            counts["horses"],
        )
        for item in opened
    ]
    return pl.DataFrame(rows, schema=tables.FILES_SCHEMA, orient="row")


def _shown(stage: Stage) -> tuple[pl.DataFrame, int]:
    """Return the first refusals, and the number of rows left out."""
    shown, lost = [polars_schema(REFUSED).to_frame()], 0
    room = SHOWN_REFUSALS
    for frame in stage.each("refused", 0):
        lost += rows_lost(frame)
        shown.append(frame.head(room))
        room -= shown[-1].height
    return pl.concat(shown), lost


def rows_lost(refused: pl.DataFrame) -> int:
    """Count the rows left out; one row may be refused for several reasons."""
    return int(refused.filter(pl.col("fate") == "row").select(pl.struct("file", "line").n_unique()).item())
