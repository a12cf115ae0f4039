"""Clocked work: what a stopwatch says of one horse, with what was ordered and how much was left."""

from dataclasses import dataclass, field
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import NAMELESS, Choice, Choices, Names, Row, Text
from upsides.books.diary.kind import Kind
from upsides.books.diary.split_fields import Carried, Clock, SplitTimes
from upsides.books.diary.work import ORDERERS

INSTRUCTIONS: Final[Choices] = {
    "easy": gettext_lazy("easy canter"),
    "steady": gettext_lazy("steady"),
    "half_speed": gettext_lazy("half-speed"),
    "three_quarter": gettext_lazy("three-quarter speed"),
    "bridle": gettext_lazy("on the bridle"),
    "let_down": gettext_lazy("let down at the end"),
    "asked": gettext_lazy("asked for everything"),
}
"""Paces that are ordered, from least to most."""
LEFT: Final[Choices] = {
    "nothing": gettext_lazy("nothing left"),
    "little": gettext_lazy("a little left"),
    "some": gettext_lazy("some left"),
    "plenty": gettext_lazy("plenty left"),
    "hard_held": gettext_lazy("hard held"),
}
"""How much was left at the end, from least to most."""
CLOCKS: Final[Choices] = {"thumb": gettext_lazy("by thumb on a stopwatch")}
INSTRUCTION_OF: Final = {
    "hack_canter": "easy",
    "steady_canter": "steady",
    "half_speed": "half_speed",
    "fast": "three_quarter",
}
"""What an ordered exercise asks for, by exercise; whoever clocks it can say otherwise."""


@dataclass(frozen=True, slots=True)
class Clocked(Kind):
    """One horse's clocked work.

    Args:
        splits: metres from where the clock began, and seconds since then, of each mark.
        gallop: its number.
        instruction: of `INSTRUCTIONS`, as it was ordered.
        left: of `LEFT`, as it looked.
        rider: number of the person.
        rider_kg: what the rider weighed with tack.
        upsides: numbers of the horses that were clocked beside it.
        clock: of `CLOCKS`.
        text: a word.
    """

    splits: list[list[float]]
    gallop: int | None = None
    instruction: str | None = None
    left: str | None = None
    rider: int | None = None
    rider_kg: float | None = None
    upsides: list[int] = field(default_factory=list)
    clock: str = "thumb"
    text: str | None = None

    name = "clocked"
    title = gettext_lazy("Clocked")
    group = "work"
    by = ORDERERS
    fields = (
        SplitTimes(name="splits", label=gettext_lazy("Times from the start"), hint=gettext_lazy("1f 15.4, 2f 29.1")),
        Row(name="gallop", label=gettext_lazy("Gallop"), of="gallop", needed=False),
        Choice(name="instruction", label=gettext_lazy("What was ordered"), options=INSTRUCTIONS, needed=False),
        Choice(name="left", label=gettext_lazy("How much was left"), options=LEFT, needed=False),
        Row(name="rider", label=gettext_lazy("Rider"), of="person", roles=("rider",), needed=False),
        Carried(
            name="rider_kg",
            label=gettext_lazy("Rider's weight with tack"),
            hint=gettext_lazy("9-2, 58 kg or 128 lb"),
            needed=False,
        ),
        Row(name="upsides", label=gettext_lazy("Upsides"), of="horse", many=True, needed=False),
        Clock(name="clock", label=gettext_lazy("Clocked"), options=CLOCKS, needed=False),
        Text(name="text", label=gettext_lazy("A word"), needed=False, longest=400),
    )

    def words(self, names: Names = NAMELESS) -> str:
        """Return the work as a sentence."""
        said = {one.name: one.said(value, names) for one, value in self.said()}
        ground = _("%(times)s on %(gallop)s") if self.gallop is not None else "%(times)s"
        first = [ground % {"times": said["splits"], "gallop": said.get("gallop", "")}]
        first += [said[name] for name in ("instruction", "left") if name in said]
        told = {"work": "; ".join([", ".join(first), *self._ridden(said), *self._beside(said)]), "text": self.text}
        return (_("%(work)s. %(text)s") if self.text else _("%(work)s.")) % told

    def _ridden(self, said: dict[str, str]) -> list[str]:
        told = {"rider": said.get("rider", ""), "weight": said.get("rider_kg", "")}
        if self.rider is None:
            return [_("%(weight)s up") % told] if self.rider_kg is not None else []
        return [(_("ridden by %(rider)s at %(weight)s") if self.rider_kg else _("ridden by %(rider)s")) % told]

    def _beside(self, said: dict[str, str]) -> list[str]:
        return [_("upsides %(horses)s") % {"horses": said["upsides"]}] if self.upsides else []
