"""Standard times by course, surface, distance and class, with an allowance for each day and course.

log(winning time) = standard (code, course, surface, distance) + class + going + class at that standard
+ rail at that standard + day at that course and surface + error. Standards are free; class and going all but
free; the rest is shrunken, its spread estimated; errors are heavy-tailed, because slowly run races are many.
No published table of seconds per step of going could be verified, so the allowance comes from the times.
"""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.factors import Factor, FactorFit, Part, fit_factors

CELL = ("code", "course", "surface", "distance_m")
"""What a standard time is for."""

_ALL_BUT_FREE = 0.1
"""sd in log time of class and going effects: ten per cent, far more than either is."""

_NOTHING = 1e-6
"""sd in log time of an effect that cannot be told apart from the standard."""

_FACTORS: tuple[tuple[str, tuple[str, ...], float | None], ...] = (
    ("standard", CELL, None),
    ("class", ("code", "race_class"), _ALL_BUT_FREE),
    ("going", ("surface", "going"), _ALL_BUT_FREE),
    ("class at that standard", (*CELL, "race_class"), np.nan),
    ("rail at that standard", (*CELL, "rail"), np.nan),
    ("day and course", ("course", "surface", "date"), np.nan),
)
_STANDARD, _CLASS, _GOING, _CLASS_HERE, _RAIL, _DAY = range(6)


@dataclass(frozen=True, slots=True)
class Standards:
    """Fitted standard times.

    Attributes:
        table: CELL, race_class, `standard_s`, `se_s`, `races`; the winner's time on the reference going of
            an average day over all rail positions, for every class seen at that course and distance.
        classes: code, race_class, `effect` in log time (below 0 is faster), `se`, `races`; relative to the
            commonest class of that code.
        going: surface, going, `effect` in log time relative to the reference going, `se`, `races`.
        days: course, surface, date, `allowance_s_per_km` (above 0 was slow), `se_s_per_km`, `races`; going
            included.
        races: race_key, `standard_s`, `allowance_s`, `left_s` (time less both), `weight` (1 middling, 0 an
            outlier).
        sds: sd of each shrunken effect in log time, by name, and of the error.
    """

    table: pl.DataFrame
    classes: pl.DataFrame
    going: pl.DataFrame
    days: pl.DataFrame
    races: pl.DataFrame
    sds: dict[str, float]


@dataclass(frozen=True, slots=True)
class _Labelled:
    """Races with, for every factor, each race's label number and the frame of its labels."""

    races: pl.DataFrame
    codes: tuple[NDArray[np.int64], ...]
    labels: tuple[pl.DataFrame, ...]

    def part(self, number: int) -> Part:
        """Return each race's effect of one factor."""
        return Part(number, self.codes[number])


def _usable(races: pl.DataFrame) -> pl.DataFrame:
    """Keep races with a time and a distance, text labels filled in."""
    text = ("code", "course", "surface", "race_class", "going", "rail")
    kept = races.filter((pl.col("winning_time_s") > 0) & (pl.col("distance_m") > 0))
    if kept.is_empty():
        raise CannotFitError(_("standard times"), _("no race has a winning time"), _("import a table with times"))
    return kept.with_columns(pl.col(*text).fill_null(""))


def _label(races: pl.DataFrame) -> _Labelled:
    codes, labels = [], []
    for _first, columns, _rest in _FACTORS:
        found = races.group_by(columns).len("races").sort(columns).with_row_index("number")
        number = races.join(found, on=list(columns), how="left", maintain_order="left")["number"]
        codes.append(number.cast(pl.Int64).to_numpy())
        labels.append(found.drop("number"))
    return _Labelled(races, tuple(codes), tuple(labels))


def fit_standards(races: pl.DataFrame, reference_going: Collection[str] | None = None, tail: float = 5.0) -> Standards:
    """Fit standard times to results.

    Args:
        races: with race_key, date, code, course, surface, distance_m, going, rail, race_class,
            winning_time_s.
        reference_going: goings (lower case) whose races, taken together, the standard is for; default the
            commonest going of each surface.
        tail: degrees of freedom of the errors' t distribution; inf takes every time at its face value.

    Raises:
        CannotFitError: no race has a time.
    """
    labelled = _label(_usable(races))
    factors = [
        Factor(name, code, len(frame), _told_apart(sd, len(frame), len(labelled.labels[_STANDARD])))
        for (name, _, sd), code, frame in zip(_FACTORS, labelled.codes, labelled.labels, strict=True)
    ]
    fit = fit_factors(np.log(labelled.races["winning_time_s"].to_numpy()), factors, tail)
    reference = _reference(labelled, reference_going)
    standard = [labelled.part(k) for k in (_STANDARD, _CLASS, _CLASS_HERE)] + reference
    today = [
        labelled.part(_GOING),
        labelled.part(_DAY),
        *_at(reference, np.arange(len(labelled.races)), -1.0),
    ]
    seconds, slow = np.exp(_sum(fit, standard)), np.expm1(_sum(fit, today))
    sds = {name: sd for (name, _, given), sd in zip(_FACTORS, fit.sds, strict=True) if given is not None}
    return Standards(
        _table(labelled, fit, standard),
        _classes(labelled, fit),
        _goings(labelled, fit, reference),
        _days(labelled, fit, seconds, slow),
        _per_race(labelled, fit, seconds, slow),
        {**sds, "error": fit.error_sd},
    )


