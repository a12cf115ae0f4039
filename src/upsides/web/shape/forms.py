"""What is filled in about the shape of a horse."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books import clock
from upsides.books.diary.shape import Shape
from upsides.books.diary.trait_words import WORDS, Words
from upsides.books.models import Entry, Horse, Person
from upsides.books.services.diary import Draft
from upsides.errors import EntryMissingError, EntryRefusedError
from upsides.errors.wording import gettext
from upsides.trip.traits import HIGHEST, LOWEST, MIDDLE
from upsides.web.diary.forms import client_id

GROUPS: Final = (
    (gettext_lazy("The whole horse"), ("frame", "barrel", "body_weight", "leg_length")),
    (gettext_lazy("In front"), ("neck_length", "shoulder_slope", "shoulder_weight", "forearm")),
    (gettext_lazy("Back and quarters"), ("back_length", "loin", "quarters", "second_thigh")),
    (gettext_lazy("Limbs"), ("bone", "knees", "hock_height", "hock_angle", "pasterns", "toes")),
    (gettext_lazy("On the move"), ("walk",)),
)
"""The traits as a page asks for them, in the order in which an eye goes over a horse."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One trait as the form asks for it.

    Args:
        name: the trait's name.
        words: the trait in words.
        value: the score that stands in it, empty for none.
        before: what the same person scored before, in words; empty for nothing.
    """

    name: str
    words: Words
    value: str
    before: str

    @property
    def field(self) -> str:
        """Return its name in the form."""
        return f"{Shape.name}-{self.name}"

    @property
    def choices(self) -> list[tuple[str, str]]:
        """Return each score with its words; only the ends and the middle have some."""
        ends = {LOWEST: self.words.low, MIDDLE: _("average"), HIGHEST: self.words.high}
        plain = [(score, ends.get(score)) for score in range(LOWEST, HIGHEST + 1)]
        return [
            (str(score), _("%(score)s, %(words)s") % {"score": score, "words": words} if words else str(score))
            for score, words in plain
        ]


def asked(values: Mapping[str, str], before: Mapping[str, str]) -> list[tuple[str, list[Asked]]]:
    """Return the groups of traits with what stands in them, and what the person scored before, by name of trait."""
    return [
        (str(title), [Asked(name, WORDS[name], values.get(name, ""), before.get(name, "")) for name in names])
        for title, names in GROUPS
    ]


def typed_scores(typed: Mapping[str, str]) -> dict[str, str]:
    """Return what was chosen for each trait, by its name; empty where it was not scored."""
    return {name: typed.get(f"{Shape.name}-{name}", "") for name in WORDS}


def draft_of(typed: Mapping[str, str], horse: Horse, who: Person) -> Draft:
    """Return the entry that the form asks for: a new one, or a correction of one's own.

    Raises:
        EntryRefusedError: a number or a time in it is none.
        EntryMissingError: what it corrects is no entry of this person about this horse's shape.
    """
    corrects = typed.get("corrects", "")
    own = Entry.objects.filter(kind=Shape.name, author=who, horse=horse)
    if corrects and not own.filter(client_id=client_id({"client_id": corrects})).exists():
        raise EntryMissingError(corrects)
    return Draft(
        client_id=client_id(typed),
        kind=Shape.name,
        horse=horse.pk,
        values=typed_scores(typed),
        made_at=clock.now(),
        happened_at=seen_at(typed.get("seen", ""), horse),
        supersedes=client_id({"client_id": corrects}) if corrects else None,
    )


def seen_at(text: str, horse: Horse) -> datetime | None:
    """Return when the horse was seen, in the yard's own time; None for now.

    Raises:
        EntryRefusedError: it is no time, is still to come, or lies before the horse was foaled.
    """
    if not text.strip():
        return None
    field = _("when you saw it")
    try:
        when = datetime.fromisoformat(text.strip())
    except ValueError:
        raise EntryRefusedError(
            field, text[:40], gettext("it is no time"), gettext("write it like 2026-06-01T17:30")
        ) from None
    when = when if when.tzinfo else when.replace(tzinfo=clock.place().zone)
    if when > clock.now():
        raise EntryRefusedError(field, text[:40], gettext("that is still to come"), gettext("leave it empty for now"))
    if when.year < horse.foaled:
        raise EntryRefusedError(
            field, text[:40], gettext("it was foaled in {foaled}", foaled=horse.foaled), gettext("look at the year")
        )
    return when
