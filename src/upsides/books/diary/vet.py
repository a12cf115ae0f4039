"""What the vet, the farrier and the laboratory find. Nothing here is judged by the program."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Self

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.blood import Analyte, read_lines
from upsides.books.diary.fields import NAMELESS, Choice, Choices, Day, Line, Names, Number, Row, Several, Span, Text
from upsides.books.diary.kind import Kind
from upsides.books.diary.legs import LIMBS
from upsides.books.models import Role

MEDICAL: Final = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON, Role.SECRETARY, Role.VET})
"""Roles that write down what a vet found or gave."""
ADVICE: Final[Choices] = {
    "as_usual": gettext_lazy("carry on as usual"),
    "no_fast_work": gettext_lazy("no fast work"),
    "trot": gettext_lazy("walk and trot only"),
    "walk": gettext_lazy("walk only"),
    "led": gettext_lazy("led out only"),
    "box": gettext_lazy("box rest"),
    "turned_out": gettext_lazy("turned out"),
}
"""What a vet allows, from most to least."""
SCALES: Final[Choices] = {"5": gettext_lazy("0 to 5"), "10": gettext_lazy("0 to 10")}
GAITS: Final[Choices] = {"walk": gettext_lazy("at the walk"), "trot": gettext_lazy("at the trot")}
SURFACES: Final[Choices] = {"hard": gettext_lazy("on hard ground"), "soft": gettext_lazy("on soft ground")}
CIRCLES: Final[Choices] = {
    "straight": gettext_lazy("in a straight line"),
    "left": gettext_lazy("on a left circle"),
    "right": gettext_lazy("on a right circle"),
    "ridden": gettext_lazy("ridden"),
}
SHOEING: Final[Choices] = {
    "new": gettext_lazy("new set"),
    "refit": gettext_lazy("refitted"),
    "removed": gettext_lazy("shoes off"),
    "pulled": gettext_lazy("pulled shoe put back"),
    "pads": gettext_lazy("pads"),
    "trimmed": gettext_lazy("trimmed"),
}


@dataclass(frozen=True, slots=True)
class VetFinding(Kind):
    """What a vet found and advised.

    Args:
        text: what was found.
        advice: of `ADVICE`; until it ends, work that it does not allow is not ordered.
        until: last day of the advice, ISO 8601; None where it holds until the vet says otherwise.
        again: day on which the vet looks again.
        vet: number of the vet.
    """

    text: str
    advice: str | None = None
    until: str | None = None
    again: str | None = None
    vet: int | None = None

    name = "vet_finding"
    title = gettext_lazy("Vet")
    group = "vet"
    by = MEDICAL
    fields = (
        Text(name="text", label=gettext_lazy("What was found")),
        Choice(name="advice", label=gettext_lazy("Advice"), options=ADVICE, needed=False),
        Day(name="until", label=gettext_lazy("Until, that day included"), needed=False),
        Day(name="again", label=gettext_lazy("To be seen again on"), needed=False),
        Row(name="vet", label=gettext_lazy("Vet"), of="person", roles=("vet",), needed=False),
    )


@dataclass(frozen=True, slots=True)
class Lameness(Kind):
    """A grade of lameness, on the scale that the vet used.

    Args:
        limb: of `LIMBS`.
        scale: of `SCALES`: its highest grade.
        grade: 0 to the highest, in halves.
        gait, surface, circle: how it was seen; None where that was not said.
        text: more, in words.
    """

    limb: str
    scale: str
    grade: float
    gait: str | None = None
    surface: str | None = None
    circle: str | None = None
    text: str | None = None

    name = "lameness"
    title = gettext_lazy("Lameness")
    group = "vet"
    by = frozenset({Role.VET, Role.TRAINER, Role.SECRETARY})
    fields = (
        Choice(name="limb", label=gettext_lazy("Which leg"), options=LIMBS, bare=True),
        Choice(name="scale", label=gettext_lazy("Scale"), options=SCALES),
        Number(name="grade", label=gettext_lazy("Grade"), hint=gettext_lazy("1.5"), spans=(Span(0, 10, ""),)),
        Choice(name="gait", label=gettext_lazy("Gait"), options=GAITS, needed=False, bare=True),
        Choice(name="surface", label=gettext_lazy("Surface"), options=SURFACES, needed=False, bare=True),
        Choice(name="circle", label=gettext_lazy("Circle"), options=CIRCLES, needed=False, bare=True),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=400),
    )

    def check(self) -> None:
        """Refuse a grade that the scale does not have."""
        grade = self.fields[2]
        if self.grade > int(self.scale):
            raise grade.refused(f"{self.grade:g}", f"this scale ends at {self.scale}", "look at the scale")
        if self.grade * 2 % 1:
            raise grade.refused(f"{self.grade:g}", "it is neither whole nor a half", "choose the nearer half")


@dataclass(frozen=True, slots=True)
class Scope(Kind):
    """What was seen with an endoscope.

    Args:
        text: what was seen, the scales of its grades named.
        sample: number of the sample sent to a laboratory, if any.
        vet: number of the vet.
    """

    text: str
    sample: str | None = None
    vet: int | None = None

    name = "scope"
    title = gettext_lazy("Scope")
    group = "vet"
    by = MEDICAL
    fields = (
        Text(name="text", label=gettext_lazy("What was seen, with the scales of its grades")),
        Line(name="sample", label=gettext_lazy("Sample"), needed=False, longest=40),
        Row(name="vet", label=gettext_lazy("Vet"), of="person", roles=("vet",), needed=False),
    )


@dataclass(frozen=True, slots=True)
class Bloods(Kind):
    """A blood sample: what a laboratory measured, each with the interval that this laboratory prints.

    Args:
        laboratory: its name.
        results: see `Analyte`, as plain values.
        text: what the vet says of it.
    """

    laboratory: str
    results: list[dict[str, Any]]
    text: str | None = None

    name = "bloods"
    title = gettext_lazy("Bloods")
    group = "vet"
    by = MEDICAL
    fields = (
        Line(name="laboratory", label=gettext_lazy("Laboratory"), suggest="laboratory", longest=60, bare=True),
        Text(
            name="results",
            label=gettext_lazy("Results, a line each"),
            hint=gettext_lazy("PCV 42 % 32-48"),
            longest=4000,
        ),
        Text(name="text", label=gettext_lazy("What the vet says"), needed=False, longest=1000),
    )

    @classmethod
    def parse(cls, values: Mapping[str, object]) -> Self:
        """Read a sample; its results are lines of name, value, unit and interval."""
        read = super(Bloods, cls).parse(values)
        return cls(read.laboratory, read_lines(str(read.results)), read.text)

    @property
    def analytes(self) -> list[Analyte]:
        """Return the results."""
        return [Analyte(**one) for one in self.results]

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return what lies outside the laboratory's interval, and how much was measured."""
        outside = [one.words() for one in self.analytes if one.outside]
        told = {"laboratory": self.laboratory, "count": len(self.results), "outside": ", ".join(outside)}
        if outside:
            return _("Bloods (%(laboratory)s): outside its interval %(outside)s; %(count)s measured.") % told
        return _("Bloods (%(laboratory)s): %(count)s measured, none outside its interval.") % told

    def typed(self) -> dict[str, str]:
        """Return the sample as somebody would type it."""
        lines = "\n".join(one.typed() for one in self.analytes)
        return {"laboratory": self.laboratory, "results": lines, "text": self.text or ""}


@dataclass(frozen=True, slots=True)
class Teeth(Kind):
    """Teeth looked at or treated.

    Args:
        text: what was done.
        again: day on which they are looked at again.
    """

    text: str
    again: str | None = None

    name = "teeth"
    title = gettext_lazy("Teeth")
    group = "vet"
    fields = (
        Text(name="text", label=gettext_lazy("What was done"), longest=400),
        Day(name="again", label=gettext_lazy("Again on"), needed=False),
    )


@dataclass(frozen=True, slots=True)
class Farrier(Kind):
    """What the farrier did.

    Args:
        done: of `SHOEING`.
        feet: of `LIMBS`; all four where none is named.
        text: more, in words.
        again: day on which the horse is due again.
    """

    done: list[str]
    feet: list[str] = field(default_factory=list)
    text: str | None = None
    again: str | None = None

    name = "farrier"
    title = gettext_lazy("Farrier")
    group = "vet"
    fields = (
        Several(name="done", label=gettext_lazy("What was done"), options=SHOEING, bare=True),
        Several(name="feet", label=gettext_lazy("Feet, if not all four"), options=LIMBS, needed=False, bare=True),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=400),
        Day(name="again", label=gettext_lazy("Again on"), needed=False),
    )
