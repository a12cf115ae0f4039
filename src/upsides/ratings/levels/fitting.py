"""The fit of a library: from results to what each run was worth and what each horse is worth on any day.

First the variance components, taking errors as normal; then how often and how far runs were eased, judged
against what all other runs expect; then the levels again with each run weighing what it still says. Figures
and levels stand on one scale of pounds.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.levels import easing
from upsides.ratings.levels import posterior as posteriors
from upsides.ratings.levels import record as records
from upsides.ratings.levels.debut import Beforehand, learn
from upsides.ratings.levels.easing import Easing
from upsides.ratings.levels.estimate import Estimate, Prior, estimate
from upsides.ratings.levels.performances import Performances, performances
from upsides.ratings.levels.record import Components, Record
from upsides.ratings.levels.told import NOTHING_TOLD, OUTING, Told, looser, unasked_in, with_outings
from upsides.rules import NONE, Overrides

Floats = NDArray[np.float64]
Progress = Callable[[float, str], None]

BASE_LB = 70.0
"""Where the average horse of a library is put on our scale: a choice, so that figures read like weights."""

WINNERS = Easing(share=0.2, mean_lb=4.0)
"""How often winners ease down, and what they then have in hand: common practice, no source. Winners are those
that ran above themselves, which hides easing in their results, so margins cannot teach these two."""

WEIGHT_SD = 0.5
"""The convention takes a pound carried for a pound of margin; the results may say otherwise, with this prior standard
deviation about the convention. They must be asked beside the horse's own level: better horses carry more."""

PRIOR = Prior(Components(lasting=40.0, passing=40.0, tau=180.0, residual=45.0), (1.0, 1.0, 0.7, 0.7))
"""What is thought of the components (lb^2, days) before a library speaks: our own choice, wide (a factor of 2 to 3
either way), worth next to nothing beside some thousand runs. It keeps the first weeks of a library from saying that all
is known."""

UNASKED_LB2 = 1e4
"""Error variance of a run that was not asked while components are estimated, lb^2: it says next to nothing of them."""

WIDEST_LB = 99.0
"""Error of a figure beyond which it says nothing anyway, lb."""

EXACT_SOLUTION = 7_000
"""Races up to which levels and their errors are solved exactly (two dense matrices of this order, 0.8 GB)."""


@dataclass(frozen=True, slots=True)
class Levels:
    """A library fitted.

    Attributes:
        performances: the performances.
        record: their arrays, as last solved.
        posterior: the solution.
        estimate: components with their errors.
        beaten: how beaten horses are eased.
        residual: error variance of a persevered run, lb^2.
        before: how debutants are described.
        horse_keys: horses in order.
        told: what people said of runs, and gallops and trials that went in.
    """

    performances: Performances
    record: Record
    posterior: posteriors.Posterior
    estimate: Estimate
    beaten: Easing
    residual: float
    before: Beforehand
    horse_keys: pl.Series
    told: Told = NOTHING_TOLD

    @property
    def real(self) -> pl.Expr:
        """Which performances are runs in races, not gallops or trials."""
        return ~pl.col("race_key").str.starts_with(OUTING)

    @property
    def weight_worth(self) -> tuple[float, float]:
        """What a pound carried was worth in pounds of margin (1 by convention), and its standard error."""
        at, C = self.record.races, self.posterior.C
        variance = C[at, at] if C.ndim == 2 else C[at]
        return 1.0 - float(self.posterior.b[at]), float(np.sqrt(variance))


def fit_levels(
    races: pl.DataFrame,
    runs: pl.DataFrame,
    *,
    overrides: Overrides = NONE,
    seed: int = 0,
    progress: Progress = lambda _done, _what: None,
    told: Told = NOTHING_TOLD,
) -> Levels:
    """Fit levels to frames of the results schema, the runs carrying `horse_key`, and to what was said of them.

    Raises:
        CannotFitError: there are too few runs to learn from.
    """
    progress(0.0, "margins to pounds")
    table = performances(*with_outings(races, runs, told), overrides)
    record, before, keys = _record(table, told)
    progress(0.05, "variance components")
    found = estimate(
        record,
        PRIOR.centre,
        prior=PRIOR,
        seed=seed,
        progress=lambda k, _gain: progress(min(0.05 + 0.04 * k, 0.7), f"variance components, step {k}"),
    )
    progress(0.7, "runs that were eased")
    record, posterior, beaten, residual = _with_easing(record, table, found.components, seed, told)
    return Levels(table, record, posterior, found, beaten, residual, before, keys, told)


def _record(table: Performances, told: Told) -> tuple[Record, Beforehand, pl.Series]:
    runs = table.runs
    if runs.height < 50 or runs["horse_key"].n_unique() < 10:
        raise CannotFitError(
            "levels",
            _("only {height} runs have a margin and a weight", height=runs.height),
            _("add more results, then fit again"),
        )
    usual = runs.group_by("horse_key", maintain_order=True).agg(pl.col("above_lb").mean())
    first = runs.group_by("horse_key", maintain_order=True).first().with_columns(usual["above_lb"])
    count = runs.group_by("horse_key", maintain_order=True).len()["len"].to_numpy()
    before = learn(first)
    n = runs.height
    record = Record(
        y=runs["lb"].to_numpy().copy(),
        race=runs["race"].to_numpy().astype(np.int64),
        day=runs["day"].to_numpy().copy(),
        start=np.concatenate([[0], np.cumsum(count)]).astype(np.int64),
        scale=np.ones(n),
        extra=looser(runs) + np.where(unasked_in(runs, told), UNASKED_LB2, 0.0),
        X=np.column_stack([_carried(table), np.repeat(before.of(first), count, axis=0)]),
        precision=np.concatenate([[WEIGHT_SD**-2], before.precision]),
        races=len(table.race_keys),
        run_covariates=1,
    )
    return record, before, first["horse_key"]


