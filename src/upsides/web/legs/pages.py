"""What the page about a horse's legs shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from upsides.books.diary.legs import LIMBS, Leg, LegsFelt, NotRight, Shoe
from upsides.books.diary.vet import SCALES, Lameness
from upsides.books.models import Horse
from upsides.books.queries import legs as reads
from upsides.books.queries.diary import Written
from upsides.books.queries.legs import Said
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.web.legs import sentences
from upsides.web.legs.drawing import Spot
from upsides.web.legs.templatetags.legs import Side, legs_by_side


@dataclass(frozen=True, slots=True)
class Shown:
    """One spot of the picture.

    Args:
        spot: where.
        half: which half something was found on: front, back, all; empty for none.
        age: newest, of the last day on which something was found, or older; empty for none.
    """

    spot: Spot
    half: str
    age: str


@dataclass(frozen=True, slots=True)
class Limb:
    """One limb of the picture: what it is called, whether anything was said of it, its spots from above downwards."""

    title: str
    told: bool
    spots: Sequence[Shown]


@dataclass(frozen=True, slots=True)
class Line:
    """A finding in words: where and what, how long ago, the entry."""

    where: str
    what: str
    ago: str
    entry: Written


def legs_page(horse: Horse, moment: Moment, who: Visitor) -> dict[str, Any]:
    """Return the page of a horse's legs."""
    said = reads.legs_of(horse.pk, moment, who)
    findings = [one for one in said if one.limb]
    return {
        "moment": moment,
        "horse": horse,
        "sentence": sentences.about_legs(said, reads.last_before(horse.pk, moment, said)),
        "sides": [(side.title, [_limb(limb, findings) for limb in _names(side)]) for side in legs_by_side()],
        "lines": [_line(one) for one in findings],
        "sections": _sections(said),
        "weeks": reads.WEEKS,
    }


def _names(side: Side) -> list[tuple[str, Sequence[Spot]]]:
    return [(limb.name, limb.spots) for limb in side.limbs]


def _limb(named: tuple[str, Sequence[Spot]], findings: Sequence[Said]) -> Limb:
    name, spots = named
    of_it = [one for one in findings if one.limb == name]
    last = max((one.day for one in findings if isinstance(one.kind, Leg)), default=None)
    shown = []
    for spot in spots:
        there = [one for one in of_it if isinstance(one.kind, Leg) and one.kind.place == spot.place]
        age = "newest" if any(one.day == last for one in there) else "older" if there else ""
        shown.append(Shown(spot, _half(spot, there), age))
    return Limb(str(LIMBS[name]), bool(of_it), shown)


def _half(spot: Spot, there: Sequence[Said]) -> str:
    """Return the half that findings of one spot are on; all of it where they differ, name none, or it is a half."""
    sides = {getattr(one.kind, "side", None) for one in there if spot.place not in {"cannon", "tendon"}}
    return sides.pop() or "all" if len(sides) == 1 and sides <= {"front", "back"} else "all" if there else ""


def _line(one: Said) -> Line:
    return Line(sentences.where(one.kind), sentences.what(one.kind), sentences.ago(one.days), one.entry)


def _sections(said: Sequence[Said]) -> list[tuple[str, list[Written]]]:
    """Return all entries under what they are; grades of lameness by the scale that the vet used."""
    legs = [one.entry for one in said if isinstance(one.kind, Leg | LegsFelt)]
    not_right = [one.entry for one in said if isinstance(one.kind, NotRight)]
    by_scale = [
        (
            _("Lameness on the scale %(scale)s") % {"scale": words},
            [one.entry for one in said if isinstance(one.kind, Lameness) and one.kind.scale == scale],
        )
        for scale, words in SCALES.items()
    ]
    shoes = [one.entry for one in said if isinstance(one.kind, Shoe)]
    sections = [(_("Legs felt"), legs), (_("Shoes"), shoes), (_("Not right"), not_right), *by_scale]
    return [(title, entries) for title, entries in sections if entries]
