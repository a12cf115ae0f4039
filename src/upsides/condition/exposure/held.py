"""Which published figures a horse's own sums have reached or are near to, each told as what it is.

Nothing is multiplied, added up or coloured. Below every border is no promise either: the figures come from groups of
horses, they go against each other, and most horses that reached one came to no harm.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

import numpy as np

from upsides.condition.done.summary import Yard
from upsides.condition.exposure.figures import Figure, Part, figures
from upsides.condition.exposure.own import GIVEN_NONE, SUMMED, Floats, Own, own
from upsides.trade.units import FURLONG_M

Standing = Literal["reached", "near", "not reached", "past", "no border", "not known"]
NEAR: Final = 0.1
"""A number is near a border within a tenth of it, and at a peak within a tenth; our own choice."""


@dataclass(frozen=True, slots=True)
class HeldPart:
    """One number of a figure beside the horse's own.

    Attributes:
        part: what is counted, with the published number.
        own: the horse's; None where not known.
        standing: how it stands to the published number.
        measured: share of the metres that were measured, None for what is not in metres.
        whole: whether the yard knew the horse over the whole window; else `own` is the least that it did.
    """

    part: Part
    own: float | None
    standing: Standing
    measured: float | None
    whole: bool

    @property
    def own_told(self) -> float | None:
        """The horse's number in the study's unit."""
        return self._told(self.own)

    @property
    def published_told(self) -> float | None:
        """The published number in the study's unit."""
        return self._told(self.part.value)

    def _told(self, value: float | None) -> float | None:
        return value / FURLONG_M if value is not None and self.part.unit == "furlongs" else value


@dataclass(frozen=True, slots=True)
class Held:
    """A figure held against a horse on a day.

    Attributes:
        figure: as it was published.
        standing: of all its parts together.
        parts: each beside the horse's own number.
        against: the figures that disagree with it.
    """

    figure: Figure
    standing: Standing
    parts: tuple[HeldPart, ...]
    against: tuple[Figure, ...]


def string_held(
    yard: Yard,
    horses: Sequence[int],
    on: date,
    ages: Sequence[int | None],
    given: Mapping[str, Floats] = GIVEN_NONE,
    near: float = NEAR,
    until: date | None = None,
) -> tuple[tuple[Held, ...], ...]:
    """Return every figure for every horse, in the order of the horses; for one of another age it is left out.

    Args:
        yard: what was done.
        horses: their places.
        on: the day.
        ages: of the horses, by the calendar of racing; None where not known, which leaves no figure out.
        given: (m,) numbers by quantity that do not follow from what was done (`upsides.condition.exposure.own`).
        near: which share of a border is near to it.
        until: the last day of sums of metres, where `on` is not over; days since anything count to `on`.
    """
    horse = np.asarray(horses, dtype=np.int64)
    day, last = (np.full(horse.shape, one.toordinal()) for one in (on, until or on))
    numbers = [
        [own(part, yard, horse, last if part.quantity in SUMMED else day, given) for part in one.parts]
        for one in figures()
    ]
    by_key = {one.key: one for one in figures()}
    told = []
    for k in range(horse.size):
        listed = []
        for one, counted in zip(figures(), numbers, strict=True):
            if one.ages and ages[k] is not None and ages[k] not in one.ages:
                continue
            parts = tuple(_part(part, n, k, near) for part, n in zip(one.parts, counted, strict=True))
            listed.append(Held(one, _together(parts), parts, tuple(by_key[key] for key in one.disagrees)))
        told.append(tuple(listed))
    return tuple(told)


def of_note(held: Sequence[Held]) -> tuple[Held, ...]:
    """Return the figures that are reached, then those that are near."""
    return tuple(one for standing in ("reached", "near") for one in held if one.standing == standing)


def _part(part: Part, numbers: Own, k: int, near: float) -> HeldPart:
    """Return the k-th horse's number beside the published one."""
    value, measured = float(numbers.value[k]), float(numbers.measured[k])
    whole = bool(numbers.whole[k])
    resting, idle = bool(numbers.resting[k]), bool(numbers.idle[k])
    standing = _of_resting(part, idle=idle) if resting else _standing(part, value, near, whole=whole)
    known, share = (one if np.isfinite(one) else None for one in (value, measured))
    return HeldPart(part, known, standing, share, whole)


def _of_resting(part: Part, *, idle: bool) -> Standing:
    """Return how a horse stands that is in a lay-up: near its end is one that works already."""
    return "near" if part.relation == "within" and not idle else "not reached"


def _standing(part: Part, value: float, near: float, *, whole: bool) -> Standing:
    if part.relation == "no border":
        return "no border"
    if not np.isfinite(value) or part.value is None:
        return "not known"
    border = part.value
    match part.relation:
        case "within":
            bands: tuple[tuple[bool, Standing], ...] = ((value <= border, "reached"), (True, "past"))
        case "none":
            bands = ((value >= FURLONG_M, "past"), (value >= 1.0, "near"), (whole, "reached"), (True, "not known"))
        case "about":
            off = abs(value / border - 1.0)
            bands = ((off <= near, "reached"), (off <= 2 * near, "near"), (value > border, "past"))
        case _:
            most = np.inf if part.most is None else part.most
            bands = ((value > most, "past"), (value > border, "reached"), (value >= (1.0 - near) * border, "near"))
    return next((standing for there, standing in bands if there), "not reached")


_FIRST: Final[tuple[Standing, ...]] = ("not known", "not reached", "past", "no border", "near", "reached")
"""Of the parts of a figure the first of these stands for all."""


def _together(parts: Sequence[HeldPart]) -> Standing:
    """Return the standing of all parts: reached where all are, near where all are that or reached."""
    return min((one.standing for one in parts), key=_FIRST.index)
