"""The shape of a horse as one person scored it: a kind of entry with a page of its own."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Self

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import NAMELESS, Names
from upsides.books.diary.kind import Kind
from upsides.books.diary.trait_words import WORDS
from upsides.errors import EntryRefusedError, ShapeScoreError
from upsides.errors.wording import gettext
from upsides.trip.traits import MIDDLE, TRAITS, read_score

CLEAR: Final = 2
"""A score this far from the middle is named."""
MOST: Final = 6
"""Most traits named in a sentence."""

_BY_NAME: Final = {trait.name: trait for trait in TRAITS}


@dataclass(frozen=True, slots=True)
class Shape(Kind):
    """What one person sees in a horse's shape.

    It is a judgement: what others saw is read by those only who have scored the same horse. The diary's own form does
    not offer it, because a trait is scored between two ends that have to stand beside it; it has a page of its own.

    Args:
        scores: 1 to 9 by name of trait; a trait that was not scored is not there, whatever it would most likely be.
    """

    scores: Mapping[str, int]

    name = "shape"
    title = gettext_lazy("Shape")
    offered = False
    judgement = True

    @classmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read scores by name of trait; an empty one was not scored."""
        for name in values.keys() - _BY_NAME.keys():
            reason = gettext("there is no such trait of a horse's shape")
            raise EntryRefusedError(str(name)[:40], str(values[name])[:40], reason, gettext("leave it out"))
        given = {name: values[name] for name in _BY_NAME if values.get(name, "") != ""}
        if not given:
            raise EntryRefusedError(gettext("shape"), "", gettext("no trait was scored"), gettext("score at least one"))
        try:
            return cls({name: read_score(_BY_NAME[name], typed) for name, typed in given.items()})
        except ShapeScoreError as error:
            raise EntryRefusedError(error.trait, error.typed, error.reason, error.remedy) from None

    @classmethod
    def kept_as(cls, values: Mapping[str, Any]) -> Self:
        """Return an entry from what the diary keeps."""
        return cls(dict(values))

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return what is far from the middle, furthest first, and how much was scored."""
        told = self._counted() | {"named": ", ".join(named(self.scores))}
        if told["named"]:
            return _("Shape: %(named)s; %(scored)s of %(traits)s traits scored.") % told
        return _("Shape: nothing far from the average; %(scored)s of %(traits)s traits scored.") % told

    def outline(self) -> str:
        """Return how much was scored and nothing of what."""
        return _("Shape: %(scored)s of %(traits)s traits scored.") % self._counted()

    def kept(self) -> dict[str, Any]:
        """Return the scores by name of trait."""
        return dict(self.scores)

    def typed(self) -> dict[str, str]:
        """Return each score as somebody would type it."""
        return {name: str(score) for name, score in self.scores.items()}

    def _counted(self) -> dict[str, Any]:
        return {"scored": len(self.scores.keys() & _BY_NAME.keys()), "traits": len(TRAITS)}


def named(scores: Mapping[str, float], most: int = MOST) -> list[str]:
    """Return in words the traits that lie 2 or more from the middle, furthest first: strong quarters, upright shoulder.

    Args:
        scores: points by name of trait, those of one person or means; a trait that is no longer scored is passed over.
        most: how many at most.
    """
    off = {name: scores[name] - MIDDLE for name in _BY_NAME if abs(scores.get(name, MIDDLE) - MIDDLE) >= CLEAR}
    first = sorted(off, key=lambda name: -abs(off[name]))[:most]
    return [str(WORDS[name].as_high if off[name] > 0 else WORDS[name].as_low) for name in first]
