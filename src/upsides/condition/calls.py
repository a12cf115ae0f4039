"""Calls: a verdict taken before the tool's is shown, and the tool's own, scored by what came of it.

A yes or no is scored by Brier's score and its parts (Murphy 1973, J. Appl. Meteorol. 12:595),

    score = calibration - resolution + uncertainty,

and less is better. A horse that was not run says nothing of how it would have run, so such calls are counted and
bounded, never scored; whether it runs is decided by the one who calls it, so that "would run" is told as shares; and a
best trip is never seen, so that what was said of it stays open for good.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _

Floats = NDArray[np.float64]
About = Literal["fit", "fresh", "trip", "would run", "first four"]
SLICES: Final = 10
"""Chances are put together in tenths where there are more different ones than this."""
BEFOREHAND: Final = 1.0
"""A share is drawn to one half as if so many had gone each way."""


@dataclass(frozen=True, slots=True)
class Brier:
    """How good chances of a yes were.

    Attributes:
        score: mean square of chance less outcome.
        calibration: how far chances were from the shares that came true; 0 is best.
        resolution: how far those shares lay apart from the share of all; more is better.
        uncertainty: what the outcomes are worth by themselves.
        within: what putting chances together leaves over; 0 where none were.
        said, came: (k,) by group of chances: the mean chance, and the share that came true.
        counts: (k,) how many.
    """

    score: float
    calibration: float
    resolution: float
    uncertainty: float
    within: float
    said: tuple[float, ...]
    came: tuple[float, ...]
    counts: tuple[int, ...]


def brier(chance: ArrayLike, came: ArrayLike) -> Brier:
    """Return Brier's score of chances of a yes, with its parts.

    Args:
        chance: (n,) chances, 0 to 1.
        came: (n,) whether it came true.

    Raises:
        ConditionRefusedError: no calls, a chance outside 0 to 1, or a different number of outcomes.
    """
    p, y = _checked(chance), np.asarray(came, dtype=np.float64)
    if p.ndim != 1 or p.shape != y.shape:
        raise ConditionRefusedError(
            _("outcomes"), y.size, _("there are {size} calls", size=p.size), _("give one for each call")
        )
    different = np.unique(p)
    group = (
        np.searchsorted(different, p) if different.size <= SLICES else np.minimum(p * SLICES, SLICES - 1).astype(int)
    )
    count = np.bincount(group)
    there = count > 0
    n = count[there].astype(np.float64)
    said, share = np.bincount(group, p)[there] / n, np.bincount(group, y)[there] / n
    mean = y.mean()
    score = float(np.mean((p - y) ** 2))
    calibration = float(n @ (said - share) ** 2 / y.size)
    resolution = float(n @ (share - mean) ** 2 / y.size)
    uncertainty = float(mean * (1.0 - mean))
    return Brier(
        score, calibration, resolution, uncertainty, score - calibration + resolution - uncertainty,
        tuple(said.tolist()), tuple(share.tolist()), tuple(count[there].tolist()),
    )  # fmt: skip


def _checked(chance: ArrayLike) -> Floats:
    p = np.asarray(chance, dtype=np.float64)
    if not p.size:
        raise ConditionRefusedError(
            _("calls"), _("none"), _("there is nothing to score yet"), _("wait until calls have come true")
        )
    if not ((p >= 0.0) & (p <= 1.0)).all():
        wrong = p[~((p >= 0.0) & (p <= 1.0))][0]
        raise ConditionRefusedError(_("chance"), wrong, _("it lies between 0 and 1"), _("say it again"))
    return p


@dataclass(frozen=True, slots=True)
class Call:
    """One verdict beside the tool's, on one question.

    Attributes:
        about: the question.
        chance: what the person said, 0 to 1, before the tool's was shown.
        tool: what the tool said; None where it said nothing.
        came: whether it came true, by a run or by what a vet found; None where nothing has shown it.
    """

    about: About
    chance: float
    tool: float | None
    came: bool | None


@dataclass(frozen=True, slots=True)
class Scored:
    """How a person's calls on one question and the tool's have stood up.

    Attributes:
        about: the question.
        person: the score of the calls that came true or false; None where none did.
        alike: the person's, on those of them on which the tool said something too; None where it said nothing.
        tool: the tool's, on the same.
        better: on the same calls, the tool's score less the person's: above 0 the person was the better. NaN without.
        error: the standard error of that.
        beside: on how many calls that rests.
        shown: calls that came true or false.
        open: calls that nothing has shown.
        least, most: the ends between which the person's score would lie, whatever the open ones had turned out to be.
    """

    about: About
    person: Brier | None
    alike: Brier | None
    tool: Brier | None
    better: float
    error: float
    beside: int
    shown: int
    open: int
    least: float
    most: float


def scored(calls: Sequence[Call], about: About) -> Scored:
    """Return how calls on one question have stood up.

    Which calls are shown is no accident: a horse that is thought unfit is not run. A score of those that ran is
    therefore about horses that were run, and the ends say how little it can mean for the rest.

    Raises:
        ConditionRefusedError: the question is whether it would run, or a chance is none.
    """
    if about == "would run":
        raise ConditionRefusedError(
            _("question"), about, _("who calls it also decides it"), _("look at the shares instead")
        )
    mine = [call for call in calls if call.about == about]
    said = _checked([call.chance for call in mine])
    known = np.array([call.came is not None for call in mine])
    shown, left = int(known.sum()), int((~known).sum())
    least, most = _ends(said[~known])
    if not shown:
        return Scored(about, None, None, None, np.nan, np.nan, 0, 0, left, least, most)
    came = np.array([bool(call.came) for call in mine])[known]
    person, score = brier(said[known], came), float(np.sum((said[known] - came) ** 2))
    pairs = [(one.chance, one.tool, one.came) for one in mine if one.came is not None and one.tool is not None]
    mine_p, tools_p, y = np.array(pairs, dtype=np.float64).reshape(-1, 3).T
    apart = (tools_p - y) ** 2 - (mine_p - y) ** 2
    return Scored(
        about, person, brier(mine_p, y) if pairs else None, brier(tools_p, y) if pairs else None,
        float(apart.mean()) if pairs else np.nan,
        float(apart.std(ddof=1) / np.sqrt(apart.size)) if apart.size > 1 else np.nan, apart.size, shown, left,
        (score + left * least) / (shown + left), (score + left * most) / (shown + left),
    )  # fmt: skip


def _ends(said: Floats) -> tuple[float, float]:
    """Return the least and the most that calls could score."""
    if not said.size:
        return 0.0, 0.0
    far = np.maximum(said, 1.0 - said) ** 2
    near = np.minimum(said, 1.0 - said) ** 2
    return float(near.mean()), float(far.mean())


@dataclass(frozen=True, slots=True)
class RanAfter:
    """How often horses ran after it had been said that they would, or would not.

    Attributes:
        said: "would run" or "would not run".
        calls: how often it was said.
        ran: how often the horse ran.
        share: of those, drawn to one half by a call either way.
        low, high: nine in ten of that share.
    """

    said: Literal["would run", "would not run"]
    calls: int
    ran: int
    share: float
    low: float
    high: float


def ran_after(calls: Sequence[Call]) -> tuple[RanAfter, RanAfter]:
    """Return how often horses ran after each verdict on whether they would, a chance of one half or more being yes."""
    told: list[RanAfter] = []
    verdicts: tuple[Literal["would run"], Literal["would not run"]] = ("would run", "would not run")
    for said in verdicts:
        chosen = [one for one in calls if one.about == "would run" and (one.chance >= 0.5) == (said == "would run")]
        ran = sum(one.came is True for one in chosen)
        a, b = ran + BEFOREHAND, len(chosen) - ran + BEFOREHAND
        low, high = (float(betaincinv(a, b, end)) for end in (0.05, 0.95))
        told.append(RanAfter(said, len(chosen), ran, a / (a + b), low, high))
    return told[0], told[1]
