"""Worth of competitors from finishing orders alone (Plackett-Luce), by the MM algorithm of Hunter (2004).

The chance of an order is a product over places: the worth of the one who took it over the worth of all still
to finish. Two competitors a contest make it Bradley and Terry's model of paired comparison. Without
shrinking, one that is always last or always first has no finite worth. `shrink` lets everyone win and lose
that many contests against an imaginary competitor of worth 1, which gives every worth a finite, unique value.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _

_NAMED = 5


@dataclass(frozen=True, slots=True)
class WorthFit:
    """Fitted worths.

    Attributes:
        log_worth: (competitors,) natural logs; they average 0 without shrinking, else 0 is the imaginary
            competitor.
        covariance: (competitors, competitors) of the log worths.
        log_likelihood: of the orders, without the imaginary contests.
        rounds: MM rounds taken.
    """

    log_worth: NDArray[np.float64]
    covariance: NDArray[np.float64]
    log_likelihood: float
    rounds: int

    def difference(self, one: int, other: int) -> tuple[float, float]:
        """Return how much the log worth of `one` exceeds that of `other`, and the standard error of that."""
        C = self.covariance
        variance = C[one, one] + C[other, other] - 2 * C[one, other]
        return float(self.log_worth[one] - self.log_worth[other]), float(np.sqrt(max(variance, 0.0)))


@dataclass(frozen=True, slots=True)
class _Orders:
    """Orders padded to (contests, longest); `stage` holds each choice's weight, 0 where there is none."""

    item: NDArray[np.int64]
    present: NDArray[np.bool_]
    stage: NDArray[np.float64]
    count: int

    def by_item(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Sum (contests, longest) values by competitor."""
        return np.bincount(self.item[self.present], values[self.present], minlength=self.count).astype(float)

    def remaining(self, worth: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the worth still to finish at each place."""
        still = np.where(self.present, worth[self.item], 0.0)
        return np.asarray(np.cumsum(still[:, ::-1], axis=1)[:, ::-1])


def _read(orders: ArrayLike, competitors: int | None, ranked: ArrayLike | None, weights: ArrayLike | None) -> _Orders:
    item = np.asarray(orders, dtype=np.int64)
    present = item >= 0
    if item.ndim != 2 or np.any(~present[:, :-1] & present[:, 1:]) or not present.any():
        raise CannotFitError(
            _("finishing orders"),
            _("each row must list competitors and then only -1"),
            _("pad shorter rows at the end"),
        )
    count = int(item.max()) + 1 if competitors is None else competitors
    if item.max() >= count:
        raise CannotFitError(
            _("finishing orders"),
            _("there is no competitor {max}", max=item.max()),
            _("number them 0 to {count}", count=count - 1),
        )
    length = present.sum(axis=1)
    known = length if ranked is None else np.minimum(np.asarray(ranked, dtype=np.int64), length)
    weight = np.ones(len(item)) if weights is None else np.asarray(weights, dtype=np.float64)
    choices = np.arange(item.shape[1]) < np.minimum(known, length - 1)[:, None]
    return _Orders(np.where(present, item, 0), present, choices * weight[:, None], count)


def _refuse_unconnected(orders: _Orders) -> None:
    """Refuse orders in which some group never finished in front of, or never behind, the rest."""
    race, place = np.nonzero(orders.stage > 0)
    last = np.where((orders.stage > 0).any(axis=1), (orders.stage > 0).sum(axis=1) - 1, -1)
    tail_race, tail_place = np.nonzero(orders.present & (np.arange(orders.item.shape[1]) > last[:, None]))
    tail_place, tail_race = tail_place[last[tail_race] >= 0], tail_race[last[tail_race] >= 0]
    ahead = np.append(orders.item[race, place], orders.item[tail_race, last[tail_race]])
    behind = np.append(orders.item[race, place + 1], orders.item[tail_race, tail_place])
    graph = coo_array((np.ones(len(ahead)), (ahead, behind)), shape=(orders.count, orders.count))
    groups, label = connected_components(graph, directed=True, connection="strong")
    if groups > 1:
        outside = np.flatnonzero(label != np.bincount(label).argmax())
        listed = ", ".join(map(str, outside[:_NAMED])) + (" ..." if len(outside) > _NAMED else "")
        raise CannotFitError(
            _("worth of competitors {listed}", listed=listed),
            _("they were never beaten by, or never beat, the others, so that they have no finite worth"),
            _("leave them out or shrink"),
        )


def log_likelihood(orders: _Orders, log_worth: NDArray[np.float64]) -> float:
    """Return the log-likelihood of the orders."""
    chosen = log_worth[orders.item] - np.log(np.where(orders.present, orders.remaining(np.exp(log_worth)), 1.0))
    return float((orders.stage * chosen).sum())


def _covariance(orders: _Orders, log_worth: NDArray[np.float64], shrink: float) -> NDArray[np.float64]:
    """Invert the information; without shrinking within the space of contrasts."""
    worth = np.exp(log_worth)
    race, place = np.nonzero(orders.stage > 0)
    rest = orders.remaining(worth)[race, place]
    behind = orders.present[race] & (np.arange(orders.item.shape[1]) >= place[:, None])
    row, column = np.nonzero(behind)
    item = orders.item[race[row], column]
    root = np.sqrt(orders.stage[race, place])
    share = worth[item] / rest[row]
    P = coo_array((share * root[row], (row, item)), shape=(len(race), orders.count)).tocsr()
    information = -np.asarray((P.T @ P).todense())
    q = worth / (1 + worth)
    own = np.bincount(item, share * root[row] ** 2, minlength=orders.count) + 2 * shrink * q * (1 - q)
    information[np.diag_indices(orders.count)] += own
    return np.asarray(np.linalg.pinv(information, hermitian=True))


def fit_worths(
    orders: ArrayLike,
    *,
    competitors: int | None = None,
    ranked: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    shrink: float = 0.0,
    tolerance: float = 1e-9,
    max_rounds: int = 20_000,
) -> WorthFit:
    """Fit worths to finishing orders by maximum likelihood, or shrunken.

    Args:
        orders: (contests, longest) competitor numbers from 0 in finishing order, padded with -1.
        competitors: how many there are, default the highest number plus one.
        ranked: (contests,) how many leading places are known; the rest of the row finished behind in unknown
            order.
        weights: (contests,) weight of each contest, e.g. how often it came out so.
        shrink: contests won and lost by everyone against an imaginary competitor of worth 1.
        tolerance: stop when no log worth moves more.
        max_rounds: rounds allowed.

    Raises:
        CannotFitError: a competitor has no finite worth, or the rounds ran out.
    """
    read = _read(orders, competitors, ranked, weights)
    if shrink == 0:
        _refuse_unconnected(read)
    wins = read.by_item(read.stage) + shrink
    log_worth = np.zeros(read.count)
    for round_ in range(1, max_rounds + 1):
        worth = np.exp(log_worth)
        inverse = np.where(read.stage > 0, read.stage / np.where(read.present, read.remaining(worth), 1.0), 0.0)
        burden = read.by_item(np.cumsum(inverse, axis=1)) + 2 * shrink / (1 + worth)
        moved = np.log(wins / burden)
        if shrink == 0:
            moved -= moved.mean()
        change = np.abs(moved - log_worth).max()
        log_worth = moved
        if change < tolerance:
            covariance = _covariance(read, log_worth, shrink)
            return WorthFit(log_worth, covariance, log_likelihood(read, log_worth), round_)
    raise CannotFitError(
        "worths",
        _("still moving after {max_rounds} rounds", max_rounds=max_rounds),
        _("allow more rounds or shrink more"),
    )
