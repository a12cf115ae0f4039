"""What is usual for a course and trip: where a value stands among earlier ones.

Three nested groups are kept: everything, the trip (distance and surface wherever run) and the
course-and-trip. A group with R races counts R / (R + `held_by`) of its own evidence; the rest is the wider
group's answer. Races are counted, not runs, because the runners of one race share its pace.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _

_MAD_TO_SD = 1.4826
"""A normal distribution's standard deviation over its median absolute deviation."""


@dataclass(frozen=True, slots=True)
class Group:
    """Values of one group in rising order, and how many races they come from."""

    ordered: NDArray[np.float64]
    races: int


@dataclass(frozen=True, slots=True)
class Usual:
    """Earlier values by course-and-trip, by trip, and all together."""

    everything: Group
    trips: dict[str, Group]
    course_trips: dict[str, Group]
    held_by: float


@dataclass(frozen=True, slots=True)
class Standing:
    """Where values stand, each (rows,).

    Attributes:
        share_below: 0 to 1, share of earlier values below, equal ones counting half; NaN for a missing value.
        centre: the group's median, held towards the wider group's.
        spread: the group's robust standard deviation, held likewise.
        score: (value - centre) / spread.
        races: races of the same course and trip behind the answer.
    """

    share_below: NDArray[np.float64]
    centre: NDArray[np.float64]
    spread: NDArray[np.float64]
    score: NDArray[np.float64]
    races: NDArray[np.int64]


def _group(values: NDArray[np.float64], races: NDArray[np.str_]) -> Group:
    return Group(np.sort(values), len(np.unique(races)))


def _groups(values: NDArray[np.float64], races: NDArray[np.str_], labels: NDArray[np.str_]) -> dict[str, Group]:
    order = np.argsort(labels, kind="stable")
    names, first = np.unique(labels[order], return_index=True)
    parts = np.split(order, first[1:])
    return {str(name): _group(values[rows], races[rows]) for name, rows in zip(names, parts, strict=True)}


def learn_usual(
    values: ArrayLike,
    races: Sequence[str],
    course_trips: Sequence[str],
    trips: Sequence[str],
    held_by: float = 20.0,
) -> Usual:
    """Learn what is usual from earlier values.

    Args:
        values: (rows,) e.g. late speed against the whole race; missing ones are left out.
        races: (rows,) label of the race of each value.
        course_trips: (rows,) label of course, surface and distance.
        trips: (rows,) label of the wider group, e.g. distance alone.
        held_by: how many races of its own a group needs to count half.

    Raises:
        CannotFitError: no value is present.
    """
    v = np.asarray(values, dtype=np.float64)
    here = np.isfinite(v)
    if not here.any():
        raise CannotFitError(_("usual range"), _("there is no value to learn from"), _("give races with section times"))
    race, course, trip = (np.asarray(labels, dtype=np.str_)[here] for labels in (races, course_trips, trips))
    return Usual(_group(v[here], race), _groups(v[here], race, trip), _groups(v[here], race, course), held_by)


def _robust(group: Group) -> tuple[float, float]:
    centre = float(np.median(group.ordered))
    return centre, _MAD_TO_SD * float(np.median(np.abs(group.ordered - centre)))


def _share_below(group: Group, values: NDArray[np.float64]) -> NDArray[np.float64]:
    left = np.searchsorted(group.ordered, values, side="left")
    right = np.searchsorted(group.ordered, values, side="right")
    return np.asarray((left + right) / (2.0 * len(group.ordered)))


def stand(usual: Usual, values: ArrayLike, course_trips: Sequence[str], trips: Sequence[str]) -> Standing:
    """Judge values against what is usual for their course and trip.

    Args:
        usual: what was learnt from earlier races.
        values: (rows,) to be judged.
        course_trips: (rows,) labels as learnt; one never seen is judged by its trip alone.
        trips: (rows,) labels of the wider group; one never seen is judged against everything.
    """
    v = np.asarray(values, dtype=np.float64)
    share, centre, spread = np.empty((3, len(v)))
    races = np.zeros(len(v), dtype=np.int64)
    labels = np.array([course_trips, trips], dtype=np.str_).reshape(2, -1)
    pairs, which = np.unique(labels, axis=1, return_inverse=True)
    for number, (course_trip, trip) in enumerate(pairs.T):
        rows = np.flatnonzero(which.ravel() == number)
        own = usual.course_trips.get(str(course_trip))
        wider = usual.trips.get(str(trip))
        below = _share_below(usual.everything, v[rows])
        middle = np.array(_robust(usual.everything))
        for group in (wider, own):
            if group is not None:
                trust = group.races / (group.races + usual.held_by)
                below = trust * _share_below(group, v[rows]) + (1 - trust) * below
                middle = trust * np.array(_robust(group)) + (1 - trust) * middle
        share[rows], centre[rows], spread[rows] = below, middle[0], middle[1]
        races[rows] = 0 if own is None else own.races
    share = np.where(np.isfinite(v), share, np.nan)
    score = np.divide(v - centre, spread, out=np.full(len(v), np.nan), where=spread > 0)
    return Standing(share, centre, spread, score, races)
