"""The medicine register of a period: append-only, so what was corrected stays and is struck."""

from dataclasses import dataclass

from upsides.paper.masthead import Masthead
from upsides.paper.typeset import typeset


@dataclass(frozen=True, slots=True)
class RegisterEntry:
    """One treatment as it was written down.

    Args:
        number: its number in the register.
        given: the day it was given.
        horse: the horse's name.
        identity: passport and microchip.
        product: what was given.
        batch: its batch.
        quantity: how much, and by which route.
        prescribed_by: the vet.
        given_by: who gave it.
        reason: why.
        course_ends: the last day of the course.
        food_chain: withdrawal period, or the passport's word on the food chain.
        stand_down: the day a stand-down lasts to, and under which rule.
        struck: it was corrected since; it is printed struck through.
        remark: who corrected it, when and how; or what this entry corrects. Empty for neither.
    """

    number: str
    given: str
    horse: str
    identity: str
    product: str
    batch: str
    quantity: str
    prescribed_by: str
    given_by: str
    reason: str
    course_ends: str
    food_chain: str
    stand_down: str
    struck: bool = False
    remark: str = ""


@dataclass(frozen=True, slots=True)
class RegisterTitles:
    """The titles of the columns; horse and identity share one."""

    number: str
    given: str
    horse: str
    product: str
    batch: str
    quantity: str
    prescribed_by: str
    given_by: str
    reason: str
    course_ends: str
    food_chain: str
    stand_down: str


@dataclass(frozen=True, slots=True)
class MedicineRegister:
    """The register of a period.

    Args:
        masthead: head and foot; its day is the period, its note the authorities' caution.
        sentence: what the period holds, in one sentence.
        titles: the titles of the columns.
        entries: in the order they were written down.
        nothing: the sentence that stands there where there is none.
    """

    masthead: Masthead
    sentence: str
    titles: RegisterTitles
    entries: tuple[RegisterEntry, ...]
    nothing: str


def register_pdf(sheet: MedicineRegister, size: str = "a4") -> bytes:
    """Return the medicine register as a PDF, lying.

    Raises:
        PaperSizeError: there is no such size of paper.
        SheetRefusedError: the typesetter refused it.
    """
    return typeset("register", sheet, size)
