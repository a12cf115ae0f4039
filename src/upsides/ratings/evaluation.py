"""An honest back-test: every race judged from what was known before it, and what each group of terms is worth.

The market's odds, where the table has them, are an outside yardstick on the same races; nothing reads them
otherwise.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.choice import shares
from upsides.ratings.forecast import measures
from upsides.ratings.forecast.design import Design, Shared, shared, terms_of
from upsides.ratings.forecast.starters import Floats, Starters, centred, starters_from
from upsides.ratings.forecast.walk import Coefficients, Plan, walk
from upsides.ratings.orders import Discounts, fit_discounts, place_probabilities

Ints = NDArray[np.int64]
Progress = Callable[[float, str], None]

BANDS = 10
DEFAULT_PLAN = Plan()
REFITS_FOR_TERMS = 180
"""Days between refits when groups of terms are left out one by one; the whole design is refitted more often."""


@dataclass(frozen=True, slots=True)
class Judged:
    """The races judged: their runners' utilities and everything needed to score them."""

    runs: Starters
    first: int
    last: int
    utility: Floats
    coefficients: list[Coefficients]

    @property
    def rows(self) -> slice:
        """Rows of the runners."""
        return slice(int(self.runs.start[self.first]), int(self.runs.start[self.last]))

    @property
    def offsets(self) -> Ints:
        """Where each race begins among those rows."""
        return np.asarray(self.runs.start[self.first : self.last + 1] - self.runs.start[self.first])


@dataclass(frozen=True, slots=True)
class Score:
    """Mean log-loss of the winners' chances, that of equal chances, and the share of it explained."""

    races: int
    log_loss: float
    log_loss_uniform: float
    pseudo_r2: float
    error: float


def score(chance: Floats, offsets: Ints, won: NDArray[np.bool_]) -> Score:
    """Score win chances by -log of the winner's; a dead heat counts the mean over its winners.

    Races without a known winner, or without a chance for each runner, are left out of both sums. `error` is
    the standard error of the pseudo-R2 over races.

    Source: Bolton & Chapman (1986), Management Science 32:1040.
    """
    loss, uniform = losses(chance, offsets, won)
    if not loss.size:
        return Score(0, np.nan, np.nan, np.nan, np.nan)
    r2 = 1.0 - loss.sum() / uniform.sum()
    error = (loss - (1.0 - r2) * uniform).std() / uniform.mean() / np.sqrt(loss.size)
    return Score(loss.size, float(loss.mean()), float(uniform.mean()), float(r2), float(error))


