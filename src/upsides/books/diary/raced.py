"""What people say of a horse after a race, a racecourse gallop or a trial, on the same evening."""

from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import Choice, Choices, Number, Row, Several, Span, Text
from upsides.books.diary.kind import Kind
from upsides.books.diary.yard import GOINGS
from upsides.books.models import Role
from upsides.errors import EntryRefusedError
from upsides.errors.wording import gettext as _

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
FINISHED: Final[Choices] = {
    "in_front": gettext_lazy("in front"),
    "level": gettext_lazy("level"),
    "behind": gettext_lazy("behind"),
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
        metres: how far a gallop or a trial was; of a race results and programme say it.
        beside: number of the horse of ours beside which it galloped or ran the trial.
        finished: of `FINISHED`, how it finished to that horse.
        lengths: how far in front or behind.
    """

    what: str
    text: str
    asked: str | None = None
    wants: str | None = None
    going: str | None = None
    trouble: list[str] = field(default_factory=list)
    rider: int | None = None
    metres: int | None = None
    beside: int | None = None
    finished: str | None = None
    lengths: float | None = None

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
        Number(
            name="metres",
            label=gettext_lazy("How far, of a gallop or trial"),
            hint=gettext_lazy("metres, or furlongs like 6f"),
            spans=(
                Span(200, 5000, "m"),
                Span(2, 24, "f", ("furlongs", "furlong"), 201.168),
            ),
            kept_places=0,
            why="a gallop or a trial is 200 to 5000 m",
            needed=False,
        ),
        Row(name="beside", label=gettext_lazy("Beside, of a gallop or trial"), of="horse", needed=False),
        Choice(name="finished", label=gettext_lazy("It finished"), options=FINISHED, needed=False),
        Number(
            name="lengths",
            label=gettext_lazy("By how much"),
            hint=gettext_lazy("lengths"),
            spans=(Span(0, 60, "lengths", ("length", "l")),),
            places=1,
            why="it lies between 0 and 60 lengths",
            needed=False,
        ),
        Text(name="text", label=gettext_lazy("Report"), longest=2000),
    )

    def check(self) -> None:
        """Refuse what cannot be right together: of a race results say how far and by how much."""
        if self.what == "race" and (self.metres or self.beside or self.finished or self.lengths is not None):
            reason = _("of a race the results say how far it was and who finished where")
            raise EntryRefusedError(_("after"), _("race"), reason, _("leave distance, other horse and lengths empty"))
        if (self.finished is None) != (self.beside is None):
            reason = _("a finish needs a horse, and a horse a finish")
            raise EntryRefusedError(_("it finished"), self.finished or "", reason, _("fill in both, or neither"))
        if (self.lengths is not None) != (self.finished in {"in_front", "behind"}):
            reason = _("in front or behind needs lengths, and level has none")
            raise EntryRefusedError(
                _("by how much"), f"{self.lengths or 0:g}", reason, _("write how many lengths, or take it away")
            )

    @property
    def behind(self) -> float | None:
        """Return by how many lengths it finished behind the other horse, below nought in front; None where not said."""
        if self.finished is None:
            return None
        return {"in_front": -1.0, "level": 0.0, "behind": 1.0}[self.finished] * (self.lengths or 0.0)
