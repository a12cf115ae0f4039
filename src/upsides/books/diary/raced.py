"""What people say of a horse after a race, a racecourse gallop or a trial, on the same evening."""

from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import Choice, Choices, Line, Number, Row, Several, Span, Text
from upsides.books.diary.kind import Kind
from upsides.books.diary.yard import GOINGS
from upsides.books.models import Role
from upsides.errors import EntryRefusedError, FigureRefusedError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.race_cards import CardRunner, read_lines
from upsides.trade.racetime import RaceTime
from upsides.trade.units import POUND_KG

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
MOST_RAN: Final = 60
ENDED: Final[Choices] = {
    "pulled_up": gettext_lazy("pulled up"),
    "unseated": gettext_lazy("unseated its rider"),
    "fell": gettext_lazy("fell"),
    "ran_out": gettext_lazy("ran out"),
    "left_at_start": gettext_lazy("left at the start"),
    "disqualified": gettext_lazy("disqualified"),
}
"""What became of a horse that has no place, as results have it."""


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
        place: its place in a race; the result by hand, which counts until the official one is imported.
        ran: how many ran.
        ended: of `ENDED`, where it has no place.
        margin: lengths that it was beaten by, or that it won by.
        other: the winner, of the winner the second: its name and, where known, its weight, like Marram 9-7.
        carried: what it carried, pounds.
        time: the winner's, as written.
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
    place: int | None = None
    ran: int | None = None
    ended: str | None = None
    margin: float | None = None
    other: str | None = None
    carried: float | None = None
    time: str | None = None

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
        Number(
            name="place",
            label=gettext_lazy("Place, of a race"),
            hint=gettext_lazy("counts as its result from tomorrow morning on, until the official one is imported"),
            spans=(Span(1, MOST_RAN, ""),),
            kept_places=0,
            why="a place is 1 to 60",
            needed=False,
        ),
        Number(
            name="ran",
            label=gettext_lazy("How many ran"),
            spans=(Span(1, MOST_RAN, ""),),
            kept_places=0,
            why="1 to 60 can run",
            needed=False,
        ),
        Choice(name="ended", label=gettext_lazy("Where it has no place"), options=ENDED, needed=False),
        Number(
            name="margin",
            label=gettext_lazy("Beaten by, or won by"),
            hint=gettext_lazy("lengths behind the winner; of the winner, in front of the second"),
            spans=(Span(0, 100, "lengths", ("length", "l")),),
            places=1,
            why="it lies between 0 and 100 lengths",
            needed=False,
        ),
        Line(
            name="other",
            label=gettext_lazy("The winner; of the winner, the second"),
            hint=gettext_lazy("its name and weight, like Marram 9-7: against it the figure is made"),
            needed=False,
        ),
        Number(
            name="carried",
            label=gettext_lazy("Weight it carried"),
            hint=gettext_lazy("pounds or kg; empty for what the card says"),
            spans=(Span(70, 200, "lb", ("lbs",)), Span(32, 90, "kg", (), 1.0 / POUND_KG)),
            places=1,
            why="a horse carries 70 to 200 lb",
            needed=False,
        ),
        Line(name="time", label=gettext_lazy("The winner's time"), hint=gettext_lazy("1:38.25"), needed=False),
    )

    def check(self) -> None:
        """Refuse what cannot be right together: of a race results say how far and by how much."""
        self._check_result()
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

    def _check_result(self) -> None:
        """Refuse a result that cannot be one."""
        told = [self.ran, self.margin, self.other, self.carried, self.time]
        if self.what != "race" and (self.resulted or any(each is not None for each in told)):
            reason = _("a gallop or a trial has no result")
            raise EntryRefusedError(_("after"), self.what, reason, _("leave place, runners, winner and time empty"))
        if not self.resulted and any(each is not None for each in told):
            reason = _("what was beaten by what says nothing without it")
            raise EntryRefusedError(_("place"), "", reason, _("write its place, or why it has none"))
        if self.ended and (self.place or self.margin is not None):
            raise EntryRefusedError(
                _("place"), f"{self.place or ''}", _("a horse that did not finish has none"), _("leave one empty")
            )
        if self.place and self.ran and self.place > self.ran:
            reason = _("only {ran} ran", ran=self.ran)
            raise EntryRefusedError(_("place"), str(self.place), reason, _("correct one"))
        try:
            self.beside_it()
            self.seconds()
        except FigureRefusedError as error:
            raise EntryRefusedError(_("result"), error.typed, error.reason, error.remedy) from None
        except UnreadableError as error:
            raise EntryRefusedError(_("result"), str(error.text), _("it cannot be read"), error.expected) from None

    @property
    def resulted(self) -> bool:
        """Return whether it says what came of a race."""
        return bool(self.place or self.ended)

    def beside_it(self) -> CardRunner | None:
        """Return the winner, of the winner the second; None where nobody said."""
        return next(iter(read_lines(self.other or "")), None)

    def seconds(self) -> float | None:
        """Return the winner's time, s; None where nobody said."""
        return float(RaceTime.parse(self.time).seconds) if self.time else None

    @property
    def behind(self) -> float | None:
        """Return by how many lengths it finished behind the other horse, below nought in front; None where not said."""
        if self.finished is None:
            return None
        return {"in_front": -1.0, "level": 0.0, "behind": 1.0}[self.finished] * (self.lengths or 0.0)
