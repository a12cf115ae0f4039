"""Legs: felt and as usual, or what was found on which limb, at which place; shoes; and "not right, ask the vet"."""

from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import NAMELESS, Choice, Choices, Names, Several, Text, Tick
from upsides.books.diary.kind import Kind

LIMBS: Final[Choices] = {
    "near_fore": gettext_lazy("near fore"),
    "off_fore": gettext_lazy("off fore"),
    "near_hind": gettext_lazy("near hind"),
    "off_hind": gettext_lazy("off hind"),
}
PLACES: Final[Choices] = {
    "foot": gettext_lazy("foot"),
    "coronet": gettext_lazy("coronet"),
    "pastern": gettext_lazy("pastern"),
    "fetlock": gettext_lazy("fetlock"),
    "tendon": gettext_lazy("tendon"),
    "cannon": gettext_lazy("cannon bone"),
    "knee": gettext_lazy("knee"),
    "hock": gettext_lazy("hock"),
    "above": gettext_lazy("above knee or hock"),
}
SIDES: Final[Choices] = {
    "front": gettext_lazy("front"),
    "back": gettext_lazy("back"),
    "inside": gettext_lazy("inside"),
    "outside": gettext_lazy("outside"),
}
SIGNS: Final[Choices] = {
    "heat": gettext_lazy("heat"),
    "filling": gettext_lazy("filling"),
    "sore": gettext_lazy("sore to the touch"),
    "wound": gettext_lazy("wound"),
    "knock": gettext_lazy("knock"),
    "other": gettext_lazy("something else"),
}
HOW_MUCH: Final[Choices] = {
    "slight": gettext_lazy("slight"),
    "plain": gettext_lazy("plain"),
    "marked": gettext_lazy("marked"),
}
SHOES: Final[Choices] = {
    "lost": gettext_lazy("lost"),
    "loose": gettext_lazy("loose"),
    "sprung": gettext_lazy("sprung or twisted"),
    "clenches": gettext_lazy("clenches risen"),
    "worn": gettext_lazy("worn"),
    "other": gettext_lazy("something else"),
}


@dataclass(frozen=True, slots=True)
class LegsFelt(Kind):
    """Somebody felt all four legs and found them as usual."""

    name = "legs_felt"
    title = gettext_lazy("Legs felt, as usual")
    group = "legs"

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return the entry as a sentence."""
        return _("Legs felt: as usual.")


@dataclass(frozen=True, slots=True)
class Leg(Kind):
    """What was found on one limb.

    Args:
        limb: of `LIMBS`.
        place: of `PLACES`.
        signs: of `SIGNS`, at least one.
        side: of `SIDES`, None where it is all round.
        how_much: of `HOW_MUCH`.
        text: more, in words.
    """

    limb: str
    place: str
    signs: list[str]
    side: str | None = None
    how_much: str | None = None
    text: str | None = None

    name = "leg"
    title = gettext_lazy("Leg")
    group = "legs"
    fields = (
        Choice(name="limb", label=gettext_lazy("Which leg"), options=LIMBS, bare=True),
        Choice(name="place", label=gettext_lazy("Where on it"), options=PLACES, bare=True),
        Choice(name="side", label=gettext_lazy("Which side of it"), options=SIDES, needed=False, bare=True),
        Several(name="signs", label=gettext_lazy("What"), options=SIGNS, bare=True),
        Choice(name="how_much", label=gettext_lazy("How much"), options=HOW_MUCH, needed=False, bare=True),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=400),
    )

    def check(self) -> None:
        """Refuse a hock of a foreleg, and a knee of a hind one."""
        other = "hock" if self.limb.endswith("fore") else "knee"
        if self.place == other:
            raise self.fields[1].refused(str(PLACES[other]), "this leg has none", "look at which leg it is")


@dataclass(frozen=True, slots=True)
class Shoe(Kind):
    """What is wrong with a shoe. It says nothing of the foot under it.

    Args:
        wrong: of `SHOES`, at least one.
        feet: of `LIMBS`; none where nobody said which.
        text: more, in words.
    """

    wrong: list[str]
    feet: list[str] = field(default_factory=list)
    text: str | None = None

    name = "shoe"
    title = gettext_lazy("Shoe")
    group = "legs"
    fields = (
        Several(name="wrong", label=gettext_lazy("What is wrong with it"), options=SHOES, bare=True),
        Several(name="feet", label=gettext_lazy("Which foot"), options=LIMBS, needed=False, bare=True),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=400),
    )


@dataclass(frozen=True, slots=True)
class NotRight(Kind):
    """Something is not right with the horse, and whether the vet is asked for. It says nothing of what it is.

    Args:
        limb: which leg, None where it is no leg, or nobody can say.
        ask_vet: whether the vet shall look.
        text: what was seen.
    """

    limb: str | None = None
    ask_vet: bool = False
    text: str | None = None

    name = "not_right"
    title = gettext_lazy("Not right")
    group = "legs"
    fields = (
        Choice(name="limb", label=gettext_lazy("Which leg"), options=LIMBS, needed=False, bare=True),
        Tick(name="ask_vet", label=gettext_lazy("Ask the vet")),
        Text(name="text", label=gettext_lazy("What you saw"), needed=False, longest=400),
    )
