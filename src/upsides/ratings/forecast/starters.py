"""Starters of a table of results as flat arrays in order of time, the form every later step works on."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.results.schema import STARTED

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

FURLONG_M = 201.168


@dataclass(frozen=True, slots=True)
class Starters:
    """Starters in order of date and race; a missing number is NaN, a missing name is -1.

    Race arrays have shape (races,), run arrays (runs,). `start` has shape (races + 1,): the runs of race r
    are `start[r]:start[r + 1]`. Names (horse, rider, course and so on) are codes from 0.
    """

    race_key: npt.NDArray[np.object_]
    day: Ints
    start: Ints
    race: Ints
    course: Ints
    surface: Ints
    going: Ints
    rail: Ints
    distance_m: Floats
    band_high: Floats
    band_low: Floats
    prize: Floats
    horse: Ints
    jockey: Ints
    trainer: Ints
    country: Ints
    position: Floats
    lengths: Floats
    time_s: Floats
    carried: Floats
    cloth: Floats
    draw: Floats
    mass: Floats
    early: Floats
    odds: Floats

    @property
    def size(self) -> Ints:
        """Return the number of starters in each race, shape (races,)."""
        return np.diff(self.start)


def _codes(frame: pl.DataFrame, name: str) -> Ints:
    """Number the names in the order they first appear, so that later rows never change an earlier one's number."""
    if name not in frame.columns:
        return np.full(frame.height, -1, dtype=np.int64)
    column = frame[name].cast(pl.String)
    names = column.drop_nulls().unique(maintain_order=True)
    if names.is_empty():
        return np.full(frame.height, -1, dtype=np.int64)
    codes = pl.int_range(len(names), eager=True)
    return column.replace_strict(names, codes, default=-1, return_dtype=pl.Int64).to_numpy().copy()


def _floats(frame: pl.DataFrame, name: str) -> Floats:
    if name not in frame.columns:
        return np.full(frame.height, np.nan)
    return frame[name].cast(pl.Float64).fill_null(np.nan).to_numpy().copy()


def _positive(frame: pl.DataFrame, name: str) -> Floats:
    """Return a column that nothing but numbers above 0 make sense in; anything else is unknown."""
    x = _floats(frame, name)
    return np.where(x > 0, x, np.nan)


def _list_item(frame: pl.DataFrame, name: str, index: int) -> Floats:
    if not isinstance(frame.schema.get(name), pl.List):
        return np.full(frame.height, np.nan)
    item = pl.col(name).list.get(index, null_on_oob=True).cast(pl.Float64)
    return frame.select(item.fill_null(np.nan))[name].to_numpy().copy()


def in_order(races: pl.DataFrame, runs: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return races by time with the column `race`, and their starters in that order.

    Only flat races with two starters or more, and in them only those that started.

    Args:
        races: columns as in the results schema; most may be absent.
        runs: likewise.

    Raises:
        CannotFitError: the runs do not say which horse ran.
    """
    if "horse_key" not in runs.columns:
        raise CannotFitError(
            "runs", _("they have no column horse_key"), _("take them from a library, or add the column")
        )
    if "outcome" in runs.columns:
        runs = runs.filter(pl.col("outcome").is_in(STARTED))
    if "code" in races.columns:
        races = races.filter(pl.col("code").fill_null("flat") == "flat")
    order = ["date", *[c for c in ("course", "race_no", "race_key") if c in races.columns]]
    races = races.join(runs.group_by("race_key").len("starters"), on="race_key")
    races = races.filter(pl.col("starters") >= 2).sort(order).with_row_index("race")
    keep = [c for c in runs.columns if c not in races.columns or c == "race_key"]
    tie = [c for c in ("saddlecloth", "draw", "horse_key") if c in runs.columns]
    flat = runs.select(keep).join(races.select("race_key", "race"), on="race_key").sort(["race", *tie])
    return races, flat


def starters_from(races: pl.DataFrame, runs: pl.DataFrame) -> Starters:
    """Lay starters out as arrays, ordered as by `in_order`, which see for what is left out and refused."""
    races, flat = in_order(races, runs)
    sizes = races["starters"].to_numpy()
    places = [pl.col(name) for name in ("started_from", "draw") if name in flat.columns]
    started_from = pl.coalesce(places) if places else pl.lit(None)
    return Starters(
        race_key=races["race_key"].to_numpy(),
        day=races["date"].cast(pl.Int32).cast(pl.Int64).to_numpy().copy(),
        start=np.concatenate(([0], np.cumsum(sizes))).astype(np.int64),
        race=flat["race"].cast(pl.Int64).to_numpy().copy(),
        course=_codes(races, "course"),
        surface=_codes(races, "surface"),
        going=_codes(races, "going"),
        rail=_codes(races, "rail"),
        distance_m=_positive(races, "distance_m"),
        band_high=_floats(races, "rating_high"),
        band_low=_floats(races, "rating_low"),
        prize=_positive(races, "prize"),
        horse=_codes(flat, "horse_key"),
        jockey=_codes(flat, "jockey"),
        trainer=_codes(flat, "trainer"),
        country=_codes(flat, "suffix"),
        position=_floats(flat, "position"),
        lengths=_floats(flat, "beaten_lengths"),
        time_s=_positive(flat, "time_s"),
        carried=_positive(flat, "carried_lb"),
        cloth=_floats(flat, "saddlecloth"),
        draw=_floats(flat.with_columns(draw=started_from), "draw"),
        mass=_positive(flat, "body_mass_kg"),
        early=_list_item(flat, "section_position", 0),
        odds=_floats(flat, "odds"),
    )


def groups(*codes: Ints) -> Ints:
    """Return one code for each combination of `codes` (all the same length); -1 where any of them is -1."""
    out = np.zeros(codes[0].size, dtype=np.int64)
    missing = np.zeros(codes[0].size, dtype=bool)
    for code in codes:
        out = out * (code.max(initial=0) + 2) + code + 1
        missing |= code < 0
    out = np.unique(out, return_inverse=True)[1].astype(np.int64)
    out[missing] = -1
    return out


def race_mean(runs: Starters, x: Floats) -> Floats:
    """Return the mean of the known `x` of each race, spread to its runs; NaN where none is known."""
    known = np.isfinite(x)
    total = np.bincount(runs.race, np.where(known, x, 0.0), runs.start.size - 1)
    count = np.bincount(runs.race, known, runs.start.size - 1)
    with np.errstate(invalid="ignore"):
        return (total / count)[runs.race]


def centred(runs: Starters, x: Floats) -> Floats:
    """Return `x` less its race's mean, 0 where `x` is missing."""
    return np.nan_to_num(x - race_mean(runs, x))


def distance_band(runs: Starters) -> Ints:
    """Return the trip of each race in whole steps of 200 m, shape (races,); -1 when unknown."""
    return np.where(np.isnan(runs.distance_m), -1, np.round(np.nan_to_num(runs.distance_m) / 200.0)).astype(np.int64)
