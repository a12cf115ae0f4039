"""Chances of finishing orders and places from worths, and from joint draws of levels.

Harville's model takes the winner's chance as worth over all worths, and every later place likewise among
those left (Harville 1973; Plackett-Luce). It overstates the favourites' chances of the minor places; raising
the worths to a power below 1 for second and third corrects that (Lo & Bacon-Shone).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.choice import fit_choice
from upsides.ratings.finishing_times import gamma_places, normal_places

NO_DISCOUNT = (1.0, 1.0)
_SUMMED_PLACES = 3
_LEAST_LOG_WORTH = -300.0


@dataclass(frozen=True, slots=True)
class Discounts:
    """Powers of the win chance for the second and third place, with standard errors and races used."""

    second: float
    third: float
    second_se: float
    third_se: float
    races: int

    @property
    def powers(self) -> tuple[float, float]:
        """Return the two powers."""
        return self.second, self.third


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances of a field, each (runners,): to win, to be among the first two, among the first three.

    `error` (runners, 3) is the Monte Carlo standard error of each that comes from the number of draws.
    """

    win: NDArray[np.float64]
    first_two: NDArray[np.float64]
    first_three: NDArray[np.float64]
    error: NDArray[np.float64]


def _worths(worth: ArrayLike) -> NDArray[np.float64]:
    w = np.asarray(worth, dtype=np.float64)
    if w.ndim < 1 or not (np.all(w > 0) and np.all(np.isfinite(w))):
        raise CannotFitError("worths", _("one is missing or not above 0"), _("give every runner a worth above 0"))
    return np.asarray(w / w.sum(axis=-1, keepdims=True))


def order_probability(
    worth: ArrayLike, order: Sequence[int], discounts: tuple[float, float] = NO_DISCOUNT
) -> NDArray[np.float64]:
    """Return the chance that the runners of `order` fill the first places in that order.

    Args:
        worth: (..., runners) above 0; win chances will do.
        order: runner numbers from 0; any length without discounts, at most three with them.
        discounts: powers for the second and the third place.

    Returns:
        (...) one chance for each set of worths.
    """
    p = _worths(worth)
    powers = (1.0, *discounts) if discounts != NO_DISCOUNT else (1.0,) * len(order)
    if len(order) > len(powers):
        raise CannotFitError("order", _("discounts are known for three places only"), _("ask for three or drop them"))
    left = np.ones(p.shape[-1])
    chance = np.ones(p.shape[:-1])
    for runner, power in zip(order, powers, strict=False):
        raised = p**power * left
        chance = chance * raised[..., runner] / raised.sum(axis=-1)
        left[runner] = 0.0
    return chance


def place_probabilities(
    worth: ArrayLike, places: int = 3, discounts: tuple[float, float] = NO_DISCOUNT
) -> NDArray[np.float64]:
    """Return each runner's chances of finishing exactly first, second, third, ...

    Up to three places the orders are summed; beyond, the same model is integrated as exponential times.

    Args:
        worth: (..., runners) above 0; win chances will do.
        places: how many places; at most three with discounts.
        discounts: powers for the second and the third place.

    Returns:
        (..., runners, places); places beyond the size of the field have chance 0.
    """
    p = _worths(worth)
    if places > _SUMMED_PLACES:
        if discounts != NO_DISCOUNT:
            raise CannotFitError("places", _("discounts are known for three places only"), _("ask for three"))
        return gamma_places(p, 1.0, places)
    flat = p.reshape(-1, p.shape[-1])
    found = np.stack([flat, *_second_and_third(flat, *discounts)], axis=-1)[..., :places]
    return found.reshape(*p.shape, places)


def _second_and_third(
    p: NDArray[np.float64], power2: float, power3: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sum the orders of (fields, runners); what is left behind others is summed, never subtracted."""
    n = p.shape[1]
    others = 1.0 - np.eye(n)
    second, third = p**power2, p**power3
    first_given = p / _or_one(second @ others)
    in_second = second * (first_given @ others)
    neither = (others[:, :, None] * others[:, None, :]).transpose(1, 2, 0) * others[:, :, None]
    pair_left = (third @ neither.reshape(n * n, n).T).reshape(-1, n, n)
    pair = first_given[:, :, None] * second[:, None, :] / _or_one(pair_left) * others
    in_third = third * (pair.reshape(-1, n * n) @ neither.reshape(n * n, n))
    return in_second, in_third


def _or_one(total: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(total > 0, total, 1.0)


def fit_discounts(win: ArrayLike, offsets: ArrayLike, position: ArrayLike) -> Discounts:
    """Fit the powers for second and third by maximum likelihood.

    Given who won, second is a conditional logit in the log win chance among the rest; likewise third.

    Args:
        win: (rows,) each runner's chance of winning, race by race, above 0.
        offsets: (races + 1,) where each race begins.
        position: (rows,) finishing position; NaN or 0 for unknown or worse than third.
    """
    log_win = np.log(_worths(win))[:, None]  # a common factor cancels within each race
    second = fit_choice(log_win, offsets, position, place_weights=(0, 1), start=[1.0])
    third = fit_choice(log_win, offsets, position, place_weights=(0, 0, 1), start=[1.0])
    return Discounts(
        float(second.coefficients[0]),
        float(third.coefficients[0]),
        float(second.standard_errors[0]),
        float(third.standard_errors[0]),
        len(np.asarray(offsets)) - 1,
    )


def chances_from_draws(
    levels: ArrayLike,
    error_sd: ArrayLike,
    model: Literal["plackett_luce", "normal"] = "plackett_luce",
    discounts: tuple[float, float] = NO_DISCOUNT,
) -> Chances:
    """Return a field's chances from joint draws of its levels, averaged over the draws.

    Args:
        levels: (draws, runners) levels in pounds, higher better.
        error_sd: standard deviation of one performance about its level, in pounds; for the normal model it
            may differ by runner (runners,).
        model: "plackett_luce": performances have Gumbel errors with that sd; "normal": normal ones.
        discounts: powers for the second and the third place, for "plackett_luce".
    """
    drawn = np.atleast_2d(np.asarray(levels, dtype=np.float64))
    if model == "normal":
        exact = normal_places(drawn, error_sd)
    else:
        logit = drawn * (np.pi / np.sqrt(6.0)) / float(np.asarray(error_sd))
        logit -= logit.max(axis=1, keepdims=True)
        exact = place_probabilities(np.exp(np.maximum(logit, _LEAST_LOG_WORTH)), 3, discounts)
    among = np.cumsum(exact, axis=2)
    chance = among.mean(axis=0)
    spread = among.std(axis=0, ddof=1) if len(drawn) > 1 else np.zeros_like(chance)
    return Chances(chance[:, 0], chance[:, 1], chance[:, 2], spread / np.sqrt(len(drawn)))
