"""What riding takes of a person: born, weight, skill, a jockey's claim and least weight; read as people type them."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil

from upsides.books.models import Skill
from upsides.errors import RidingRefusedError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.trade.units import POUND
from upsides.trade.weight import Weight

OLDEST = 110
LIGHTEST_KG, HEAVIEST_KG = 25.0, 150.0
HIGHEST_CLAIM_LB = 14
"""Beyond this a claim is a slip: 10 lb is the most that is met with (common practice, no source)."""
LEAST_LB, MOST_LB = 70, 200


@dataclass(frozen=True, slots=True)
class Riding:
    """What riding takes; None for what was not said.

    Args:
        born: day of birth.
        weight_kg: weight as last said, kg.
        skill: what the person rides, a value of `Skill`.
        claim_lb: a jockey's claim, lb.
        minimum_lb: the least weight that a jockey rides at, lb.
    """

    born: date | None = None
    weight_kg: float | None = None
    skill: int = Skill.UNKNOWN
    claim_lb: int | None = None
    minimum_lb: int | None = None


NOTHING = Riding()


def read_riding(born: date | None, weight: str, skill: str | int, claim: str, minimum: str, *, today: date) -> Riding:
    """Read what riding takes as typed; an empty text says nothing.

    Raises:
        RidingRefusedError: one of them cannot be right; it is named.
    """
    if (
        born is not None
        and not 0 <= today.year - born.year - ((today.month, today.day) < (born.month, born.day)) <= OLDEST
    ):
        raise RidingRefusedError(_("born"), _("nobody here was born on {born:%d %B %Y}; check the year", born=born))
    return Riding(born, _weight_kg(weight), int(skill or Skill.UNKNOWN), _claim(claim), _minimum(minimum))


def typed(weight_kg: float | None) -> str:
    """Return a weight so that reading it gives the same number: 9-2 where it is that, else 58 kg; empty for none."""
    if weight_kg is None:
        return ""
    halves = round(weight_kg / float(POUND) * 2)
    stones = Weight.from_stones(0, Fraction(halves, 2))
    return str(stones) if stones.kilograms == weight_kg else str(Weight.from_kilograms(weight_kg))


def typed_lb(pounds: int | None) -> str:
    """Return whole pounds as 8-4, empty for none."""
    return "" if pounds is None else str(Weight.from_stones(0, pounds))


def _weight_kg(text: str) -> float | None:
    found = _read(_("weight"), text)
    if found is not None and not LIGHTEST_KG <= found.kilograms <= HEAVIEST_KG:
        raise RidingRefusedError(
            _("weight"), _("a rider does not weigh {text!r}; write 9-2, 128 lb or 58 kg", text=text.strip())
        )
    return None if found is None else found.kilograms


def _claim(text: str) -> int | None:
    if not text.strip():
        return None
    digits = text.strip().lower().removesuffix("lb").strip()
    if not digits.isdecimal() or not 1 <= int(digits) <= HIGHEST_CLAIM_LB:
        raise RidingRefusedError(_("claim"), _("a claim is not {text!r}; write whole pounds, as 7", text=text.strip()))
    return int(digits)


def _minimum(text: str) -> int | None:
    """Return the least weight in whole pounds, rounded up: the rider cannot do less."""
    found = _read(_("minimum"), text)
    if found is None:
        return None
    pounds = ceil(found.mass / POUND)
    if not LEAST_LB <= pounds <= MOST_LB:
        raise RidingRefusedError(
            _("minimum"), _("nobody rides at {text!r}; write 8-4, 116 lb or 53 kg", text=text.strip())
        )
    return pounds


def _read(field: str, text: str) -> Weight | None:
    if not text.strip():
        return None
    try:
        return Weight.parse(text)
    except UnreadableError as error:
        raise RidingRefusedError(field, str(error)) from None
