"""Work: what was ordered for a morning, what was done, the stalls, the rider's word."""

from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import Choice, Choices, Day, Line, Number, Row, Several, Span, Text
from upsides.books.diary.kind import Kind
from upsides.books.models import Role

ORDERERS: Final = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON})
"""Roles that order work."""
EXERCISES: Final[Choices] = {
    "off": gettext_lazy("day off"),
    "box": gettext_lazy("box rest"),
    "led": gettext_lazy("led out"),
    "walker": gettext_lazy("walker"),
    "turned_out": gettext_lazy("turned out"),
    "swim": gettext_lazy("swim"),
    "walk": gettext_lazy("walk"),
    "trot": gettext_lazy("trot"),
    "hack_canter": gettext_lazy("hack canter"),
    "steady_canter": gettext_lazy("long steady canter"),
    "half_speed": gettext_lazy("half-speed"),
    "fast": gettext_lazy("fast work"),
    "stalls": gettext_lazy("stalls"),
    "race": gettext_lazy("race"),
}
"""Exercises, from least to most."""
UNRIDDEN: Final = frozenset({"off", "box", "led", "walker", "turned_out", "swim"})
"""Exercises without a rider."""
FAST: Final = frozenset({"half_speed", "fast", "race"})
"""Exercises that count as fast."""
ALLOWED: Final = {
    "as_usual": frozenset(EXERCISES),
    "no_fast_work": frozenset(EXERCISES) - FAST,
    "trot": frozenset({"off", "box", "led", "walker", "walk", "trot"}),
    "walk": frozenset({"off", "box", "led", "walker", "walk"}),
    "led": frozenset({"off", "box", "led"}),
    "box": frozenset({"off", "box"}),
    "turned_out": frozenset({"off", "turned_out"}),
}
"""Exercises that a vet's advice leaves open, by advice."""
STALLS: Final[Choices] = {
    "walked_through": gettext_lazy("walked through"),
    "stood": gettext_lazy("stood"),
    "shut": gettext_lazy("stood with the gates shut"),
    "walked_out": gettext_lazy("walked out"),
    "jumped": gettext_lazy("jumped"),
    "company": gettext_lazy("in company"),
    "test": gettext_lazy("stalls test"),
}
HOW: Final[Choices] = {
    "composed": gettext_lazy("composed"),
    "uneasy": gettext_lazy("uneasy"),
    "refused": gettext_lazy("would not go in"),
}
BROKE: Final[Choices] = {
    "quick": gettext_lazy("broke quickly"),
    "level": gettext_lazy("broke level"),
    "slow": gettext_lazy("broke slowly"),
}
FELT: Final[Choices] = {
    "usual": gettext_lazy("as usual"),
    "well": gettext_lazy("better than usual"),
    "flat": gettext_lazy("flat"),
    "keen": gettext_lazy("too keen"),
    "uneven": gettext_lazy("did not feel level"),
}

_EXERCISE: Final = Choice(name="exercise", label=gettext_lazy("Exercise"), options=EXERCISES, bare=True)
_LOT: Final = Number(
    name="lot", label=gettext_lazy("Lot"), hint=gettext_lazy("1"), spans=(Span(1, 9, ""),), needed=False, kept_places=0
)
_GALLOP: Final = Row(name="gallop", label=gettext_lazy("Gallop"), of="gallop", needed=False)
_RIDER: Final = Row(name="rider", label=gettext_lazy("Rider"), of="person", roles=("rider",), needed=False)
_DISTANCE: Final = Number(
    name="furlongs",
    label=gettext_lazy("Distance"),
    hint=gettext_lazy("3.5 f, 7f or 1400 m"),
    spans=(Span(0.5, 40, "f", ("furlongs", "furlong")), Span(100, 8000, "m", ("metres",), factor=1 / 201.168)),
    needed=False,
)


@dataclass(frozen=True, slots=True)
class Ordered(Kind):
    """What a horse shall do on the day that the entry is for.

    Args:
        exercise: of `EXERCISES`.
        lot: which lot, None where it goes out on its own or not at all.
        place: its place in the string of that lot.
        gallop, rider: numbers.
        furlongs: how far at that pace.
        upsides: numbers of the horses that it works with.
        text: more, in words.
        moved_from: the day of its plan from which it was moved here by hand, None where it was not.
    """

    exercise: str
    lot: float | None = None
    place: float | None = None
    gallop: int | None = None
    rider: int | None = None
    furlongs: float | None = None
    upsides: list[int] = field(default_factory=list)
    text: str | None = None
    moved_from: str | None = None

    name = "ordered"
    title = gettext_lazy("Ordered")
    group = "work"
    offered = False
    by = ORDERERS
    fields = (
        _EXERCISE,
        _LOT,
        Number(
            name="place",
            label=gettext_lazy("Place in the string"),
            hint=gettext_lazy("4"),
            spans=(Span(1, 200, ""),),
            needed=False,
            kept_places=0,
        ),
        _GALLOP,
        _RIDER,
        _DISTANCE,
        Row(name="upsides", label=gettext_lazy("Upsides"), of="horse", many=True, needed=False),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=200),
        Day(name="moved_from", label=gettext_lazy("Moved from"), needed=False),
    )


@dataclass(frozen=True, slots=True)
class Exercise(Kind):
    """What a horse did.

    Args:
        exercise, lot, gallop, rider, furlongs, upsides, text: as of `Ordered`.
        tack: what tack was used, where more than one horse uses it.
    """

    exercise: str
    lot: float | None = None
    gallop: int | None = None
    rider: int | None = None
    furlongs: float | None = None
    upsides: list[int] = field(default_factory=list)
    tack: str | None = None
    text: str | None = None

    name = "exercise"
    title = gettext_lazy("Exercise done")
    group = "work"
    fields = (
        _EXERCISE,
        _LOT,
        _GALLOP,
        _RIDER,
        _DISTANCE,
        Row(name="upsides", label=gettext_lazy("Upsides"), of="horse", many=True, needed=False),
        Line(name="tack", label=gettext_lazy("Tack"), suggest="tack", needed=False, longest=60),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=400),
    )


@dataclass(frozen=True, slots=True)
class Stalls(Kind):
    """A lesson at the stalls.

    Args:
        done: of `STALLS`.
        how: of `HOW`.
        text: more, in words.
        broke: of `BROKE`, None where nobody said or it did not jump.
    """

    done: list[str]
    how: str | None = None
    text: str | None = None
    broke: str | None = None

    name = "stalls"
    title = gettext_lazy("Stalls")
    group = "work"
    fields = (
        Several(name="done", label=gettext_lazy("What it did"), options=STALLS, bare=True),
        Choice(name="how", label=gettext_lazy("How it was"), options=HOW, needed=False, bare=True),
        Choice(name="broke", label=gettext_lazy("How it broke"), options=BROKE, needed=False, bare=True),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=400),
    )


@dataclass(frozen=True, slots=True)
class RiderWord(Kind):
    """What the rider says of a ride. It is open to all who work there at once: a horse may not have felt level.

    Args:
        felt: of `FELT`.
        text: more, in words.
    """

    felt: str
    text: str | None = None

    name = "rider_word"
    title = gettext_lazy("Rider's word")
    group = "work"
    fields = (
        Choice(name="felt", label=gettext_lazy("It felt"), options=FELT, bare=True),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=400),
    )
