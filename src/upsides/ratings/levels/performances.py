"""Runs as performances in pounds: weight carried, allowances added back, less what the horse was beaten by.

A performance is worth nothing by itself until its race's level is known; that is the fit's business. Only
flat races count, and only finishers whose distance behind the winner was recorded.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.ratings.levels import pounds
from upsides.ratings.sections import race_sections
from upsides.rules import (
    NONE,
    Overrides,
    lengths_below_peak,
    lengths_per_second_array,
    pounds_per_length_array,
    weight_for_age_lb,
)

Floats = NDArray[np.float64]

PEAK_AGE = 4.45
"""Peak racing age, years (Gramm & Marksteiner 2010, Journal of Equine Science 21:73)."""

MOST_ADVANCE = 0.5
"""Share of horses seen in two years that must have grown older for ages to be believed: our own choice."""

COLUMNS = ("race_key", "horse_key", "source", "date", "position", "carried_lb", "margin_lb", "allowed_lb")


@dataclass(frozen=True, slots=True)
class Performances:
    """Performances of a library.

    Attributes:
        runs: one row a run, sorted by horse, date and race, with COLUMNS, `lb` (the performance) and what
            `debut` reads.
        spread: how races spread, in the order of `race_keys`.
        race_keys: races, as numbered in the runs' column `race`.
        notes: what the rules did not cover, in words.
    """

    runs: pl.DataFrame
    spread: pounds.Spread
    race_keys: pl.Series
    notes: tuple[str, ...]


def performances(races: pl.DataFrame, runs: pl.DataFrame, overrides: Overrides = NONE) -> Performances:
    """Return the performances in frames of the results schema, the runs carrying `horse_key`.

    A yard's own rules (`overrides`) go before the shipped ones.

    Races with fewer than two known margins say nothing of anyone and are left out.
    """
    table = _eligible(races, runs, overrides)
    race_keys = table.select(pl.col("race_key").unique(maintain_order=True))["race_key"]
    numbered = pl.DataFrame({"race_key": race_keys}).with_row_index("race")
    table = table.join(numbered, on="race_key", maintain_order="left")
    per_length, _ = pounds_per_length_array(table["distance_m"].to_numpy(), date(2020, 1, 1), overrides=overrides)
    lengths = np.clip(table["beaten_lengths"].to_numpy(), 0.0, pounds.MOST_LENGTHS)
    margin = lengths * per_length
    spread = _spread(table, races, race_keys, margin)
    number = table["race"].to_numpy().astype(np.int64)
    margin = margin / spread.factor[number]
    allowed, notes = _weight_for_age(table, overrides)
    carried = (table["carried_lb"] + table["claim_lb"].fill_null(0.0)).to_numpy()
    out = table.with_columns(
        margin_lb=margin,
        allowed_lb=allowed,
        lb=carried + allowed - margin,
        above_lb=carried - _race_means(carried, number, len(race_keys)),
        day=pl.col("date").cast(pl.Int32).cast(pl.Float64),
    )
    return Performances(out.sort("horse_key", "date", "race"), spread, race_keys, notes)


def _race_means(x: Floats, race: NDArray[np.int64], races: int) -> Floats:
    """Return the mean of x in each run's race."""
    return np.asarray((np.bincount(race, x, races) / np.bincount(race, minlength=races))[race])


def _eligible(races: pl.DataFrame, runs: pl.DataFrame, overrides: Overrides) -> pl.DataFrame:
    flat = races.filter(pl.col("code").fill_null("flat") == "flat", pl.col("distance_m").is_not_null())
    about = flat.select(
        "race_key",
        "course",
        "country",
        "surface",
        "going",
        "distance_m",
        "prize",
        "rating_low",
        "rating_high",
        "winning_time_s",
    )
    known = runs.filter(pl.col("outcome") == "finished", pl.col("carried_lb").is_not_null()).join(about, on="race_key")
    table = known.with_columns(beaten_lengths=_lengths(known, overrides)).filter(pl.col("beaten_lengths").is_not_null())
    table = table.sort("date", "race_key", "position", "horse_key")
    return table.filter(pl.len().over("race_key") >= 2)


