"""The picture of the legs, for templates.

- `{% legs_by_side as sides %}`: near side and off side with their limbs and spots, as they stand side by side
- `{% spot_words spot %}`: near fore, tendon
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django import template
from django.utils.translation import gettext as _

from upsides.books.diary.legs import LIMBS, PLACES
from upsides.web.legs.drawing import Spot, limbs

register = template.Library()


@dataclass(frozen=True, slots=True)
class Limb:
    """One limb: its name, what it is called, and its spots from above downwards."""

    name: str
    title: str
    spots: Sequence[Spot]


@dataclass(frozen=True, slots=True)
class Side:
    """What is seen from one side: what that is called, and its limbs as they stand from left to right."""

    title: str
    limbs: Sequence[Limb]


@register.simple_tag
def legs_by_side() -> list[Side]:
    """Return both sides: the horse looks to the left from its near side, to the right from its off side."""
    near, off = ("near_fore", "near_hind"), ("off_hind", "off_fore")
    return [Side(_("Near side"), [_limb(name) for name in near]), Side(_("Off side"), [_limb(name) for name in off])]


@register.simple_tag
def spot_words(spot: Spot) -> str:
    """Return where a spot is: near fore, tendon."""
    return _("%(limb)s, %(place)s") % {"limb": LIMBS[spot.limb], "place": PLACES[spot.place]}


def _limb(name: str) -> Limb:
    return Limb(name, str(LIMBS[name]), limbs()[name])