def _told_apart(sd: float | None, labels: int, standards: int) -> float | None:
    """Return a factor's sd, held at nothing where every standard has one label of it only."""
    return _NOTHING if sd is not None and np.isnan(sd) and labels == standards else sd


def _reference(labelled: _Labelled, wanted: Collection[str] | None) -> list[Part]:
    """Return the mean going effect of each race's surface's reference goings, as parts for every race."""
    goings = labelled.labels[_GOING].with_row_index("number")
    if wanted is None:
        chosen = goings.filter(pl.col("races") == pl.col("races").max().over("surface"))
    else:
        chosen = goings.filter(pl.col("going").is_in(list(wanted)))
    share = pl.col("races") / pl.col("races").sum().over("surface")
    surface = labelled.races["surface"].to_numpy()
    return [
        Part(_GOING, np.where(surface == row["surface"], row["number"], -1).astype(np.int64), row["share"])
        for row in chosen.with_columns(share=share).iter_rows(named=True)
    ]


def _first_of_each(codes: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return one race of each label, in the order of the labels."""
    return np.unique(codes, return_index=True)[1]


def _at(parts: list[Part], rows: NDArray[np.int64], times: float = 1.0) -> list[Part]:
    return [Part(p.factor, p.labels[rows], p.times * times) for p in parts]


def _sum(fit: FactorFit, parts: list[Part]) -> NDArray[np.float64]:
    """Add the parts up, row by row."""
    total = np.zeros(len(parts[0].labels))
    for p in parts:
        total += np.where(p.labels >= 0, fit.effects[p.factor][p.labels] * p.times, 0.0)
    return total


def _table(labelled: _Labelled, fit: FactorFit, standard: list[Part]) -> pl.DataFrame:
    parts = _at(standard, _first_of_each(labelled.codes[_CLASS_HERE]))
    seconds = np.exp(_sum(fit, parts))
    frame = labelled.labels[_CLASS_HERE].with_columns(
        pl.Series("standard_s", seconds), pl.Series("se_s", seconds * fit.standard_errors(parts))
    )
    return frame.select(*CELL, "race_class", "standard_s", "se_s", "races")


def _classes(labelled: _Labelled, fit: FactorFit) -> pl.DataFrame:
    frame = labelled.labels[_CLASS].with_row_index("number")
    own = frame["number"].cast(pl.Int64).to_numpy()
    against = frame.select(pl.col("number").sort_by("races").last().over("code")).to_series().cast(pl.Int64)
    parts = [Part(_CLASS, own), Part(_CLASS, against.to_numpy(), -1.0)]
    return labelled.labels[_CLASS].with_columns(
        pl.Series("effect", _sum(fit, parts)), pl.Series("se", fit.standard_errors(parts))
    )


def _goings(labelled: _Labelled, fit: FactorFit, reference: list[Part]) -> pl.DataFrame:
    first = _first_of_each(labelled.codes[_GOING])
    parts = [Part(_GOING, labelled.codes[_GOING][first]), *_at(reference, first, -1.0)]
    return labelled.labels[_GOING].with_columns(
        pl.Series("effect", _sum(fit, parts)), pl.Series("se", fit.standard_errors(parts))
    )


def _days(labelled: _Labelled, fit: FactorFit, seconds: NDArray[np.float64], slow: NDArray[np.float64]) -> pl.DataFrame:
    """Return the mean allowance of each card's races; its error is that of the day's own effect."""
    key = ("course", "surface", "date")
    per_km = 1000.0 * seconds / labelled.races["distance_m"].to_numpy()
    race = labelled.races.select(key).with_columns(
        pl.Series("allowance_s_per_km", per_km * slow), pl.Series("per_km", per_km)
    )
    mean = race.group_by(key).agg(pl.col("allowance_s_per_km", "per_km").mean())
    error = fit.standard_errors([Part(_DAY, np.arange(len(fit.effects[_DAY])))])
    days = labelled.labels[_DAY].with_columns(pl.Series("error", error))
    days = days.join(mean, on=key, how="left", maintain_order="left")
    return days.select(*key, "allowance_s_per_km", se_s_per_km=pl.col("per_km") * pl.col("error"), races="races")


def _per_race(
    labelled: _Labelled, fit: FactorFit, seconds: NDArray[np.float64], slow: NDArray[np.float64]
) -> pl.DataFrame:
    left = labelled.races["winning_time_s"].to_numpy() - seconds * (1 + slow)
    return labelled.races.select("race_key").with_columns(
        pl.Series("standard_s", seconds),
        pl.Series("allowance_s", seconds * slow),
        pl.Series("left_s", left),
        pl.Series("weight", fit.weights),
    )
