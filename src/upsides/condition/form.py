"""Is it the yard, or luck? How the string has run lately against what was expected of it.

    off = mean + yard(week) + barn(week) + gallop + lorry + feed batch + error

with `off` what a run was worth less what was expected of it before, in pounds. The yard, and each barn besides, walk at
random from week to week; the rest are partially pooled levels; each run brings its own known error. The variances are
found by restricted maximum likelihood, and what is told is drawn towards nought as far as they say that it is luck.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.special import ndtr

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.components import Components, Part, coded, components_at, fit_components, levels, walks

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DAYS: Final = 365
"""The yard is held against how it ran over so many days."""
LATELY: Final = 21
"""The days of "lately"."""
LEAST: Final = 20
"""Fewer runs than this say nothing of a yard. Our own choice."""
WIDE: Final = 1.6448536269514722
"""A range holds nine in ten."""
SPLITS: Final = ("barn", "gallop", "lorry", "feed")
USUAL_LB: Final = {"yard": 0.7, "barn": 0.7, "gallop": 2.5, "lorry": 2.5, "feed": 2.5}
"""How far parts may usually differ, lb: what is held of their standard deviation before the runs speak (half a normal
about nought), of yard and barns for a week's step. It binds only where few parts say little. Our own choice."""
GRID: Final = 16
"""So many spreads are averaged over."""
MOST_SD_LB: Final = 8.0
"""The error of a run counts up to so much. A run beaten far has a figure of hardly any weight for the horse's level,
since it may have been eased; for its yard a pound of it told about four fifths of a pound of other runs (Hong Kong 1997
to 2003, `tests/condition/test_form_hk1997.py`)."""
MATES: Final = 5
"""Fewer runs of stable-mates than this say nothing of the next run. Our own choice."""


@dataclass(frozen=True, slots=True)
class Ran:
    """One run against what was expected of it.

    Attributes:
        horse: its number.
        day: when.
        off_lb: by how much it was off what was expected of it before, less what all runs are so (`usual_off`), lb.
        sd_lb: error of the figure as far as it counts (`counted`), lb.
        barn, gallop, lorry, feed: where it stands, where it last worked fast, how it travelled, which batch it ate;
            None where nobody wrote it down.
    """

    horse: int
    day: date
    off_lb: float
    sd_lb: float = 0.0
    barn: int | None = None
    gallop: int | None = None
    lorry: int | None = None
    feed: int | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """How a yard or a part of it has run.

    Attributes:
        split: "yard", or one of `SPLITS`.
        code: its number there; 0 for the yard.
        lb: how far off expectation, lb; of a part how far off the rest of the yard. Drawn towards nought.
        low, high: nine in ten.
        below: how probable it is that it is below by more than was asked.
        runs: its runs lately.
        raw_lb: their mean, each counted by how well it is known, not drawn towards anything; NaN without one.
        raw_sd: the standard error of that from the runs' spread; NaN for fewer than two.
    """

    split: str
    code: int
    lb: float
    low: float
    high: float
    below: float
    runs: int
    raw_lb: float
    raw_sd: float


@dataclass(frozen=True, slots=True)
class Form:
    """Whether it is the yard, or luck.

    Attributes:
        yard: the whole string.
        parts: barns, gallops, lorries and batches with runs lately, lowest first.
        sds: standard deviations by part, lb: the yard's and a barn's of a week's step.
        runs: how many runs went in.
        year_lb: their mean, counted likewise, towards which what is told of the yard is drawn.
    """

    yard: Standing
    parts: tuple[Standing, ...]
    sds: dict[str, float]
    runs: int
    year_lb: float


def counted(sd: Floats) -> Floats:
    """Return (n,) errors of figures as far as they count for a yard, lb."""
    return np.minimum(sd, MOST_SD_LB)


def usual_off(off: Floats, sd: Floats) -> float:
    """Return how far off expectation all runs are, lb, each weighted as in a yard's own form.

    Beaten horses are eased and winners hardly ever are, so that the mean run lies below what was expected of it, and
    against nought most strings would run below.

    Args:
        off: (n,) figures less expectation, lb.
        sd: (n,) their errors, lb.
    """
    if off.size == 0:
        return 0.0
    known = counted(sd) ** 2
    between = max(float(np.var(off) - known.mean()), 0.0)
    return float(np.average(off, weights=1.0 / (known + between)))


