"""What only a whole race can tell: dead heats, places among the starters, margins, section lengths.

`derive` takes whole races and their runs and returns them in the schema, with remarks on what does not hang
together. Published values are kept; a remark says that they disagree. Two kinds of value are changed: a
margin beside the winner (the distance it won by) becomes 0, and lists of sections that do not fit their race
are emptied.
"""

from dataclasses import dataclass

import polars as pl

from upsides.errors.wording import gettext as _
from upsides.results.reasons import NOT_OF_THAT_AGE
from upsides.results.schema import RACES, REFUSED, RUNS, STARTED, polars_schema

YOUNGEST, OLDEST = 1, 30
"""Ages that a horse may have in a race, as wide as the limits of the field `age`. Common practice, no source."""
SECTION_LISTS = ("section_s", "section_position", "section_behind")
TIME_SLACK_S = 0.3
"""Section times are rounded to hundredths and own times to hundredths or tenths; six sections stay well
within this.
"""


@dataclass(frozen=True, slots=True)
class Conventions:
    """What a source means by its columns, as far as a whole race is needed to apply it.

    Args:
        margin_to: "winner", or "horse in front" when margins are to be added up.
        section_m: length of every section but one, None when not known.
        section_from: where the whole sections are counted from, "finish" or "start"; the odd one is at the
            other end.
        birthday: month and day when horses become a year older, None when the published age is not to be
            trusted.
    """

    margin_to: str = "winner"
    section_m: float | None = None
    section_from: str = "finish"
    birthday: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Derived:
    """Whole races in the schema, and remarks."""

    races: pl.DataFrame
    runs: pl.DataFrame
    notes: pl.DataFrame


def derive(races: pl.DataFrame, runs: pl.DataFrame, conventions: Conventions) -> Derived:
    """Complete whole races.

    Args:
        races: one row a race, with the schema's columns; derived ones may be empty.
        runs: every run of those races.
        conventions: what the source means.
    """
    notes: list[pl.DataFrame] = []
    runs = runs.drop("date", strict=False).join(races.select("race_key", "date"), "race_key", maintain_order="left")
    runs = _dead_heats(_margins(runs, conventions, notes))
    runs = _started_from(_possible_years(runs, notes), notes).with_columns(foaled=_foaled(conventions))
    races = _summed(races, runs)
    races, runs = _sections(races, runs, conventions, notes)
    _check_times(races, runs, notes)
    note = pl.concat(notes) if notes else polars_schema(REFUSED).to_frame()
    return Derived(_typed(races, polars_schema(RACES)), _typed(runs, polars_schema(RUNS)), note)


def _typed(frame: pl.DataFrame, schema: pl.Schema) -> pl.DataFrame:
    return frame.select(pl.col(name).cast(dtype) for name, dtype in schema.items())


def remark(frame: pl.DataFrame, field: str, value: str | None, reason: str, fate: str = "noted") -> pl.DataFrame:
    """Return one remark for every row of `frame`; `value` names the column to quote."""
    quoted = pl.lit("") if value is None else pl.col(value).cast(pl.String)
    return frame.select(
        "source",
        "file",
        "line",
        pl.lit(field).alias("field"),
        quoted.alias("value"),
        pl.lit(reason).alias("reason"),
        pl.lit(fate).alias("fate"),
    ).cast(polars_schema(REFUSED))


def _won() -> pl.Expr:
    return (pl.col("position") == 1) & (pl.col("outcome") == "finished")


