"""The shape of a horse as people score it beside its box: traits, scores, and how far people agree.

Each trait runs from one biological extreme to the other in whole steps of 1 to 9, 5 the average of the population;
neither end is better. Of 27 traits tried in this manner on Thoroughbreds 21 could be found alike again (Mawdsley,
Kelly, Smith and Brophy 1996, Equine Veterinary Journal 28:461). The number of steps and the choice of traits are ours.

What a trait says of a horse's trip is common practice without a source. Published evidence for it is thin: the
measurements of 260 yearlings did not tell those that won over short trips from those that won over long ones (Smith,
Staniar and Splan 2006). So `longer` is where the belief points, not how much it is worth.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.errors import ShapeScoreError

LOWEST: Final = 1
MIDDLE: Final = 5
HIGHEST: Final = 9


@dataclass(frozen=True, slots=True)
class Trait:
    """One trait that a person can see beside a box.

    Args:
        name: its key among an entry's values.
        title: what it is called.
        low: what a score of 1 means; neither good nor bad.
        high: what a score of 9 means; neither good nor bad.
        longer: 1 where a high score is taken for a longer trip, -1 for a shorter one, 0 where nothing is read from it.
    """

    name: str
    title: str
    low: str
    high: str
    longer: float


TRAITS: Final = (
    Trait("frame", "Frame", "compact", "rangy", 1),
    Trait("barrel", "Barrel", "deep and round", "shallow and narrow", 1),
    Trait("body_weight", "Weight of the body", "light", "heavy-topped", -1),
    Trait("leg_length", "Length of leg", "short", "long", 1),
    Trait("neck_length", "Neck", "short", "long", 1),
    Trait("shoulder_slope", "Slope of the shoulder", "upright", "sloping", 1),
    Trait("shoulder_weight", "Weight of the shoulder", "light", "heavy", -1),
    Trait("forearm", "Forearm", "light", "strong", -1),
    Trait("back_length", "Back", "short", "long", 1),
    Trait("loin", "Loin", "narrow", "broad", 0),
    Trait("quarters", "Quarters", "light", "strong", -1),
    Trait("second_thigh", "Second thigh", "light", "strong", -1),
    Trait("bone", "Bone", "fine", "plenty", 0),
    Trait("knees", "Knees", "back at the knee", "over at the knee", 0),
    Trait("hock_height", "Height of the hocks", "high", "well let down", 0),
    Trait("hock_angle", "Angle of the hocks", "straight", "sickle", 0),
    Trait("pasterns", "Pasterns", "short and upright", "long and sloping", 1),
    Trait("toes", "Toes", "turned in", "turned out", 0),
    Trait("walk", "Walk", "short", "overtracks", 1),
)
"""The traits in the order in which an eye goes over a horse."""


@dataclass(frozen=True, slots=True)
class Summary:
    """What people say of one trait of one horse.

    Args:
        mean: their mean score, each person counted once.
        judges: how many scored it.
        spread: the highest score less the lowest.
    """

    mean: float
    judges: int
    spread: int


@dataclass(frozen=True, slots=True)
class Agreement:
    """What the differences between scores are made of, as variances in squared points of the scale.

    Args:
        between_horses: from horse to horse; an estimate, which can fall below 0 where there is nothing to find.
        between_judges: from judge to judge: some score high or low whatever they look at.
        rest: what is left of a single score.
        horses: how many horses at least two people scored.
        judges: how many people scored one of those.
    """

    between_horses: float
    between_judges: float
    rest: float
    horses: int
    judges: int

    @property
    def absolute(self) -> float:
        """Return the intraclass correlation for absolute agreement of single raters, ICC(2,1)."""
        return self.between_horses / (self.between_horses + self.between_judges + self.rest)


def read_score(trait: Trait, typed: object) -> int:
    """Return a score as typed: a whole number, or its digit as text.

    Raises:
        ShapeScoreError: it is no whole number from 1 to 9.
    """
    text = typed.strip() if isinstance(typed, str) else typed
    if isinstance(text, str) and len(text) == 1 and text.isdecimal():
        text = int(text)
    if not isinstance(text, int) or isinstance(text, bool) or not LOWEST <= text <= HIGHEST:
        raise ShapeScoreError(trait.title, typed, LOWEST, HIGHEST)
    return text


def summary(scores: Sequence[Mapping[str, int]]) -> dict[str, Summary]:
    """Return what people say of each trait that anybody scored, in the order of `TRAITS`.

    Args:
        scores: for each person the scores by name of trait; what was not scored is not there.
    """
    given = {trait.name: [one[trait.name] for one in scores if trait.name in one] for trait in TRAITS}
    return {
        name: Summary(sum(found) / len(found), len(found), max(found) - min(found))
        for name, found in given.items()
        if found
    }


def agreement(scores: NDArray[np.float64]) -> tuple[tuple[Agreement | None, ...], Agreement | None]:
    """Return how far people agree, trait by trait and over all.

    The model of Shrout and Fleiss 1979, Psychological Bulletin 86:420, case 2: a score is a horse's value, the judge's
    habit and a rest, horses and judges drawn at random. Not everybody scores every horse, so the variances come from
    sums of squares fitted with and without each factor (Henderson 1953, Biometrics 9:226, method 3), which on a full
    table are those of Shrout and Fleiss. Over all traits, variances are added up.

    Args:
        scores: (horses, judges, traits), points, NaN where somebody did not score.

    Returns:
        For each trait None where no two people scored two horses both, or where all scores are one; and over all.
    """
    each = tuple(_agreement_of(scores[:, :, place]) for place in range(scores.shape[2]))
    return each, _together([one for one in each if one is not None], scores)


def _agreement_of(table: NDArray[np.float64]) -> Agreement | None:
    """Return how far people agree on one trait; `table` is (horses, judges)."""
    horse, judge = np.nonzero(~np.isnan(table))
    y = table[horse, judge]
    if not len(y):
        return None
    habits = _centred((judge[:, None] == np.unique(judge)).astype(np.float64), horse)
    within = _centred(y[:, None], horse)[:, 0]
    fitted, _, rank, _ = np.linalg.lstsq(habits, within, rcond=None)
    horses, judges, free = len(np.unique(horse)), len(np.unique(judge)), int(rank)
    left = len(y) - horses - free
    if left < 1:
        return None
    unfitted = float(np.sum((within - habits @ fitted) ** 2))
    rest = unfitted / left
    without_horses = float(np.sum(_centred(y[:, None], judge) ** 2)) - unfitted
    without_judges = float(np.sum(within**2)) - unfitted
    between_horses = (without_horses - rest * (horses + free - judges)) / (len(y) - judges)
    between_judges = (without_judges - rest * free) / (len(y) - horses)
    if between_horses + between_judges + rest <= 0:
        return None
    return Agreement(between_horses, between_judges, rest, *_compared(table[:, :, None]))


def _together(each: Sequence[Agreement], scores: NDArray[np.float64]) -> Agreement | None:
    """Return the agreement over all traits that have one."""
    if not each:
        return None
    horses, judges = sum(one.between_horses for one in each), sum(one.between_judges for one in each)
    return Agreement(horses, judges, sum(one.rest for one in each), *_compared(scores))


def _compared(scores: NDArray[np.float64]) -> tuple[int, int]:
    """Return how many horses at least two people scored on the same trait, and how many people those were."""
    given = ~np.isnan(scores)
    shared = given & (given.sum(axis=1, keepdims=True) >= 2)
    return int(shared.any(axis=(1, 2)).sum()), int(shared.any(axis=(0, 2)).sum())


def _centred(columns: NDArray[np.float64], group: NDArray[np.intp]) -> NDArray[np.float64]:
    """Return columns (rows, columns) with the mean of each row's group taken off."""
    _, place, size = np.unique(group, return_inverse=True, return_counts=True)
    total = np.zeros((len(size), columns.shape[1]))
    np.add.at(total, place, columns)
    return np.asarray(columns - (total / size[:, None])[place])