def form_of(runs: Sequence[Ran], on: date, below_lb: float = 2.0, days: int = DAYS) -> Form:
    """Return how the string has run.

    Args:
        runs: in any order; those of the day itself, later ones and older ones than `days` are left out.
        on: the day from which one looks.
        below_lb: it is asked how probable it is that the string is below expectation by more than this.
        days: from how many days.

    Raises:
        CannotFitError: too few runs.
    """
    used = sorted((one for one in runs if 0 < (on - one.day).days <= days), key=lambda one: one.day)
    if len(used) < LEAST:
        raise CannotFitError(
            "form", _("{count} runs, and {least} are asked for", count=len(used), least=LEAST), _("wait for more runs")
        )
    week = np.array([(one.day - used[0].day).days // 7 for one in used], dtype=np.float64)
    codes = {name: coded([getattr(one, name) for one in used]) for name in SPLITS}
    parts = [walks("yard", np.zeros(len(used), dtype=np.int64), week)]
    for name, (code, known) in codes.items():
        if name == "barn" and len(known) > 1:
            parts.append(walks("barn", code, week))
        elif name != "barn" and len(known) > 1:
            parts.append(levels(name, code, len(known)))
    parts = [part for part in parts if part.precision.shape[0]]
    off = np.array([one.off_lb for one in used])
    sd = np.array([one.sd_lb for one in used])
    fit = fit_components(off, np.ones((off.size, 1)), parts, sd**2, lifted=("yard", "barn"))
    late = np.array([(on - one.day).days <= LATELY for one in used])
    ahead = ((on - used[0].day).days // 7) - week[-1]
    rows = [_yards(parts, fit, len(used) - 1)]
    told = [("yard", 0, np.ones(off.size, dtype=np.bool_))]
    for name in SPLITS:
        for place, number in enumerate(codes[name][1]):
            mine = codes[name][0] == place
            row = _part_now(name, place, mine, parts, fit)
            if row is not None and row.any() and (mine & late).any():
                rows.append(row)
                told.append((name, number, mine))
    table = np.array(rows)
    mean, variance = _averaged(table, [which[0] for which in told], parts, fit, (off, sd**2))
    variance[0] += _step(parts, fit, "yard") * ahead
    weight = 1.0 / (sd**2 + fit.residual)
    found = [
        _standing(*which, float(m), float(np.sqrt(v)), (off, weight), late, below_lb)
        for which, m, v in zip(told, mean, variance, strict=True)
    ]
    sds = {part.name: float(np.sqrt(v)) for part, v in zip(parts, fit.variances, strict=True)}
    told_parts = tuple(sorted(found[1:], key=lambda one: one.lb))
    return Form(found[0], told_parts, sds | {"run": fit.residual**0.5}, off.size,
                float(np.average(off, weights=weight)))  # fmt: skip


def _averaged(
    rows: Floats, names: Sequence[str], parts: list[Part], fit: Components, read: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Return means and variances of contrasts, the doubt of the part's own spread in them.

    A spread that is taken as known where it was found to be nought says that every part is just as the rest, for sure.
    So each contrast is averaged over spreads of its part, by their restricted likelihood and `USUAL_LB`; the other
    parts' spreads stay as they were found.

    Args:
        rows: (m, p + q) contrasts.
        names: (m,) of which part each is.
        parts: of the model.
        fit: of the model.
        read: (n,) records and (n,) their known variances.
    """
    off, known = read
    at = np.r_[fit.variances, fit.residual]
    mean, variance = rows @ np.concatenate([fit.fixed, *fit.random]), np.maximum(fit.variance_of(rows), 0.0)
    for place, part in enumerate(parts):
        mine = [number for number, name in enumerate(names) if name == part.name]
        usual = USUAL_LB[part.name]
        spreads = np.linspace(0.0, max(3 * usual, 2.5 * at[place] ** 0.5), GRID + 1)[1:] - usual / 50
        tried = np.tile(at, (GRID, 1))
        tried[:, place] = spreads**2
        fits = components_at(off, np.ones((off.size, 1)), parts, list(tried), known)
        logs = np.array([one.log_likelihood for one in fits]) - (spreads / usual) ** 2 / 2
        weight = np.exp(logs - logs.max())
        weight /= weight.sum()
        each = np.array([rows[mine] @ np.concatenate([one.fixed, *one.random]) for one in fits])
        within = np.array([np.maximum(one.variance_of(rows[mine]), 0.0) for one in fits])
        mean[mine] = weight @ each
        variance[mine] = weight @ (within + (each - mean[mine]) ** 2)
    return mean, variance


def _step(parts: list[Part], fit: Components, name: str) -> float:
    """Return the variance of a week's step of a part, 0 where it has none."""
    return sum(float(v) for part, v in zip(parts, fit.variances, strict=True) if part.name == name)


def _place(name: str, parts: list[Part]) -> int:
    return next((place for place, part in enumerate(parts) if part.name == name), -1)


def _yards(parts: list[Part], fit: Components, last: int) -> Floats:
    """Return the contrast of the yard at its last run: the mean and its walk."""
    row = np.zeros(1 + sum(one.size for one in fit.random))
    row[0] = 1.0
    walk = _place("yard", parts)
    if walk >= 0:
        begin = fit.starts[walk]
        row[begin : begin + fit.random[walk].size] = sparse.csr_array(parts[walk].incidence)[[last]].toarray()[0]
    return row


def _part_now(name: str, place: int, mine: NDArray[np.bool_], parts: list[Part], fit: Components) -> Floats | None:
    """Return the contrast of one part at its last run, None where it is not in the model."""
    at = _place(name, parts)
    if at < 0:
        return None
    row = np.zeros(1 + sum(one.size for one in fit.random))
    begin = fit.starts[at]
    if name == "barn":
        last = int(np.flatnonzero(mine)[-1])
        row[begin : begin + fit.random[at].size] = sparse.csr_array(parts[at].incidence)[[last]].toarray()[0]
    else:
        row[begin + place] = 1.0
    return row


def _standing(
    split: str, code: int, mine: NDArray[np.bool_], mean: float, sd: float, read: tuple[Floats, Floats],
    late: NDArray[np.bool_], below_lb: float,
) -> Standing:  # fmt: skip
    raw, weight = (one[mine & late] for one in read)
    plain = float(np.average(raw, weights=weight)) if raw.size else np.nan
    spread = float(weight**2 @ (raw - plain) ** 2) * raw.size / max(raw.size - 1, 1)
    below = float(ndtr((-below_lb - mean) / max(sd, 1e-9)))
    return Standing(
        split, code, mean, mean - WIDE * sd, mean + WIDE * sd, below, raw.size,
        plain, float(np.sqrt(spread) / weight.sum()) if raw.size > 1 else np.nan,
    )  # fmt: skip


TO_ASK: Final = (
    "temperatures morning and evening of all that ran below what was expected, and of their neighbours",
    "a blood sample of some of them, and of some that ran well, on the same day and by the same laboratory",
    "the airways looked into after work, and a wash taken where the vet wants one",
    "droppings looked at for worms",
    "a sample of hay, of feed and of water, if one batch or one barn stands out",
    "the heart and the pulse listened to at rest, of those whose recovery has grown longer",
)
"""What a vet might be asked about when a string runs below expectation; which of it is worth doing the vet decides.
Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Pull:
    """How much of what stable-mates did lately the next run shows.

    Attributes:
        share: of their mean deviation.
        error: its standard error, runs of one yard in the same weeks taken together.
        runs: how many runs told it.
    """

    share: float
    error: float
    runs: int


def stable_mates(yard: Ints, horse: Ints, day: Ints, off: Floats, days: int = LATELY, least: int = MATES) -> Pull:
    """Return how much of stable-mates' deviations of the last days the next run shows.

    Args:
        yard: (n,) whose run.
        horse: (n,) which horse.
        day: (n,) when.
        off: (n,) what it was worth less what was expected before.
        days: how far back mates' runs count; those of the same day do not.
        least: how many of them there must be.

    Raises:
        CannotFitError: hardly any run has mates that ran.
    """
    total, count = _earlier(yard, day, off, days)
    own, times = _earlier(_pairs(yard, horse), day, off, days)
    count = count - times
    known = count >= least
    if known.sum() < LEAST:
        raise CannotFitError(
            "stable-mates", _("{count} runs had mates that ran lately", count=int(known.sum())), _("give more results")
        )
    x, y = (total - own)[known] / count[known], off[known]
    x, y = x - x.mean(), y - y.mean()
    share = float(x @ y / (x @ x))
    together = np.unique(_pairs(yard, day // days)[known], return_inverse=True)[1]
    scores = np.bincount(together, x * (y - share * x))
    return Pull(share, float(np.sqrt(scores @ scores) / (x @ x)), int(known.sum()))


def _pairs(one: Ints, other: Ints) -> Ints:
    return np.unique(np.stack([one, other]), axis=1, return_inverse=True)[1].ravel().astype(np.int64)


def _earlier(group: Ints, day: Ints, off: Floats, days: int) -> tuple[Floats, Ints]:
    """Return the sum and number of a group's runs in the days before each run, its own day left out."""
    span = int(day.max() - day.min()) + 2 * days + 2
    key = group.astype(np.int64) * span + (day - day.min() + days)
    order = np.argsort(key, kind="stable")
    sums = np.r_[0.0, np.cumsum(off[order])]
    first, last = np.searchsorted(key[order], key - days), np.searchsorted(key[order], key)
    return sums[last] - sums[first], last - first
