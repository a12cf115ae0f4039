"""One bucket of whole races in its final form: duplicates refused, gaps filled from the library, compared.

A race is compared by a digest of everything it says (its own row and all its runs), so that the same race
again changes nothing and a corrected one replaces it whole.
"""

import hashlib
from dataclasses import dataclass

import polars as pl

from upsides.errors.wording import gettext as _
from upsides.results.deriving import Conventions, derive, remark
from upsides.results.library import Library
from upsides.results.mapping import STAGED_RACES, STAGED_RUNS
from upsides.results.schema import RACES, RUNS, polars_schema
from upsides.results.tables import SCHEMAS

PLACE = ("file", "line")
NO_RACE = _("no such race, neither here nor in the library: add its races first, or both together")
SEPARATOR = "\x1f"


@dataclass(frozen=True, slots=True)
class Settled:
    """A bucket in its final form.

    Args:
        races: new and changed races, with the table's internal columns.
        runs: their runs.
        parents: source_horse, sire and dam, where the source names them.
        notes: refusals and remarks.
        replaced: keys of the races that the library holds in another form.
        counts: races, runs, new, replaced, unchanged.
    """

    races: pl.DataFrame
    runs: pl.DataFrame
    parents: pl.DataFrame
    notes: pl.DataFrame
    replaced: pl.Series
    counts: dict[str, int]


def settle(
    races: pl.DataFrame, runs: pl.DataFrame, library: Library, known: pl.DataFrame, conventions: Conventions
) -> Settled:
    """Settle one bucket.

    Args:
        races: staged races, with what `mapping` gives.
        runs: staged runs.
        library: where the counterpart of a lone race or run is looked up.
        known: `race_key` and `digest` of the races of this source that the library holds.
        conventions: what the source means.
    """
    notes: list[pl.DataFrame] = []
    races = _one_row_a_race(races, notes)
    runs = _one_row_a_runner(runs, notes)
    parents = runs.filter(pl.any_horizontal(pl.col("sire", "dam").is_not_null()))
    parents = parents.select("source_horse", "sire", "dam").unique("source_horse", keep="last")
    stored = _stored_races(library, runs.join(races, "race_key", how="anti")["race_key"].unique(), known)
    races = pl.concat([races, stored], how="diagonal")
    lone = runs.join(races, "race_key", how="anti", maintain_order="left")
    if lone.height:
        notes.append(remark(lone, "race_id", "race_id", NO_RACE, "row"))
        runs = runs.join(races, "race_key", how="semi", maintain_order="left")
    bare = races.join(runs, "race_key", how="anti")["race_key"]
    runs = pl.concat([runs, _stored_runs(library, bare, known)], how="diagonal")
    done = derive(races, runs.with_columns(pl.col("settled").fill_null(False)), conventions)
    digests = digest(done.races, done.runs)
    compared = digests.join(known, "race_key", how="left", suffix="_known")
    changed = compared.filter(pl.col("digest_known").is_null() | (pl.col("digest") != pl.col("digest_known")))
    replaced = changed.filter(pl.col("digest_known").is_not_null())["race_key"]
    year = pl.col("date").dt.year().cast(pl.Int16).alias("year")
    return Settled(
        races=done.races.join(changed.select("race_key", "digest"), "race_key", maintain_order="left")
        .with_columns(year)
        .sort("date", "race_key")
        .select(SCHEMAS["races"].names()),
        runs=done.runs.join(changed.select("race_key"), "race_key", how="semi", maintain_order="left")
        .with_columns(year)
        .sort("date", "race_key", "line", maintain_order=True)
        .select(SCHEMAS["runs"].names()),
        parents=parents,
        notes=pl.concat([*notes, done.notes]),
        replaced=replaced,
        counts={
            "races": done.races.height,
            "runs": done.runs.height,
            "new": changed.height - replaced.len(),
            "replaced": replaced.len(),
            "unchanged": compared.height - changed.height,
        },
    )


def _one_row_a_race(races: pl.DataFrame, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Keep the first row of each race; rows repeated on its runners are merged when they agree."""
    values = [name for name in STAGED_RACES.names() if name not in PLACE]
    races = races.unique(values, keep="first", maintain_order=True) if races["repeated"].any() else races
    first = pl.col("race_key").is_first_distinct()
    twice = races.filter(~first)
    if twice.height:
        same = twice.filter(~pl.col("repeated"))
        notes.append(remark(same, "race_id", "race_id", _("the race stands here twice: the first row is kept"), "row"))
        mixed = twice.filter(pl.col("repeated"))
        reason = _("rows of one race disagree about it: the first row is kept")
        notes.append(remark(mixed, "race_id", "race_id", reason))
    return races.filter(first)


def _one_row_a_runner(runs: pl.DataFrame, notes: list[pl.DataFrame]) -> pl.DataFrame:
    first = pl.struct("race_key", "source_horse").is_first_distinct()
    twice = runs.filter(~first)
    if twice.height:
        reason = _("the horse stands in this race twice: the first row is kept")
        notes.append(remark(twice, "horse_id", "source_horse", reason, "row"))
    return runs.filter(first).with_columns(settled=pl.lit(False))


def _stored_races(library: Library, keys: pl.Series, known: pl.DataFrame) -> pl.DataFrame:
    """Return the library's rows of races that the files do not give; their times come anew from the runs."""
    keys = keys.filter(keys.is_in(known["race_key"].implode())) if len(keys) else keys
    if keys.is_empty():
        return STAGED_RACES.to_frame()
    stored = library.races().filter(pl.col("race_key").is_in(keys.implode())).collect()
    return stored.with_columns(winning_time_s=pl.lit(None, pl.Float64))


def _stored_runs(library: Library, keys: pl.Series, known: pl.DataFrame) -> pl.DataFrame:
    """Return the library's runs of races whose runs the files do not give."""
    keys = keys.filter(keys.is_in(known["race_key"].implode())) if len(keys) else keys
    if keys.is_empty():
        return STAGED_RUNS.to_frame().with_columns(settled=pl.lit(True))
    own = pl.col("source") == keys[0].partition(":")[0]
    runs = library.table("runs").filter(own).select(column.name for column in RUNS)
    return runs.filter(pl.col("race_key").is_in(keys.implode())).collect().with_columns(settled=pl.lit(True))


def digest(races: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """Return `race_key` and a digest of all that each race says, wherever it was read."""
    lines = runs.sort("race_key", "source_horse").select("race_key", _line(polars_schema(RUNS)).alias("lines"))
    joined = lines.group_by("race_key", maintain_order=True).agg(pl.col("lines").str.join("\n"))
    whole = races.select("race_key", _line(polars_schema(RACES)).alias("own")).join(joined, "race_key", how="left")
    text = whole.select(pl.concat_str("own", pl.col("lines").fill_null(""), separator="\n")).to_series()
    values = [hashlib.blake2b(item.encode(), digest_size=16).hexdigest() for item in text]
    return pl.DataFrame({"race_key": whole["race_key"], "digest": pl.Series(values, dtype=pl.String)})


def _line(schema: pl.Schema) -> pl.Expr:
    parts = []
    for name, dtype in schema.items():
        column = pl.col(name)
        if name in PLACE:
            continue
        if isinstance(dtype, pl.List):
            column = column.cast(pl.List(pl.String)).list.eval(pl.element().fill_null("")).list.join(" ")
        parts.append(column.cast(pl.String).fill_null(""))
    return pl.concat_str(parts, separator=SEPARATOR)
