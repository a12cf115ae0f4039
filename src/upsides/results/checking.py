"""What is odd about the results in a library, counted and said plainly; nothing is changed.

`check` looks at every source for itself: how much of each column is there, races with odd fields, values that
contradict one another, horses that look like one. A finding is a remark for a person, not an error.
"""

from dataclasses import dataclass

import polars as pl

from upsides.results.identity import suggest_links
from upsides.results.library import Library
from upsides.results.schema import RACES, RUNS, STARTED

PLACES = ("file", "line", "race_key", "source", "source_horse", "horse_key")
SLOWEST_M_S, FASTEST_M_S = 11.0, 20.0
"""Mean speeds of whole races beyond which time and distance disagree. Common practice, no source."""
FAR_LENGTHS = 60
"""Margins are rarely told in numbers beyond this: a wrong unit, or a code for "not recorded". Common practice, no
source.
"""
EXAMPLES = 5


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was counted.

    Args:
        source: the source.
        kind: a short constant phrase.
        count: how many races, runs, horses or cells.
        of: out of how many; 0 where that means nothing.
        examples: a few keys.
    """

    source: str
    kind: str
    count: int
    of: int
    examples: tuple[str, ...] = ()

    def __str__(self) -> str:
        of = f" of {self.of}" if self.of else ""
        shown = f" ({', '.join(self.examples)})" if self.examples else ""
        return f"{self.source}: {self.kind}: {self.count}{of}{shown}"


@dataclass(frozen=True, slots=True)
class Checked:
    """Everything that was looked at.

    Args:
        years: `source`, `year`, `races`, `runs`.
        missing: `source`, `table`, `column`, `share` of empty cells; columns that are always filled are left
            out.
        findings: what is odd, source by source.
    """

    years: pl.DataFrame
    missing: pl.DataFrame
    findings: list[Finding]


def check(library: Library) -> Checked:
    """Look through a library."""
    findings: list[Finding] = []
    for summary in library.summary():
        findings += _of_source(library, summary.source)
    links = suggest_links(library)
    if links:
        pairs = tuple(f"{link.kept} = {link.merged}" for link in links[:EXAMPLES])
        findings.append(
            Finding("all", "horses of two sources that look like one and are not linked", len(links), 0, pairs)
        )
    return Checked(years=_years(library), missing=_missing(library), findings=findings)


def _years(library: Library) -> pl.DataFrame:
    races = library.table("races").group_by("source", "year").agg(races=pl.len())
    runs = library.table("runs").group_by("source", "year").agg(runs=pl.len())
    joined = races.join(runs, ["source", "year"], how="left").with_columns(pl.col("runs").fill_null(0))
    return joined.sort("source", "year").collect(engine="streaming")


def _missing(library: Library) -> pl.DataFrame:
    parts = []
    for table, columns, frame in (("races", RACES, library.races()), ("runs", RUNS, library.runs())):
        names = [column.name for column in columns if column.name not in PLACES]
        empty = frame.group_by("source").agg((pl.col(names).null_count() / pl.len()).cast(pl.Float64))
        long = empty.collect(engine="streaming").unpivot(index="source", variable_name="column", value_name="share")
        parts.append(long.with_columns(table=pl.lit(table)))
    whole = pl.concat(parts).filter(pl.col("share") > 0)
    return whole.select("source", "table", "column", "share").sort("source", "table", "column")


def _of_source(library: Library, source: str) -> list[Finding]:
    races = library.races().filter(pl.col("source") == source)
    runs = library.runs().filter(pl.col("source") == source)
    fields = _fields(runs).collect(engine="streaming")
    total_races = races.select(pl.len()).collect().item()
    total_runs = int(fields["entries"].sum())
    found = [
        _races("races without runs", races.join(fields.lazy(), "race_key", how="anti"), total_races),
        _races("races with one starter", fields.lazy().filter(pl.col("started") == 1), total_races),
        _races("races in which nobody started", fields.lazy().filter(pl.col("started") == 0), total_races),
        _races(
            "races without a winner",
            fields.lazy().filter((pl.col("winners") == 0) & (pl.col("started") > 0)),
            total_races,
        ),
        _races("dead heats for first", fields.lazy().filter(pl.col("winners") > 1), total_races),
        _races("races in which every starter dead-heated", fields.lazy().filter(_all_level()), total_races),
        _races("positions that skip or repeat without a dead heat", fields.lazy().filter(_gap()), total_races),
        _races("times that do not belong to the distance", races.filter(_odd_speed()), total_races),
        _runs("runs with a saddlecloth another runner of the race wears", runs.filter(_worn_twice()), total_runs),
        _runs("runs placed in front of the winner", runs.filter(pl.col("beaten_lengths") < 0), total_runs),
        _runs(
            f"runs beaten further than {FAR_LENGTHS} lengths",
            runs.filter(pl.col("beaten_lengths") > FAR_LENGTHS),
            total_runs,
        ),
        *_refusals(library, source),
        *_two_of_a_name(library, source),
        _two_dams(library, source),
    ]
    return [finding for finding in found if finding.count]


def _fields(runs: pl.LazyFrame) -> pl.LazyFrame:
    """Count each race's entries, starters, winners and places."""
    started = pl.col("outcome").is_in(STARTED)
    placed = pl.col("position").filter(pl.col("outcome") == "finished")
    return runs.group_by("race_key").agg(
        entries=pl.len(),
        started=started.sum(),
        winners=(placed == 1).sum(),
        placed=placed.count(),
        last=placed.max(),
        distinct=placed.n_unique(),
        level=pl.col("dead_heat").sum(),
    )