def _carried(table: Performances) -> Floats:
    """Return the weight carried less its mean, lb: its coefficient says how far a pound falls short of one."""
    carried = table.runs["carried_lb"].to_numpy() + table.runs["claim_lb"].fill_null(0.0).to_numpy()
    return np.asarray(carried - carried.mean())


def _with_easing(
    record: Record, table: Performances, v: Components, seed: int, told: Told
) -> tuple[Record, posteriors.Posterior, Easing, float]:
    """Return the record with each run's evidence, its solution, how beaten horses ease, and the error variance."""
    won = table.runs["position"].to_numpy() == 1
    unasked, loose = unasked_in(table.runs, told), looser(table.runs)
    raw = record.y
    posterior = posteriors.posterior(record, v, exact_below=EXACT_SOLUTION, seed=seed)
    expected, uncertainty = posteriors.expectation(record, posterior)
    usual = ~won & ~unasked & (loose == 0.0)
    beaten, multiple = easing.estimate(
        (raw - expected)[usual], uncertainty[usual], records.noise(record, v)[usual], Easing(0.05, 12.0)
    )
    v = Components(v.lasting, v.passing, v.tau, v.residual * multiple)
    for _turn in range(2):
        noise = v.residual + loose
        of_beaten = easing.evidence(raw, expected, uncertainty, noise, beaten)
        of_winners = easing.evidence(raw, expected, uncertainty, noise, WINNERS)
        spared = easing.censored(raw, expected, uncertainty, noise)
        y = np.where(unasked, spared.y, np.where(won, of_winners.y, of_beaten.y))
        variance = np.where(unasked, spared.variance, np.where(won, of_winners.variance, of_beaten.variance))
        extra = np.maximum(variance - v.residual, loose)
        record = record.with_evidence(y, extra)
        posterior = posteriors.posterior(record, v, exact_below=EXACT_SOLUTION, seed=seed)
        expected, uncertainty = posteriors.expectation(record, posterior)
    return record, posterior, beaten, v.residual


def figures(levels: Levels) -> pl.DataFrame:
    """Return what each run was worth, one row a run.

    Columns: race_key, horse_key, date, `figure_lb` (the performance at its race's level, weight counting for what it
    was found to be worth), `book_lb` (the same race with a pound for a pound, as the book has it), `figure_sd_lb` (how
    far the figure may stand from the horse's level that day), `expected_lb` (what all other runs expected), `eased`
    (the chance that it was eased; 1 where somebody said that it was not asked).
    Gallops and trials have no row.
    """
    record, posterior = levels.record, levels.posterior
    runs = levels.performances.runs
    race = posterior.b[record.race] + record.X[:, 0] * posterior.b[record.races]
    raw = runs["lb"].to_numpy()
    expected, uncertainty = posteriors.expectation(record, posterior)
    sd = np.sqrt(uncertainty + levels.residual)
    won = runs["position"].to_numpy() == 1
    likely = np.where(
        won,
        easing.in_hand(raw - expected, sd, WINNERS).chance,
        easing.in_hand(raw - expected, sd, levels.beaten).chance,
    )
    eased = np.where(unasked_in(runs, levels.told), 1.0, likely)
    at = np.arange(record.races)
    race_variance = posterior.C[at, at] if posterior.C.ndim == 2 else posterior.C[at]
    error = np.minimum(np.sqrt(levels.residual + record.extra + race_variance[record.race]), WIDEST_LB)
    return (
        runs.select("race_key", "horse_key", "date")
        .with_columns(
            figure_lb=raw - race + BASE_LB,
            figure_sd_lb=error,
            expected_lb=expected - race + BASE_LB,
            eased=eased,
            book_lb=_by_the_book(record, raw, raw - race + BASE_LB),
        )
        .filter(levels.real)
    )


def _by_the_book(record: Record, raw: Floats, figure: Floats) -> Floats:
    """Return performances by the convention, each race moved so that its mean is that of its figures."""
    count = np.bincount(record.race, minlength=record.races)
    shift = np.bincount(record.race, figure - raw, record.races) / np.maximum(count, 1)
    return np.asarray(raw + shift[record.race])


def level_curves(levels: Levels, as_of: date, every_days: int = 30) -> pl.DataFrame:
    """Return each horse's level with its error on the days it ran, on a grid between, and on `as_of`.

    Columns: horse_key, date, level_lb, sd_lb.
    """
    today = float((as_of - date(1970, 1, 1)).days)
    record, parts = levels.record, []
    for i, key in enumerate(levels.horse_keys):
        ran = record.day[record.start[i] : record.start[i + 1]]
        days = np.unique(np.concatenate([ran, np.arange(ran[0], today, every_days), [today]]))
        level = posteriors.level(record, levels.posterior, i, days)
        parts.append(
            pl.DataFrame(
                {
                    "horse_key": [key] * days.size,
                    "date": days,
                    "level_lb": level.mean + BASE_LB,
                    "sd_lb": level.sd,
                }
            )
        )
    return pl.concat(parts).with_columns(pl.col("date").cast(pl.Int32).cast(pl.Date))
