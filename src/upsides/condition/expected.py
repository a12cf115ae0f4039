"""What was expected of each run by what was known before its day, and by how much it was off.

One sequential filter goes through the results in order of time (`upsides.ratings.forecast.effects`): what horse, form,
weight and rider had shown before the day is what is expected of a run. The yard is left out, because it is asked about.
Nothing later enters: not the horse's next runs, nor what its opponents did afterwards.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
import polars as pl

from upsides.ratings.forecast import measures
from upsides.ratings.forecast.effects import Effect, filter_effects
from upsides.ratings.forecast.starters import Floats, Ints, Starters, centred, in_order, starters_from

UNIT: Final = 1.35
"""Pounds in which the forecast's first stage is scaled (`upsides.ratings.forecast.strengths`)."""
NOISE: Final = 12.0
"""Variance of a winner's error, in units squared, as there."""
YEARS: Final = 6
"""So many years of results are gone through: older ones say next to nothing of today's horses. Our own choice."""
LEAST_RUNS: Final = 3
"""Of a horse that ran less often before hardly anything was expected; a level takes as many to be told."""

SCHEMA: Final = {
    "race_key": pl.String, "horse_key": pl.String, "date": pl.Date, "off_lb": pl.Float64, "sd_lb": pl.Float64,
}  # fmt: skip


def missed(runs: Starters, more: Sequence[Effect] = ()) -> tuple[Floats, Floats]:
    """Return (n,) how many pounds each run was off what was expected of it before its day, and its own error, lb.

    NaN where nothing is told of it. Pounds are against the race's other runners: where all are off alike none is.

    Args:
        runs: as `upsides.ratings.forecast.starters.starters_from` lays them out.
        more: other effects that are known before a run, to see what they change.
    """
    u, everyone = UNIT**2, np.zeros(runs.horse.size, dtype=np.int64)
    effects = [
        Effect("horse", runs.horse, 24 * u), Effect("form", runs.horse, 7 * u, 100.0),
        Effect("carried", everyone, 0.1 * u, np.inf, centred(runs, runs.carried)),
        Effect("jockey", runs.jockey, 4 * u, 8000.0),
    ]  # fmt: skip
    y, noise = measures.performance(runs), NOISE * measures.error_growth(runs) * u
    off = filter_effects(runs.day, runs.start, y, noise, [*effects, *more], clip=3.0, newcomers="horse").error
    return off, np.sqrt(noise)


def earlier_runs(runs: Starters) -> Ints:
    """Return (n,) how often each horse had run before."""
    order = np.argsort(runs.horse, kind="stable")
    first = np.r_[0, np.flatnonzero(np.diff(runs.horse[order])) + 1]
    found = np.empty(runs.horse.size, dtype=np.int64)
    found[order] = np.arange(order.size) - np.repeat(first, np.diff(np.r_[first, order.size]))
    return found


def missed_in(races: pl.DataFrame, results: pl.DataFrame) -> pl.DataFrame:
    """Return by how much the runs of a library's last years were off what was expected of them before their days.

    Args:
        races: as the results schema has them, of any years.
        results: runs, likewise.

    Returns:
        race_key, horse_key, date, `off_lb` and its own error `sd_lb`, one row a start; both null where its horse had
        run less than `LEAST_RUNS` times before or nothing is known of the start.
    """
    if not races.height:
        return pl.DataFrame(schema=SCHEMA)
    lately = races.filter(pl.col("date") > pl.col("date").max() - pl.duration(days=365 * YEARS))
    ordered, flat = in_order(lately, results)
    runs = starters_from(lately, results)
    off, sd = missed(runs)
    told = np.isfinite(off) & (earlier_runs(runs) >= LEAST_RUNS)
    columns = {"off_lb": np.where(told, off, np.nan), "sd_lb": np.where(told, sd, np.nan)}
    found = flat.select("race_key", "horse_key", "race").with_columns(**{k: pl.Series(v) for k, v in columns.items()})
    dated = found.join(ordered.select("race", "date"), on="race", how="left", maintain_order="left")
    return dated.select(list(SCHEMA)).with_columns(pl.col("off_lb", "sd_lb").fill_nan(None))