def _all_level() -> pl.Expr:
    return (pl.col("started") > 1) & (pl.col("distinct") == 1) & (pl.col("placed") == pl.col("started"))


def _gap() -> pl.Expr:
    """Say whether the last place is not the number of places, as it is in any complete order of finish."""
    return (pl.col("last") > pl.col("placed")) & (pl.col("placed") == pl.col("started"))


def _odd_speed() -> pl.Expr:
    return ~(pl.col("distance_m") / pl.col("winning_time_s")).is_between(SLOWEST_M_S, FASTEST_M_S)


def _worn_twice() -> pl.Expr:
    worn = pl.col("saddlecloth").is_not_null() & pl.col("outcome").is_in(STARTED)
    return worn & (pl.len().over("race_key", "saddlecloth", worn) > 1)


def _races(kind: str, frame: pl.LazyFrame, of: int) -> Finding:
    keys = frame.select("race_key").sort("race_key").collect()["race_key"]
    source = keys[0].partition(":")[0] if len(keys) else ""
    return Finding(source, kind, len(keys), of, tuple(keys.head(EXAMPLES)))


def _runs(kind: str, frame: pl.LazyFrame, of: int) -> Finding:
    keys = frame.select("source", label=pl.format("{} {}", "race_key", "source_horse")).sort("label").collect()
    source = keys["source"][0] if keys.height else ""
    return Finding(source, kind, keys.height, of, tuple(keys["label"].head(EXAMPLES)))


def _refusals(library: Library, source: str) -> list[Finding]:
    words = {"row": "rows left out", "field": "cells left empty", "noted": "remarks"}
    counts = library.refused().filter(pl.col("source") == source).group_by("fate", "reason", "field")
    frame = counts.len().sort("fate", "reason", "field").collect()
    return [
        Finding(source, f"{words[fate]}: {field + ', ' if field else ''}{reason}", count, 0)
        for fate, reason, field, count in frame.iter_rows()
    ]


def _two_of_a_name(library: Library, source: str) -> list[Finding]:
    """Find horses of one source that bear one name: two horses, or one under two numbers."""
    horses = library.horses().filter((pl.col("source") == source) & pl.col("name").is_not_null())
    shared = horses.filter(pl.struct("name", "suffix").is_duplicated()).sort("name", "source_horse").collect()
    shown = tuple(f"{name} [{key}]" for name, key in shared.select("name", "source_horse").head(EXAMPLES).iter_rows())
    return [
        Finding(
            source,
            "horses of one name under different numbers",
            shared.height,
            horses.select(pl.len()).collect().item(),
            shown,
        )
    ]


def _two_dams(library: Library, source: str) -> Finding:
    """Find horses of one source that bear one name and have different dams: surely two horses."""
    horses = library.horses().filter(
        (pl.col("source") == source) & pl.col("name").is_not_null() & pl.col("dam").is_not_null()
    )
    dams = pl.col("dam").str.to_lowercase().n_unique().over("name", "suffix")
    two = horses.filter(dams > 1).sort("name", "source_horse").collect()
    shown = tuple(f"{name} [{key}]" for name, key in two.select("name", "source_horse").head(EXAMPLES).iter_rows())
    return Finding(source, "one name, two dams", two.height, horses.select(pl.len()).collect().item(), shown)
