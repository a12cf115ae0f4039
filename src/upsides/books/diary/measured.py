"""What is measured: temperature, pulse, breathing, mass, girth and length, condition."""

from dataclasses import dataclass
from typing import Final

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.diary.fields import NAMELESS, Choice, Choices, Line, Names, Number, Span
from upsides.books.diary.kind import Kind
from upsides.trade.units import POUND_KG

CM_IN_INCH: Final = 2.54
WATER: Final[Choices] = {
    "before": gettext_lazy("before water"),
    "after": gettext_lazy("after water"),
}
TACK: Final[Choices] = {"off": gettext_lazy("without tack"), "on": gettext_lazy("with tack")}


@dataclass(frozen=True, slots=True)
class Temperature(Kind):
    """A temperature.

    What a living horse cannot have is refused: below 35 or above 43 °C (common practice, no source).

    Args:
        celsius: in degrees Celsius, to a hundredth, so that tenths of Fahrenheit come back as typed.
    """

    celsius: float

    name = "temperature"
    title = gettext_lazy("Temperature")
    group = "measured"
    fields = (
        Number(
            name="celsius",
            label=gettext_lazy("Temperature"),
            hint=gettext_lazy("38.0 or 100.4 F"),
            spans=(
                Span(35.0, 43.0, "°C", ("c", "celsius")),
                Span(95.0, 109.4, "°F", ("f", "fahrenheit"), factor=1 / 1.8, zero=32.0),
            ),
            places=1,
            why="a horse's temperature lies between 35 and 43 °C, which is 95 to 109.4 °F",
        ),
    )

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return the temperature in both units."""
        both = {"celsius": _tenths(self.celsius), "fahrenheit": _tenths(self.celsius * 1.8 + 32)}
        return _("Temperature %(celsius)s °C (%(fahrenheit)s °F).") % both

    def typed(self) -> dict[str, str]:
        """Return the temperature in Celsius."""
        return {"celsius": _tenths(self.celsius)}


@dataclass(frozen=True, slots=True)
class Pulse(Kind):
    """A pulse at rest.

    Args:
        beats: a minute.
    """

    beats: float

    name = "pulse"
    title = gettext_lazy("Pulse")
    group = "measured"
    fields = (
        Number(
            name="beats",
            label=gettext_lazy("Beats a minute"),
            hint=gettext_lazy("32"),
            spans=(Span(15, 250, "", ("bpm", "/min")),),
            kept_places=0,
        ),
    )

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return the pulse."""
        return _("Pulse %(beats)s a minute.") % {"beats": number_format(self.beats, decimal_pos=0)}


@dataclass(frozen=True, slots=True)
class Breathing(Kind):
    """Breathing at rest.

    Args:
        breaths: a minute.
    """

    breaths: float

    name = "breathing"
    title = gettext_lazy("Breathing")
    group = "measured"
    fields = (
        Number(
            name="breaths",
            label=gettext_lazy("Breaths a minute"),
            hint=gettext_lazy("12"),
            spans=(Span(4, 150, "", ("/min",)),),
            kept_places=0,
        ),
    )

    def words(self, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- names nobody
        """Return the breathing."""
        return _("Breathing %(breaths)s a minute.") % {"breaths": number_format(self.breaths, decimal_pos=0)}


@dataclass(frozen=True, slots=True)
class Mass(Kind):
    """What a horse weighs on a scale.

    Args:
        kg: mass, to a hundredth of a kilogram.
        scale: what the scale is called.
        water: of `WATER`, before or after it drank; None where that was not said.
        tack: of `TACK`, None likewise.
    """

    kg: float
    scale: str | None = None
    water: str | None = None
    tack: str | None = None

    name = "mass"
    title = gettext_lazy("Mass")
    group = "measured"
    fields = (
        Number(
            name="kg",
            label=gettext_lazy("Mass"),
            hint=gettext_lazy("486 or 1071 lb"),
            spans=(
                Span(100, 800, "kg", ("kgs", "kilo", "kilos", "k")),
                Span(220, 1764, "lb", ("lbs", "pounds"), factor=POUND_KG),
            ),
            bare=True,
        ),
        Line(name="scale", label=gettext_lazy("Scale"), needed=False, suggest="scale", longest=60),
        Choice(name="water", label=gettext_lazy("Water"), options=WATER, needed=False, bare=True),
        Choice(name="tack", label=gettext_lazy("Tack"), options=TACK, needed=False, bare=True),
    )

    def words(self, names: Names = NAMELESS) -> str:
        """Return the mass in both units, with how it was taken."""
        both = {"kg": _tenths(self.kg), "lb": number_format(round(self.kg / POUND_KG))}
        how = "; ".join(field.phrase(value, names) for field, value in self.said()[1:])
        told = both | {"how": how}
        return _("Mass %(kg)s kg (%(lb)s lb); %(how)s.") % told if how else _("Mass %(kg)s kg (%(lb)s lb).") % told


@dataclass(frozen=True, slots=True)
class Tape(Kind):
    """Girth and length by tape. What they say of mass is not a scale's word (Carroll and Huntington 1988).

    Args:
        girth_cm: round the chest behind the elbow.
        length_cm: point of shoulder to point of buttock, None where it was not measured.
    """

    girth_cm: float
    length_cm: float | None = None

    name = "tape"
    title = gettext_lazy("Tape")
    group = "measured"
    fields = (
        Number(
            name="girth_cm",
            label=gettext_lazy("Girth"),
            hint=gettext_lazy("185 or 73 in"),
            spans=(
                Span(100, 250, "cm"),
                Span(40, 98, "in", ("inch", "inches"), factor=CM_IN_INCH),
            ),
        ),
        Number(
            name="length_cm",
            label=gettext_lazy("Length"),
            hint=gettext_lazy("165 or 65 in"),
            spans=(
                Span(100, 250, "cm"),
                Span(40, 98, "in", ("inch", "inches"), factor=CM_IN_INCH),
            ),
            needed=False,
        ),
    )


@dataclass(frozen=True, slots=True)
class Condition(Kind):
    """How much flesh a horse carries, 1 to 9 in halves (Henneke et al. 1983), as one person sees it: a judgement.

    Args:
        score: 1 very thin to 9 very fat.
    """

    score: float

    name = "condition"
    title = gettext_lazy("Condition score")
    group = "measured"
    judgement = True
    fields = (
        Number(
            name="score",
            label=gettext_lazy("Condition score"),
            hint=gettext_lazy("1 very thin to 9 very fat, 5 or 5.5"),
            spans=(Span(1, 9, ""),),
            kept_places=1,
            bare=True,
        ),
    )

    def check(self) -> None:
        """Refuse a score between the halves."""
        if self.score * 2 % 1:
            raise self.fields[0].refused(f"{self.score:g}", "it is neither whole nor a half", "choose the nearer half")


def _tenths(value: float) -> str:
    return number_format(round(value, 1), decimal_pos=1)
