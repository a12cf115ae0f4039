"""What people say of a horse after a race, a racecourse gallop or a trial, on the same evening."""

from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import Choice, Choices, Row, Several, Text
from upsides.books.diary.kind import Kind
from upsides.books.diary.yard import GOINGS
from upsides.books.models import Role

WHAT: Final[Choices] = {
    "race": gettext_lazy("a race"),
    "racecourse_gallop": gettext_lazy("a racecourse gallop"),
    "trial": gettext_lazy("a trial"),
}
ASKED: Final[Choices] = {
    "asked": gettext_lazy("asked for all it had"),
    "hands_and_heels": gettext_lazy("ridden out without being hard on it"),
    "not_asked": gettext_lazy("not asked"),
    "eased": gettext_lazy("eased when beaten"),
}
WANTS: Final[Choices] = {
    "shorter": gettext_lazy("shorter"),
    "right": gettext_lazy("about right"),
    "further": gettext_lazy("further"),
}
TROUBLE: Final[Choices] = {
    "slow_away": gettext_lazy("slow away"),
    "hampered": gettext_lazy("hampered"),
    "no_room": gettext_lazy("short of room"),
    "wide": gettext_lazy("wide throughout"),
    "pulled": gettext_lazy("pulled hard"),
    "ground": gettext_lazy("hated the ground"),
    "hung": gettext_lazy("hung"),
    "made_a_noise": gettext_lazy("made a noise"),
    "bled": gettext_lazy("bled"),
    "lame": gettext_lazy("lame after it"),
}


@dataclass(frozen=True, slots=True)
class RaceReport(Kind):
    """What was said of a run on the day: a jockey's word, what went wrong, whether it was asked.

    Args:
        what: of `WHAT`.
        asked: of `ASKED`, None where nobody said.
        wants: of `WANTS`: the trip that it would rather have.
        going: of `GOINGS`, as the jockey found it, which need not be as announced.
        trouble: of `TROUBLE`.
        rider: number of the jockey where the books know him.
        text: the report.
    """

    what: str
    text: str
    asked: str | None = None
    wants: str | None = None
    going: str | None = None
    trouble: list[str] = field(default_factory=list)
    rider: int | None = None

    name = "race_report"
    title = gettext_lazy("After a race")
    group = "work"
    by = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON, Role.SECRETARY})
    readers = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON, Role.SECRETARY})
    fields = (
        Choice(name="what", label=gettext_lazy("After"), options=WHAT, bare=True),
        Choice(name="asked", label=gettext_lazy("It was"), options=ASKED, needed=False),
        Choice(name="wants", label=gettext_lazy("Trip wanted"), options=WANTS, needed=False),
        Choice(name="going", label=gettext_lazy("Ground as the jockey found it"), options=GOINGS, needed=False),
        Several(name="trouble", label=gettext_lazy("What went wrong"), options=TROUBLE, needed=False),
        Row(name="rider", label=gettext_lazy("Jockey"), of="person", needed=False),
        Text(name="text", label=gettext_lazy("Report"), longest=2000),
    )
