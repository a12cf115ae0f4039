"""Body mass and condition: a tape, a change a week, a score against the yard's wish."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.feeding.checking import checked, checked_mass

How = Literal["scale", "tape"]


@dataclass(frozen=True, slots=True)
class Weighing:
    """A horse's mass on a day.

    Attributes:
        day: when.
        kg: body mass.
        how: "scale", or "tape", which is not a scale.
    """

    day: date
    kg: float
    how: How = "scale"

    def __post_init__(self) -> None:
        checked_mass(self.kg)
        if self.how not in {"scale", "tape"}:
            raise FeedingRefusedError(_("weighed by"), self.how, _("there is no such way"), _("scale or tape"))


def taped_kilograms(girth_cm: float, length_cm: float) -> float:
    """Return kg by the tape: girth^2 x length / 11880. It is not a scale: use it for the trend only.

    Args:
        girth_cm: round the chest, behind the withers.
        length_cm: from the point of the shoulder to the point of the buttock.

    Source: Carroll and Huntington 1988 (the attribution is from memory, the constant was verified).

    Raises:
        FeedingRefusedError: a measure that no horse has.
    """
    girth, length = checked(_("girth"), girth_cm, 60, 280, _("cm")), checked(_("length"), length_cm, 60, 280, _("cm"))
    return girth**2 * length / 11880


def taped_pounds(girth_in: float, length_in: float) -> float:
    """Return lb by the tape: girth^2 x length / 330, both in inches. It is not a scale: use it for the trend only.

    The constant is rounded for itself, so that it differs by a third of a per cent from the one for centimetres.

    Source: extension leaflets; the constant was verified.

    Raises:
        FeedingRefusedError: a measure that no horse has.
    """
    girth, length = (
        checked(_("girth"), girth_in, 24, 110, _("inches")),
        checked(_("length"), length_in, 24, 110, _("inches")),
    )
    return girth**2 * length / 330


def change_a_week(first: Weighing, second: Weighing) -> float:
    """Return the change of mass in per cent of the first a week: 100 (M2/M1 - 1) 7 / days.

    Raises:
        FeedingRefusedError: the second is not later, or one is by scale and the other by tape.
    """
    days = (second.day - first.day).days
    if days <= 0:
        raise FeedingRefusedError(
            _("second weighing"), second.day, _("it is not after {day}", day=first.day), _("give them in order")
        )
    if first.how != second.how:
        reason = _("it is by {how} and the first by {how_of_first}", how=second.how, how_of_first=first.how)
        raise FeedingRefusedError(_("second weighing"), second.day, reason, _("compare like with like"))
    return 100 * (second.kg / first.kg - 1) * 7 / days


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition score against the yard's wish; no diagnosis.

    Attributes:
        score: 1 to 9 in halves.
        says: how it stands to the wish.
        off: how far outside the wish, in points; negative below, 0 within.
    """

    score: float
    says: Literal["below the wish", "within the wish", "above the wish"]
    off: float


def condition(score: float, wish: tuple[float, float]) -> Condition:
    """Return what a condition score says of the yard's wish.

    The scale runs from 1 (poor) to 9 (extremely fat): Henneke and others 1983.

    Args:
        score: 1 to 9, whole or half.
        wish: lowest and highest score that the yard wants.

    Raises:
        FeedingRefusedError: a score that is not on the scale, or a wish the wrong way round.
    """
    low, high = (_on_scale(_("condition wanted"), value) for value in wish)
    if low > high:
        raise FeedingRefusedError(
            _("condition wanted"),
            _("{low:g} to {high:g}", low=low, high=high),
            _("the lower comes first"),
            _("turn it round"),
        )
    if _on_scale(_("condition score"), score) < low:
        return Condition(score, "below the wish", score - low)
    if score > high:
        return Condition(score, "above the wish", score - high)
    return Condition(score, "within the wish", 0.0)


def _on_scale(field: str, score: float) -> float:
    value = checked(field, score, 1, 9, _("points"))
    if value * 2 != round(value * 2):
        raise FeedingRefusedError(field, score, _("the scale has whole and half points"), _("round it to a half"))
    return value