def _lengths(known: pl.DataFrame, overrides: Overrides) -> pl.Series:
    """Return lengths behind the winner: as published, else from the times at the place's lengths a second."""
    behind = known["time_s"] - known["winning_time_s"]
    lacking = known["beaten_lengths"].is_null() & behind.is_not_null()
    if not lacking.any():
        return known["beaten_lengths"]
    timed = known.with_columns(behind=behind).with_row_index("row").filter(lacking)
    out = known["beaten_lengths"].to_numpy().copy()
    for (country,), part in timed.group_by("country", maintain_order=True):
        per_second, _ = lengths_per_second_array(
            str(country or "anywhere"),
            part["date"].to_numpy(),
            surface=part["surface"].fill_null("turf").to_list(),
            going=part["going"].fill_null("good").to_list(),
            overrides=overrides,
        )
        out[part["row"].to_numpy()] = part["behind"].to_numpy() * per_second
    return pl.Series(out, nan_to_null=True)


def _spread(table: pl.DataFrame, races: pl.DataFrame, race_keys: pl.Series, margin: Floats) -> pounds.Spread:
    order = pl.DataFrame({"race_key": race_keys})
    early = race_sections(order.join(races, on="race_key", maintain_order="left"))["early_fraction"]
    about = order.join(races, on="race_key", maintain_order="left").with_columns(early=early)
    usual = pl.col("early").median().over("course", "surface", "distance_m")
    pace = about.select((usual / pl.col("early")).log())["early"].cast(pl.Float64).fill_null(np.nan).to_numpy()
    behind = np.where(table["position"].to_numpy() == 1, np.nan, margin)
    return pounds.race_spread(
        behind,
        table["race"].to_numpy().astype(np.int64),
        len(race_keys),
        about["distance_m"].to_numpy(),
        pace,
    )


def _weight_for_age(table: pl.DataFrame, overrides: Overrides) -> tuple[Floats, tuple[str, ...]]:
    """Return each run's weight-for-age allowance, lb, by its country's rule, and what was not covered."""
    out, notes = np.zeros(table.height), []
    for (country,), part in table.with_row_index("row").group_by("country", maintain_order=True):
        if country is None:
            notes.append(f"weight for age: {part.height} runs without a country were allowed nothing")
            continue
        age = part["age"].fill_null(0).to_numpy().astype(np.int64)
        lb, report = weight_for_age_lb(
            str(country),
            part["date"].to_numpy(),
            part["distance_m"].to_numpy(),
            np.where(age > 0, age, 99),
            overrides=overrides,
        )
        notes.append(f"{country}: {report}")
        if not _ages_advance(part):
            notes.append(f"{country}: ages do not advance with the years, so nothing about growing older is used")
        elif report.no_rule == part.height:
            lb = _growing(part, overrides)
            notes.append(
                f"{country}: without a scale, young horses are allowed what the published curve expects of them"
            )
        out[part["row"].to_numpy()] = lb
    return out, tuple(notes)


def _ages_advance(part: pl.DataFrame) -> bool:
    """Return whether horses seen in two calendar years are older in the later one, as most must be."""
    year = pl.col("date").dt.year()
    seen = (
        part.filter(pl.col("age") > 0)
        .group_by("horse_key")
        .agg(years=year.max() - year.min(), older=pl.col("age").max() > pl.col("age").min())
    )
    older = seen.filter(pl.col("years") > 0)["older"].to_numpy()
    return older.size == 0 or float(older.mean()) > MOST_ADVANCE


def _growing(part: pl.DataFrame, overrides: Overrides) -> Floats:
    """Return what the published curve over age expects a young horse to lack still, lb, and nothing once it is mature.

    An official age is taken at its middle, half a year on. It is the prior for growth where no authority has a scale.
    """
    age, metres, on = (
        part["age"].fill_null(0).to_numpy() + 0.5,
        part["distance_m"].to_numpy(),
        part["date"].to_list()[-1],
    )
    below, _ = lengths_below_peak(age, metres, on, overrides=overrides)
    per_length, _ = pounds_per_length_array(metres, on, overrides=overrides)
    return np.where((age > 1.0) & (age < PEAK_AGE), below * per_length, 0.0)