def losses(chance: Floats, offsets: Ints, won: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Return the log-loss of each race that can be scored, and that of equal chances."""
    winners = np.add.reduceat(won.astype(np.float64), offsets[:-1])
    usable = (winners > 0) & np.isfinite(np.add.reduceat(chance, offsets[:-1]))
    with np.errstate(divide="ignore", invalid="ignore"):
        loss = -np.add.reduceat(np.where(won, np.log(chance), 0.0), offsets[:-1]) / winners
    return loss[usable], np.log(np.diff(offsets))[usable]


def calibration(predicted: Floats, happened: NDArray[np.bool_], bands: int = BANDS) -> list[dict[str, float]]:
    """Return predicted and observed shares over equal bands of the prediction, lowest first."""
    order = np.argsort(predicted, kind="stable")
    return [
        {
            "predicted": round(float(predicted[band].mean()), 5),
            "observed": round(float(happened[band].mean()), 5),
            "count": int(band.size),
        }
        for band in np.array_split(order, bands)
        if band.size
    ]


def evaluate(
    races: pl.DataFrame,
    runs: pl.DataFrame,
    first_day: date,
    last_day: date | None = None,
    *,
    plan: Plan = DEFAULT_PLAN,
    progress: Progress = lambda _done, _what: None,
) -> dict[str, Any]:
    """Walk forward from `first_day` and judge every race up to `last_day` from what was known before it.

    Args:
        races: frame of the results schema.
        runs: likewise, with `horse_key`.
        first_day: first day judged.
        last_day: last day judged, default the last there is.
        plan: how the second stage is fitted.
        progress: told the share done.

    Returns:
        races, log_loss, log_loss_uniform, pseudo_r2 and its standard error, market_pseudo_r2 (None without
        odds), calibration of win chances, calibration of a place in the first three, next_figure (error of
        the expected performance), discounts (None where the races are too few), and terms.

    Raises:
        CannotFitError: there is no race to judge, or none before it to learn from.
    """
    progress(0.0, "what was known before each race")
    table = starters_from(races, runs)
    first, last = _span(table, first_day, last_day)
    seen = shared(table)
    design = terms_of(seen)
    judged = _judge(table, design.x, first, last, plan, lambda done: progress(0.1 + 0.4 * done, "walking forward"))
    whole = _answer(judged, seen)
    whole["terms"] = _worth(
        table, design, first, last, plan, lambda done: progress(0.5 + 0.5 * done, "what each term is worth")
    )
    progress(1.0, "done")
    return whole


def _span(table: Starters, first_day: date, last_day: date | None) -> tuple[int, int]:
    begin = int(np.searchsorted(table.day, (first_day - date(1970, 1, 1)).days))
    end = (
        table.day.size
        if last_day is None
        else int(np.searchsorted(table.day, (last_day - date(1970, 1, 1)).days, "right"))
    )
    if end <= begin:
        until = _("to {last_day}", last_day=last_day) if last_day else "on"
        raise CannotFitError(
            "evaluation",
            _("there is no race from {first_day} {until}", first_day=first_day, until=until),
            _("choose another day, or add results"),
        )
    if begin < 20:
        raise CannotFitError(
            "evaluation",
            _("only {begin} races were run before {first_day}", begin=begin, first_day=first_day),
            _("choose a later day"),
        )
    return begin, end


def _judge(
    table: Starters,
    x: Floats,
    first: int,
    last: int,
    plan: Plan,
    progress: Callable[[float], None] = lambda _done: None,
) -> Judged:
    return Judged(table, first, last, *walk(table, x, first, last, plan, progress))


def _losses_of(judged: Judged) -> tuple[Floats, Floats]:
    rows, offsets = judged.rows, judged.offsets
    return losses(shares(judged.utility[rows], offsets)[0], offsets, judged.runs.position[rows] == 1)


def _answer(judged: Judged, seen: Shared) -> dict[str, Any]:
    rows, offsets, position = judged.rows, judged.offsets, judged.runs.position[judged.rows]
    chance = shares(judged.utility[rows], offsets)[0]
    mine, market = score(chance, offsets, position == 1), _market(judged)
    if mine.races == 0:
        raise CannotFitError(
            "evaluation",
            _("none of the {last} races judged has a known winner", last=judged.last - judged.first),
            _("add results"),
        )
    discounts = _discounts(chance, offsets, position)
    return {
        "races": mine.races,
        "runners": int(position.size),
        "from": str(np.datetime64(int(judged.runs.day[judged.first]), "D")),
        "to": str(np.datetime64(int(judged.runs.day[judged.last - 1]), "D")),
        "log_loss": mine.log_loss,
        "log_loss_uniform": mine.log_loss_uniform,
        "pseudo_r2": mine.pseudo_r2,
        "pseudo_r2_se": mine.error,
        "market_pseudo_r2": None if market.races == 0 else market.pseudo_r2,
        "market_races": market.races,
        "calibration": calibration(chance, position == 1),
        "place_calibration": _places(chance, offsets, position),
        "discounts": None
        if discounts is None
        else {
            "second": discounts.second,
            "second_se": discounts.second_se,
            "third": discounts.third,
            "third_se": discounts.third_se,
        },
        "next_figure": _next_figure(judged, seen),
    }


def _market(judged: Judged) -> Score:
    """Score the market's own chances: one over its price, made to sum to one."""
    odds = judged.runs.odds[judged.rows]
    with np.errstate(divide="ignore", invalid="ignore"):
        raw = np.where(odds > 1.0, 1.0 / odds, np.nan)
    total = np.add.reduceat(raw, judged.offsets[:-1])
    return score(
        raw / np.repeat(total, np.diff(judged.offsets)),
        judged.offsets,
        judged.runs.position[judged.rows] == 1,
    )


def _places(chance: Floats, offsets: Ints, position: Floats) -> list[dict[str, float]]:
    """Return the calibration of a place in the first three; the second half uses the first half's discounts."""
    half = (offsets.size - 1) // 2
    powers = (1.0, 1.0)
    out = np.empty(chance.size)
    for begin, end in ((0, half), (half, offsets.size - 1)):
        for r in range(begin, end):
            field = slice(int(offsets[r]), int(offsets[r + 1]))
            out[field] = place_probabilities(chance[field], discounts=powers).sum(axis=-1)
        if begin == 0 and half > 0:
            cut = int(offsets[half])
            found = _discounts(chance[:cut], offsets[: half + 1], position[:cut])
            powers = powers if found is None else found.powers
    return calibration(out, np.nan_to_num(position, nan=99.0) <= 3)


def _discounts(chance: Floats, offsets: Ints, position: Floats) -> Discounts | None:
    """Return the powers for second and third, None where the races are too few to tell them."""
    try:
        return fit_discounts(chance, offsets, position)
    except CannotFitError:
        return None


def _next_figure(judged: Judged, seen: Shared) -> dict[str, float]:
    """Return how far performances stood from expectation within races, lb, and how far by themselves."""
    rows = judged.rows
    missed = seen.strengths.lb.error
    error = np.where(np.isnan(missed), np.nan, centred(judged.runs, missed))[rows]
    y = measures.performance(judged.runs)[rows]
    known = np.isfinite(error)
    return {
        "rms_error_lb": float(np.sqrt(np.mean(error[known] ** 2))),
        "median_error_lb": float(np.median(np.abs(error[known]))),
        "rms_without_model_lb": float(np.sqrt(np.mean(y[known] ** 2))),
        "runs": int(known.sum()),
    }


def _worth(
    table: Starters, design: Design, first: int, last: int, plan: Plan, progress: Callable[[float], None]
) -> list[dict[str, Any]]:
    """Return each group of terms with what leaving it out costs, out of sample, and its last coefficients.

    The standard error of that cost is over races, each compared with itself.
    """
    wide = replace(plan, refit_days=REFITS_FOR_TERMS)
    reference = _judge(table, design.x, first, last, wide)
    (base, uniform), final = _losses_of(reference), reference.coefficients[-1]
    groups = list(dict.fromkeys(design.groups))
    out = []
    for done, group in enumerate(groups, start=1):
        without, _ = _losses_of(_judge(table, design.without(group).x, first, last, wide))
        cost = (without - base) / uniform.mean()
        mine = [k for k, kind in enumerate(design.groups) if kind == group]
        out.append(
            {
                "term": group,
                "worth": round(float(cost.mean()), 6),
                "worth_se": round(float(cost.std() / np.sqrt(cost.size)), 6),
                "coefficients": {
                    design.names[k]: {
                        "per_sd": round(float(final.beta[k]), 4),
                        "se": round(float(np.sqrt(final.covariance[k, k])), 4),
                    }
                    for k in mine
                },
            }
        )
        progress(done / len(groups))
    return out
