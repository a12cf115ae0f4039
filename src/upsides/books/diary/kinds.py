"""The kinds of entries. A new kind is a class in one of these modules and its place in `KINDS`."""

from collections.abc import Mapping
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from upsides.books.diary.clocked import Clocked
from upsides.books.diary.gene import GeneTest
from upsides.books.diary.kind import Kind
from upsides.books.diary.legs import Leg, LegsFelt, NotRight, Shoe
from upsides.books.diary.measured import Breathing, Condition, Mass, Pulse, Tape, Temperature
from upsides.books.diary.medicine import EggCount, Treatment, Vaccination, Worming
from upsides.books.diary.raced import RaceReport
from upsides.books.diary.seen import AsUsual, Droppings, FeedLeft, LookedAt, Mind, Note, Picture
from upsides.books.diary.shape import Shape
from upsides.books.diary.vet import Bloods, Farrier, Lameness, Scope, Teeth, VetFinding
from upsides.books.diary.work import Exercise, Ordered, RiderWord, Stalls
from upsides.books.diary.yard import Driven, GallopState, HorseAccident, PersonAccident, Travel, Weather
from upsides.errors import KindUnknownError

_LISTED: Final[tuple[type[Kind], ...]] = (
    LookedAt, AsUsual, Temperature, FeedLeft, NotRight, LegsFelt, Leg, Shoe, Droppings, Note,
    Mass, Pulse, Breathing, Tape, Condition, Mind,
    Exercise, Clocked, RiderWord, RaceReport, Stalls, Ordered,
    Treatment, Vaccination, Worming, EggCount,
    VetFinding, Lameness, Scope, Bloods, Teeth, Farrier,
    GallopState, Weather, Travel, Driven, HorseAccident, PersonAccident,
    Picture, Shape, GeneTest,
)  # fmt: skip

KINDS: Final[dict[str, type[Kind]]] = {kind.name: kind for kind in _LISTED}
"""The kinds by name, in the order in which pages offer them."""

GROUPS: Final[Mapping[str, str | Promise]] = {
    "seen": gettext_lazy("Seen"),
    "legs": gettext_lazy("Legs"),
    "measured": gettext_lazy("Measured"),
    "work": gettext_lazy("Work"),
    "medicine": gettext_lazy("Medicines"),
    "vet": gettext_lazy("Vet and farrier"),
    "yard": gettext_lazy("Yard"),
}
"""The headings under which pages offer kinds."""


def kind_of(name: str) -> type[Kind]:
    """Return a kind by its name.

    Raises:
        KindUnknownError: there is none.
    """
    if name not in KINDS:
        raise KindUnknownError(name, list(KINDS))
    return KINDS[name]


def read(name: str, values: Mapping[str, object]) -> Kind:
    """Return an entry's values, read by its kind.

    Raises:
        KindUnknownError: there is no such kind.
        EntryRefusedError: a value cannot be right.
    """
    return kind_of(name).parse(values)