def _margins(runs: pl.DataFrame, conventions: Conventions, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Set the winner's margin to 0, and add margins up where they are to the horse in front."""
    odd = runs.filter(_won() & (pl.col("beaten_lengths") > 0))
    if odd.height:
        reason = _("a winner with a margin: taken as what it won by")
        notes.append(remark(odd, "beaten_lengths", "beaten_lengths", reason))
    behind = pl.col("beaten_lengths")
    runs = runs.with_columns(beaten_lengths=pl.when(_won()).then(0.0).otherwise(behind))
    if conventions.margin_to == "winner":
        return runs
    placed = (pl.col("outcome") == "finished") & pl.col("position").is_not_null()
    runs = runs.sort("race_key", "position", "line", nulls_last=True)
    known = (behind.is_null() & placed).cum_sum().over("race_key") == 0
    total = pl.when(known).then(behind.fill_null(0.0).cum_sum().over("race_key"))
    fresh = ~pl.col("settled") if "settled" in runs.columns else pl.lit(True)
    return runs.with_columns(
        beaten_lengths=pl.when(fresh & placed).then(total).when(fresh).then(None).otherwise(behind)
    )


def _dead_heats(runs: pl.DataFrame) -> pl.DataFrame:
    """Mark those that share their position; a source's own mark stands."""
    placed = pl.col("position").is_not_null() & (pl.col("outcome") == "finished")
    shared = pl.struct("race_key", "position", "outcome").is_duplicated()
    marked = pl.col("dead_heat").fill_null(False)
    return runs.with_columns(dead_heat=pl.when(placed).then(shared | marked))


def _started_from(runs: pl.DataFrame, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Rank the draws of those that started: a withdrawn horse's stall is closed up.

    In a race for which the source publishes these places, they are taken as published.
    """
    started = pl.col("outcome").is_in(STARTED) & pl.col("draw").is_not_null()
    drawn = runs.filter(started)
    doubled = drawn.filter(drawn.select("race_key", "draw").is_duplicated())
    if doubled.height:
        notes.append(remark(doubled, "draw", "draw", _("two starters of one race with the same draw")))
    unclear = pl.col("race_key").is_in(doubled["race_key"].unique().implode())
    rank = pl.when(started).then("draw").rank("ordinal").over("race_key")
    ran = pl.when(pl.col("outcome").is_in(STARTED)).then("started_from")
    published = pl.col("started_from").is_not_null().any().over("race_key")
    return runs.with_columns(started_from=pl.when(published).then(ran).when(~unclear).then(rank))


def _possible_years(runs: pl.DataFrame, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Empty published years of foaling that cannot be, seen from the day of the race."""
    possible = (pl.col("date").dt.year() - pl.col("foaled")).is_between(YOUNGEST, OLDEST)
    wrong = runs.filter(~possible)
    if not wrong.height:
        return runs
    reason = NOT_OF_THAT_AGE.format(youngest=YOUNGEST, oldest=OLDEST)
    notes.append(remark(wrong, "foaled", "foaled", reason, "field"))
    return runs.with_columns(foaled=pl.when(possible).then("foaled"))


def _foaled(conventions: Conventions) -> pl.Expr:
    """Return the year of foaling: as published, or as the age on the day implies."""
    if conventions.birthday is None:
        return pl.col("foaled")
    month, day = conventions.birthday
    date = pl.col("date")
    had = (date.dt.month() > month) | ((date.dt.month() == month) & (date.dt.day() >= day))
    return pl.coalesce("foaled", (date.dt.year() - pl.col("age") - pl.when(had).then(0).otherwise(1)).cast(pl.Int16))


def _summed(races: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """Count the starters and take the winner's time from its run where the race has none."""
    sums = runs.group_by("race_key").agg(
        started=pl.col("outcome").is_in(STARTED).sum(), won_in=pl.col("time_s").filter(_won()).min()
    )
    joined = races.join(sums, "race_key", how="left", maintain_order="left")
    return joined.with_columns(
        runners=pl.coalesce("started", "runners"), winning_time_s=pl.coalesce("winning_time_s", "won_in")
    ).drop("started", "won_in")


def _recorded(column: str) -> pl.Expr:
    """Return the length of a list without the empty cells at its end; null when all are empty."""
    filled = pl.int_ranges(1, pl.col(column).list.len() + 1) * pl.col(column).list.eval(
        pl.element().is_not_null().cast(pl.Int64)
    )
    last = filled.list.max()
    return pl.when(last > 0).then(last)


def _sections(
    races: pl.DataFrame, runs: pl.DataFrame, conventions: Conventions, notes: list[pl.DataFrame]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Cut lists of sections to the race's number of sections and give the sections their lengths."""
    used = [name for name in SECTION_LISTS if runs[name].null_count() < runs.height]
    if not used and races["section_s"].null_count() == races.height:
        return races, runs
    own = runs.group_by("race_key").agg(pl.max_horizontal([_recorded(name).max() for name in used] or [0]).alias("own"))
    races = races.join(own, "race_key", how="left", maintain_order="left")
    races = races.with_columns(count=pl.coalesce(_recorded("section_s"), "own").cast(pl.Int64))
    races = races.with_columns(section_s=_cut("section_s"))
    races = races.with_columns(section_m=_section_lengths(conventions))
    wrong = races.filter((pl.col("section_m").list.min() <= 0) | _misses_distance())
    if wrong.height:
        reason = _("section lengths do not add up to the distance")
        notes.append(remark(wrong, "section_m", None, reason, "field"))
    races = races.with_columns(
        section_m=pl.when(~_misses_distance() & (pl.col("section_m").list.min() > 0)).then("section_m")
    )
    runs = runs.join(races.select("race_key", "count"), "race_key", how="left", maintain_order="left")
    for name in used:
        short = runs.filter(pl.col(name).list.len() < pl.col("count"))
        if short.height:
            notes.append(remark(short, name, None, _("not as many sections as the race has"), "field"))
        runs = runs.with_columns(_cut(name).alias(name))
    return races.drop("own", "count"), runs.drop("count")


def _cut(name: str) -> pl.Expr:
    column = pl.col(name)
    fits = (column.list.len() >= pl.col("count")) & (column.list.drop_nulls().list.len() > 0)
    return pl.when(fits).then(column.list.head(pl.col("count")))


def _section_lengths(conventions: Conventions) -> pl.Expr:
    """Return lengths by the source's rule: equal sections, and one odd one at the far end."""
    if conventions.section_m is None:
        return pl.col("section_m")
    whole = pl.lit(conventions.section_m)
    odd = (pl.col("distance_m") - whole * (pl.col("count") - 1)).reshape((-1, 1)).arr.to_list()
    rest = whole.repeat_by(pl.col("count") - 1)
    lengths = odd.list.concat(rest) if conventions.section_from == "finish" else rest.list.concat(odd)
    return pl.coalesce("section_m", pl.when(pl.col("count") > 0).then(lengths))


def _misses_distance() -> pl.Expr:
    return ((pl.col("section_m").list.sum() - pl.col("distance_m")).abs() > 1.0).fill_null(False)


def _check_times(races: pl.DataFrame, runs: pl.DataFrame, notes: list[pl.DataFrame]) -> None:
    """Remark on times that contradict one another."""
    timed = runs.join(races.select("race_key", "winning_time_s"), "race_key").filter(
        pl.col("time_s").is_not_null() & (pl.col("outcome") == "finished")
    )
    ahead = timed.filter((pl.col("time_s") < pl.col("winning_time_s") - 0.005) & (pl.col("beaten_lengths") > 0))
    if ahead.height:
        notes.append(remark(ahead, "time_s", "time_s", _("a beaten horse's time is quicker than the winner's")))
    whole = pl.col("section_s").list.drop_nulls().list.len() == pl.col("section_s").list.len()
    total = (pl.col("section_s").list.sum() - pl.col("time_s")).abs() > TIME_SLACK_S
    odd = timed.filter(whole & total)
    if odd.height:
        notes.append(remark(odd, "section_s", "time_s", _("section times do not add up to the horse's own time")))
