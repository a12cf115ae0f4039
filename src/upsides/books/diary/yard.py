"""What happens in the yard: the state of a gallop, the weather, journeys, accidents."""

from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import Choice, Choices, Line, Number, Row, Span, Text, Tick
from upsides.books.diary.kind import Kind
from upsides.books.models import Role

STATES: Final[Choices] = {"open": gettext_lazy("open"), "closed": gettext_lazy("closed")}
GOINGS: Final[Choices] = {
    "hard": gettext_lazy("hard"),
    "firm": gettext_lazy("firm"),
    "good_to_firm": gettext_lazy("good to firm"),
    "good": gettext_lazy("good"),
    "good_to_soft": gettext_lazy("good to soft"),
    "soft": gettext_lazy("soft"),
    "heavy": gettext_lazy("heavy"),
    "standard": gettext_lazy("standard"),
    "slow": gettext_lazy("slow"),
    "fast": gettext_lazy("fast"),
    "frozen": gettext_lazy("frozen"),
}


@dataclass(frozen=True, slots=True)
class GallopState(Kind):
    """How a gallop is today.

    Args:
        state: of `STATES`.
        going: of `GOINGS`.
        text: more, in words.
    """

    state: str
    going: str | None = None
    text: str | None = None

    name = "gallop_state"
    title = gettext_lazy("State of a gallop")
    about = "gallop"
    group = "yard"
    by = frozenset({Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON})
    fields = (
        Choice(name="state", label=gettext_lazy("It is"), options=STATES, bare=True),
        Choice(name="going", label=gettext_lazy("Going"), options=GOINGS, needed=False, bare=True),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=200),
    )


@dataclass(frozen=True, slots=True)
class Weather(Kind):
    """How warm it was in the yard when the entry says.

    Args:
        air: of the air in the shade, degrees Celsius.
        humidity: of 100.
        text: more, in words.
    """

    air: float
    humidity: float | None = None
    text: str | None = None

    name = "weather"
    title = gettext_lazy("Weather")
    about = "yard"
    group = "yard"
    fields = (
        Number(
            name="air",
            label=gettext_lazy("Air in the shade"),
            hint=gettext_lazy("14 or 57 F"),
            spans=(
                Span(-30.0, 50.0, "°C", ("c", "celsius")),
                Span(-22.0, 122.0, "°F", ("f", "fahrenheit"), factor=1 / 1.8, zero=32.0),
            ),
            kept_places=1,
        ),
        Number(
            name="humidity",
            label=gettext_lazy("Humidity"),
            hint=gettext_lazy("in 100: 80"),
            spans=(Span(0.0, 100.0, "%"),),
            needed=False,
            kept_places=0,
        ),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=200),
    )


@dataclass(frozen=True, slots=True)
class Travel(Kind):
    """A journey, from when the entry says it happened.

    Args:
        lorry: what the lorry is called.
        to: where to.
        text: more, in words.
        hours: how long it took, or is taken to; None where nobody said.
    """

    lorry: str
    to: str
    text: str | None = None
    hours: float | None = None

    name = "travel"
    title = gettext_lazy("Journey")
    group = "yard"
    fields = (
        Line(name="lorry", label=gettext_lazy("Lorry"), suggest="lorry", longest=60),
        Line(name="to", label=gettext_lazy("To"), longest=60),
        Number(
            name="hours",
            label=gettext_lazy("Hours on the road"),
            hint=gettext_lazy("2.5"),
            spans=(Span(0, 72, "h", ("hours", "hour")),),
            needed=False,
        ),
        Text(name="text", label=gettext_lazy("More"), needed=False, longest=200),
    )


@dataclass(frozen=True, slots=True)
class Driven(Kind):
    """Time at the wheel without a break, from when the entry says it happened. A break parts it into two entries.

    Args:
        person: number of who drove.
        hours: how long.
        lorry: what the lorry is called.
        to: to which meeting or place.
    """

    person: int
    hours: float
    lorry: str
    to: str | None = None

    name = "driven"
    title = gettext_lazy("At the wheel")
    about = "yard"
    group = "yard"
    fields = (
        Row(name="person", label=gettext_lazy("Who drove"), of="person"),
        Number(
            name="hours",
            label=gettext_lazy("For how long, from then on"),
            hint=gettext_lazy("hours: 2.5"),
            spans=(Span(0.02, 24, "h", ("hours", "hour")),),
            places=1,
            why="a stretch at the wheel without a break lasts from a minute to a day",
        ),
        Line(name="lorry", label=gettext_lazy("Lorry"), suggest="lorry", longest=60),
        Line(name="to", label=gettext_lazy("To which meeting or place"), needed=False, longest=60),
    )


@dataclass(frozen=True, slots=True)
class HorseAccident(Kind):
    """An accident to a horse.

    Args:
        text: what happened.
        ask_vet: whether the vet shall look.
    """

    text: str
    ask_vet: bool = False

    name = "accident"
    title = gettext_lazy("Accident to a horse")
    group = "yard"
    fields = (
        Text(name="text", label=gettext_lazy("What happened"), longest=1000),
        Tick(name="ask_vet", label=gettext_lazy("Ask the vet")),
    )


@dataclass(frozen=True, slots=True)
class PersonAccident(Kind):
    """An accident to a person. The text says what happened and not who: that is a number, which erasing blanks.

    Args:
        person: number of who was hurt.
        text: what happened, where, and what was done.
        doctor: whether a doctor or hospital was needed.
        horse: number of the horse, None where there was none.
    """

    person: int
    text: str
    doctor: bool = False
    horse: int | None = None

    name = "person_accident"
    title = gettext_lazy("Accident to a person")
    about = "yard"
    group = "yard"
    readers = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY})
    fields = (
        Row(name="person", label=gettext_lazy("Who"), of="person"),
        Text(name="text", label=gettext_lazy("What happened, without names"), longest=1000),
        Tick(name="doctor", label=gettext_lazy("A doctor was needed")),
        Row(name="horse", label=gettext_lazy("With which horse"), of="horse", needed=False),
    )
