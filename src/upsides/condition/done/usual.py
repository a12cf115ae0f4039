"""What an exercise comes to in this yard: the mean of its measured outings, drawn to a table while they are few."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.condition.done.exercises import Exercise
from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _
from upsides.recordings.bouts.bins import COUNT

Floats = NDArray[np.float64]

WORTH: Final = 2.0
"""The table counts for as much as so many measured outings; our own choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Usual:
    """What exercises come to, E of them.

    Attributes:
        exercises: the table, by word of the diary; its order is that of the rows.
        metres: (E, COUNT) by step of speed, of a whole outing.
        measured: (E,) how many measured outings went in; 0 where the table alone speaks.
    """

    exercises: Mapping[str, Exercise]
    metres: Floats
    measured: Floats

    def place(self, exercise: str) -> int:
        """Return which row an exercise is.

        Raises:
            ConditionRefusedError: there is no such exercise.
        """
        names = list(self.exercises)
        if exercise not in self.exercises:
            raise ConditionRefusedError(
                "exercise", exercise, _("it is not in the table"), _("use {names}", names=", ".join(names))
            )
        return names.index(exercise)

    def outing(self, exercise: str, metres: float | None = None) -> Floats:
        """Return (COUNT,) metres by step of speed of an outing, its part at pace brought to a distance if one is given.

        Raises:
            ConditionRefusedError: there is no such exercise.
        """
        row = self.place(exercise)
        part = self.metres[row] * self.at_pace[row]
        there = part.sum()
        scale = 1.0 if metres is None or there <= 0 else metres / there
        return np.asarray(self.metres[row] - part + scale * part)

    @property
    def at_pace(self) -> Floats:
        """Return (E, COUNT) which steps belong to the part at pace, as 0 and 1."""
        return np.array([one.at_pace if one.parts else np.zeros(COUNT) for one in self.exercises.values()])

    @property
    def pace_ms(self) -> Floats:
        """Return (E,) speed of the part at pace as the table has it, m/s."""
        return np.array([one.pace_ms for one in self.exercises.values()])


def usual(table: Mapping[str, Exercise], did: Sequence[str] = (), metres: Floats | None = None) -> Usual:
    """Return what exercises come to.

    Args:
        table: what they come to before anything was measured.
        did: of m measured outings, which exercise each was; "" and words that are not in the table say nothing, nor
            do exercises without parts: a horse that was measured on its day off did not have one.
        metres: (m, COUNT) of the same, by step of speed.
    """
    names = list(table)
    totals = WORTH * np.array([one.profile for one in table.values()])
    place = {name: row for row, name in enumerate(names) if table[name].parts}
    rows = np.array([place.get(one, -1) for one in did], dtype=np.int64)
    count = np.bincount(rows[rows >= 0], minlength=len(names)).astype(np.float64)
    if metres is not None:
        np.add.at(totals, rows[rows >= 0], metres[rows >= 0])
    return Usual(table, totals / (WORTH + count)[:, None], count)
