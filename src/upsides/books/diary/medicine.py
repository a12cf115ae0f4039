"""Medicines: treatments, vaccinations, worming, egg counts. They make the register that an inspector reads."""

from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import Choice, Choices, Day, Line, Number, Row, Span, Tick
from upsides.books.diary.kind import Kind
from upsides.books.diary.vet import MEDICAL
from upsides.books.models import Role

ROUTES: Final[Choices] = {
    "oral": gettext_lazy("by mouth"),
    "feed": gettext_lazy("in the feed"),
    "iv": gettext_lazy("into a vein"),
    "im": gettext_lazy("into a muscle"),
    "sc": gettext_lazy("under the skin"),
    "ia": gettext_lazy("into a joint"),
    "inhaled": gettext_lazy("inhaled"),
    "topical": gettext_lazy("on the skin"),
    "eye": gettext_lazy("into the eye"),
    "none": gettext_lazy("no medicine"),
}
WHAT: Final[Choices] = {
    "corticosteroid": gettext_lazy("corticosteroid"),
    "joint_other": gettext_lazy("another joint injection"),
    "hydrogel": gettext_lazy("polyacrylamide hydrogel into a joint"),
    "shock_wave": gettext_lazy("shock-wave"),
    "manual": gettext_lazy("physiotherapy, osteopathy, chiropractic or acupuncture"),
    "device": gettext_lazy("powered therapeutic device"),
    "clenbuterol": gettext_lazy("clenbuterol"),
    "anabolic": gettext_lazy("anabolic steroid"),
    "other": gettext_lazy("another treatment"),
}
"""What rules about racing after a treatment ask for."""
JOINTS: Final[Choices] = {"fetlock": gettext_lazy("fetlock"), "other": gettext_lazy("another joint")}
FOOD: Final[Choices] = {
    "out": gettext_lazy("declared not for food"),
    "in": gettext_lazy("may enter the food chain"),
    "unknown": gettext_lazy("not known"),
}
DISEASES: Final[Choices] = {
    "influenza": gettext_lazy("equine influenza"),
    "herpes": gettext_lazy("equine herpesvirus"),
    "tetanus": gettext_lazy("tetanus"),
    "strangles": gettext_lazy("strangles"),
    "other": gettext_lazy("another disease"),
}
GIVERS: Final = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON, Role.VET, Role.SECRETARY})
"""Roles that write down what was given."""

_PRODUCT: Final = Line(name="product", label=gettext_lazy("Product"), longest=80, bare=True)
_BATCH: Final = Line(name="batch", label=gettext_lazy("Batch"), needed=False, longest=40)
_GIVER: Final = Row(name="giver", label=gettext_lazy("Given by"), of="person", needed=False)
_PRESCRIBER: Final = Row(
    name="prescriber", label=gettext_lazy("Prescribed by"), of="person", roles=("vet",), needed=False
)

_FOOD: Final = Choice(name="food", label=gettext_lazy("Food chain"), options=FOOD, needed=False)
_WITHDRAWAL: Final = Number(
    name="withdrawal_days",
    label=gettext_lazy("Withdrawal time that the vet set"),
    hint=gettext_lazy("in days"),
    spans=(Span(0, 400, "d", ("days", "day")),),
    needed=False,
)


@dataclass(frozen=True, slots=True)
class Treatment(Kind):
    """A treatment. Who prescribed and who gave are two people; who gave is the author where nobody else is named.

    Args:
        product: as its label has it.
        quantity: with its unit, as given.
        route: of `ROUTES`.
        what: of `WHAT`, by which rules about racing after it are found.
        reason: why.
        substance: what is in it, by which published times are found.
        batch: number of the batch.
        joint: of `JOINTS`, where it went into one.
        prescriber, giver: numbers of people.
        course_end: last day of the course, ISO 8601; None for one day.
        food: of `FOOD`.
        withdrawal_days: what the vet set, in days; None where none was set.
    """

    product: str
    quantity: str
    route: str
    what: str
    reason: str
    substance: str | None = None
    batch: str | None = None
    joint: str | None = None
    prescriber: int | None = None
    giver: int | None = None
    course_end: str | None = None
    food: str | None = None
    withdrawal_days: float | None = None

    name = "treatment"
    title = gettext_lazy("Treatment")
    group = "medicine"
    dose = True
    by = GIVERS
    fields = (
        _PRODUCT,
        Line(name="quantity", label=gettext_lazy("How much"), hint=gettext_lazy("10 ml"), longest=40, bare=True),
        Choice(name="route", label=gettext_lazy("How"), options=ROUTES, bare=True),
        Choice(name="what", label=gettext_lazy("What kind"), options=WHAT, bare=True),
        Line(name="reason", label=gettext_lazy("Why"), longest=200),
        Line(name="substance", label=gettext_lazy("Substance"), needed=False, longest=80),
        _BATCH,
        Choice(name="joint", label=gettext_lazy("Joint"), options=JOINTS, needed=False),
        _PRESCRIBER,
        _GIVER,
        Day(name="course_end", label=gettext_lazy("Last day of the course"), needed=False),
        _FOOD,
        _WITHDRAWAL,
    )

    def check(self) -> None:
        """Refuse a joint that nothing went into."""
        if self.joint and self.route != "ia":
            raise self.fields[7].refused(self.joint, "the treatment went into no joint", "leave the joint out")


@dataclass(frozen=True, slots=True)
class Vaccination(Kind):
    """A vaccination.

    Args:
        disease: of `DISEASES`.
        product: as its label has it.
        batch: number of the batch.
        giver: number of the vet who gave it.
        first: whether it begins a new primary course, whatever was given before.
    """

    disease: str
    product: str | None = None
    batch: str | None = None
    giver: int | None = None
    first: bool = False

    name = "vaccination"
    title = gettext_lazy("Vaccination")
    group = "medicine"
    dose = True
    by = MEDICAL
    fields = (
        Choice(name="disease", label=gettext_lazy("Against"), options=DISEASES, bare=True),
        Line(name="product", label=gettext_lazy("Product"), longest=80, needed=False, bare=True),
        _BATCH,
        Row(name="giver", label=gettext_lazy("Given by"), of="person", roles=("vet",), needed=False),
        Tick(name="first", label=gettext_lazy("Begins a new course")),
    )


@dataclass(frozen=True, slots=True)
class Worming(Kind):
    """A wormer given.

    Args:
        product, quantity, batch: as of a treatment.
        giver: number of who gave it.
        food: of `FOOD`.
        withdrawal_days: as of a treatment.
    """

    product: str
    quantity: str
    batch: str | None = None
    giver: int | None = None
    food: str | None = None
    withdrawal_days: float | None = None

    name = "worming"
    title = gettext_lazy("Worming")
    group = "medicine"
    dose = True
    by = GIVERS
    fields = (
        _PRODUCT,
        Line(name="quantity", label=gettext_lazy("How much"), hint=gettext_lazy("one syringe"), longest=40, bare=True),
        _BATCH,
        _GIVER,
        _FOOD,
        _WITHDRAWAL,
    )


@dataclass(frozen=True, slots=True)
class EggCount(Kind):
    """Eggs of worms in droppings.

    Args:
        epg: eggs a gram.
    """

    epg: float

    name = "egg_count"
    title = gettext_lazy("Egg count")
    group = "medicine"
    fields = (
        Number(
            name="epg",
            label=gettext_lazy("Eggs a gram"),
            hint=gettext_lazy("150"),
            spans=(Span(0, 20000, "", ("epg",)),),
            kept_places=0,
        ),
    )
