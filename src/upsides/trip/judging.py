"""Is it any good? Horses that try a new distance: their figures foretold from before, with and without each piece.

Every so many days the library is fitted as known that morning, and the first run of each horse over a distance that it
has not tried is foretold from that. What it then showed comes from the fit of everything. The population is learned
once, before the first day judged.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.fits import fit_of
from upsides.ratings.kept_fits import Fit
from upsides.results.library import Library
from upsides.rules import own_rules
from upsides.trip import shape
from upsides.trip.case import PIECES, Case
from upsides.trip.cases import Cases
from upsides.trip.controls import controls
from upsides.trip.defaults import defaults
from upsides.trip.demand import climbs_of, demand_table
from upsides.trip.learning import Progress
from upsides.trip.model import TripModel, make_model
from upsides.trip.posterior import expected_figure
from upsides.trip.power import power

Floats = NDArray[np.float64]

NEW = 0.15
"""Octaves from every distance tried before from which a distance is new: a furlong at nine."""

FEWEST_RUNS = 3
FEWEST_TRIES = 30
EVERY = 91
"""Days between the mornings on which the library is fitted anew."""

Z80 = 1.2816


@dataclass(frozen=True, slots=True)
class Tries:
    """Horses that tried a new distance, all arrays (tries,).

    Attributes:
        cases: each horse as it was known before.
        demand: what the race asked, octaves.
        shown: the figure it ran to, lb.
        level: what it was worth whatever the trip, lb.
        noise: error variance of that figure, lb^2.
    """

    cases: list[Case]
    demand: Floats
    shown: Floats
    level: Floats
    noise: Floats


def tries_between(model: TripModel, before: Fit, after: Fit, horses: pl.DataFrame, until: date) -> Tries:
    """Return the first run over a new distance of each horse between the day of a fit and another day.

    Args:
        model: what is known of trips, as of the fit's day.
        before: the fit as known on its morning.
        after: a fit that knows what came after.
        horses: horse_key, sex, suffix, foaled.
        until: runs before this day.
    """
    past = before.figures.join(model.demand, on="race_key").group_by("horse_key")
    tried = past.agg(trips=pl.col("distance"), count=pl.len()).filter(pl.col("count") >= FEWEST_RUNS)
    later = after.figures.filter(pl.col("date") >= before.as_of, pl.col("date") < until)
    later = later.join(model.demand, on="race_key").join(tried, on="horse_key").filter(pl.col("demand").is_finite())
    off = [float(np.nanmin(np.abs(np.array(trips) - x))) for trips, x in later.select("trips", "distance").rows()]
    new = later.with_columns(off=pl.Series(off, dtype=pl.Float64)).filter(pl.col("off") > NEW)
    new = new.sort("date", "race_key").unique("horse_key", keep="first", maintain_order=True)
    new = new.join(before.horses.select("horse_key", "level_lb"), on="horse_key", maintain_order="left")
    told = new.select("horse_key").join(
        horses.unique("horse_key", keep="last"), on="horse_key", how="left", maintain_order="left"
    )
    cases = Cases(model, before.figures.lazy(), shape.unlearned(model.given)).of(told) if new.height else []
    noise = new["figure_sd_lb"].to_numpy() ** 2
    return Tries(cases, new["demand"].to_numpy(), new["figure_lb"].to_numpy(), new["level_lb"].to_numpy(), noise)


@dataclass(frozen=True, slots=True)
class Forecast:
    """Foretold figures of tries: mean and standard deviation, (tries,) lb each."""

    mean: Floats
    sd: Floats


def foretold(tries: Tries, without: str = "") -> Forecast:
    """Return the figures foretold with every piece there is, or with one left out.

    A figure that is yet to come errs by all of its own error: `Population.noise` is that of figures that took part in
    the fit which made them.
    """
    mean, sd = np.empty(len(tries.cases)), np.empty(len(tries.cases))
    for k, case in enumerate(tries.cases):
        post = case.answer(set(case.available) - {without})
        at, spread = expected_figure(post, tries.demand[k : k + 1])
        mean[k], sd[k] = at[0], np.sqrt(spread[0] ** 2 + tries.noise[k])
    return Forecast(mean, sd)


def judge(
    library: Library, first: date, last: date | None = None, *, seed: int = 0,
    progress: Progress = lambda _done, _what: None,
) -> dict[str, Any]:  # fmt: skip
    """Judge trips on horses that tried a new distance from a day on.

    Returns:
        tries, rms_error_lb and within80 (share inside the 80 % range) with every piece, level_rms_error_lb (the horse's
        level taken for any trip) with `better_than_level` and its standard error, pieces (one each: name, tries that
        have it, worth: mean squared error without less with, lb^2, and worth_se), power, controls.

    Raises:
        CannotFitError: no horse tried a new distance, or there is too little to learn from.
    """
    end = (last or _last_day(library)) + timedelta(days=1)
    mornings = [first + timedelta(days=EVERY * k) for k in range(max(1, -(-(end - first).days // EVERY)))]
    after = fit_of(library, end, seed=seed)
    horses, model, found = library.horses().collect(), None, []
    for turn, day in enumerate(mornings):
        progress(0.9 * turn / len(mornings), f"new distances from {day}")
        before = fit_of(library, day, seed=seed)
        model = known_on(library, before, model, seed)
        found.append(tries_between(model, before, after, horses, min(end, day + timedelta(days=EVERY))))
    tries = _together(found)
    if len(tries.cases) < FEWEST_TRIES:
        reason = _(
            "only {count} horses with {fewest_runs} runs tried a new distance",
            count=len(tries.cases),
            fewest_runs=FEWEST_RUNS,
        )
        raise CannotFitError(_("trips on later results"), reason, _("judge a longer time, or add results"))
    known = known_on(library, after, model, seed)
    return scored(tries) | {"power": power(library, after, known), "controls": controls(after, known)}


def _together(found: list[Tries]) -> Tries:
    arrays = (np.concatenate([getattr(t, name) for t in found]) for name in ("demand", "shown", "level", "noise"))
    return Tries([case for t in found for case in t.cases], *arrays)


def scored(tries: Tries) -> dict[str, Any]:
    """Return how far off the forecasts were, and what each piece was worth."""
    whole = foretold(tries)
    error = (tries.shown - whole.mean) ** 2
    plain = (tries.shown - tries.level) ** 2
    pieces = []
    for piece in PIECES:
        has = np.array([piece in case.available for case in tries.cases])
        if has.any():
            cost = ((tries.shown - foretold(tries, piece).mean) ** 2 - error)[has]
            pieces.append({"name": piece, "tries": int(has.sum()), **_mean("worth", cost)})
    return {
        "tries": int(error.size),
        "rms_error_lb": float(np.sqrt(error.mean())),
        "within80": float((np.abs(tries.shown - whole.mean) < Z80 * whole.sd).mean()),
        "level_rms_error_lb": float(np.sqrt(plain.mean())),
        **_mean("better_than_level", plain - error),
        "pieces": pieces,
    }


def _mean(name: str, values: Floats) -> dict[str, float]:
    return {name: float(values.mean()), f"{name}_se": float(values.std() / np.sqrt(max(values.size, 1)))}


def known_on(library: Library, before: Fit, model: TripModel | None, seed: int) -> TripModel:
    """Return what is known of trips on a morning: learned on the first, its population kept on the later ones."""
    if model is None:
        return replace(make_model(library, before, seed=seed), demand=_all_demand(library, before))
    return replace(model, as_of=before.as_of)


def _all_demand(library: Library, fit: Fit) -> pl.DataFrame:
    rules = own_rules(library.folder)
    return demand_table(library.races().collect(), defaults(fit.as_of, rules), climbs_of(rules, fit.as_of))


def _last_day(library: Library) -> date:
    last: date | None = library.races().select(pl.col("date").max()).collect().item()
    if last is None:
        raise CannotFitError(_("trips on later results"), _("the library holds no races"), _("add results first"))
    return last
