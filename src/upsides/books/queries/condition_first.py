"""Whom to look at first over the string: what was entered, what stands out in the readings, what was not read.

Each horse has its reasons in words and none has a score; the yard says how many it can look at.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, Literal

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.models import Answer, Horse
from upsides.books.models.answer import WATCH
from upsides.books.queries import moments
from upsides.books.queries.boxes import Stood, boxes
from upsides.books.queries.condition_known import later_at
from upsides.books.queries.looking import Look, Why, look_first
from upsides.books.queries.moments import Moment
from upsides.condition.monitoring.kinds import KINDS
from upsides.rules import NONE, Overrides, looking_first

Source = Literal["entered", "stands out", "not read"]
UNEVEN: Final = "evenness of trot"
SHORTER: Final = "stride length"
STRIDES: Final = frozenset({UNEVEN, SHORTER})
"""Kinds of reading that are told with "Ask the vet"."""
NAMES: Final[Mapping[str, str | Promise]] = {
    "mass": gettext_lazy("mass"),
    "temperature": gettext_lazy("temperature"),
    "resting pulse": gettext_lazy("pulse at rest"),
    "recovery": gettext_lazy("the heart a minute after work"),
    "feed left": gettext_lazy("what it left"),
    "speed": gettext_lazy("speed at 200 beats"),
    "heart at work": gettext_lazy("the heart at work"),
    SHORTER: gettext_lazy("the length of its stride"),
    UNEVEN: gettext_lazy("the evenness of its trot"),
}
FREED: Final = frozenset({"recovery", "heart at work", "speed", SHORTER})
"""Kinds that are told as they would be after the usual work (`upsides.books.queries.condition_tracked`)."""
UNITS: Final = {kind.name: (kind.unit, kind.places) for kind in KINDS}
SAME: Final[Mapping[Why, str]] = {
    Why.TEMPERATURE: "temperature",
    Why.ABOVE_OWN: "temperature",
    Why.MASS: "mass",
    Why.NO_MASS: "mass",
    Why.FEED_LEFT: "feed left",
}
"""The kind of reading that an entry already speaks of, so that nothing is said twice."""
LONGEST: Final = 4
"""So many reasons of one horse are told."""

YEAR_DAYS: Final = 365
"""Readings of somewhat more than a year are watched: what was not read before that nobody looked for."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a horse is looked at.

    Args:
        source: whether somebody entered it, a reading stands out, or something was not read.
        words: it in words.
        at: when it was so, None for what is missing.
        entry: number of the entry that it comes from, None for none.
        kind: the kind of reading that it speaks of, "" for none.
    """

    source: Source
    words: str
    at: date | datetime | None = None
    entry: int | None = None
    kind: str = ""


@dataclass(frozen=True, slots=True)
class First:
    """A horse to look at, with its reasons, the most pressing first."""

    horse: Horse
    stood: Stood | None
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class LookAt:
    """Whom to look at.

    Args:
        first: the horses, the most pressing first, at most as many as were asked for.
        more: how many besides have a reason.
        beyond: how many of these ask for somebody's eyes, by what was entered or what stands out; the others can wait.
        groups: what barns, devices and the whole yard show, in words.
        swapped: pairs of horses whose trackers may have been exchanged, in words.
        watched: day up to which readings were watched; None where they were not.
        for_nothing: how many horses a day its limits let stand out with nothing behind it; None where not known.
        string: horses in training.
        others: the others that have a reason, those that ask for eyes before those that can wait.
        later: when that was, where it was for a past day; None where it was by the moment itself, or not at all.
    """

    first: tuple[First, ...]
    more: int
    beyond: int
    groups: tuple[str, ...]
    swapped: tuple[str, ...]
    watched: date | None
    for_nothing: float | None
    string: int
    others: tuple[First, ...] = ()
    later: datetime | None = None

    @property
    def asking(self) -> tuple[First, ...]:
        """The others that ask for somebody's eyes."""
        return self.others[: self.beyond]

    @property
    def waiting(self) -> tuple[First, ...]:
        """The others that can wait."""
        return self.others[self.beyond :]


def look_at(moment: Moment, most: int | None = None, overrides: Overrides = NONE) -> LookAt:
    """Return whom to look at first.

    Args:
        moment: when to look from.
        most: at most so many horses; as many as the yard's rules say where it is None.
        overrides: the yard's own rules.
    """
    string = {horse.pk: horse for horse in moments.in_training(moment)}
    answer = moments.answer(WATCH, moment)
    told, pressing = _reasons(look_first(moment, overrides), answer, string)
    limit = looking_first(moment.day, overrides).horses if most is None else most
    stands = boxes(moment)
    first = [First(string[number], stands.get(number), tuple(why[:LONGEST])) for number, why in told.items()]
    values = answer.values if answer is not None else {}
    return LookAt(
        tuple(first[:limit]),
        max(len(first) - limit, 0),
        sum(one in pressing for one in list(told)[limit:]),
        tuple(group_words(one) for one in values.get("groups", ()) if one["new"] or one["level"] != "yard"),
        tuple(_swap_words(one, string) for one in values.get("swapped", ())),
        answer.day if answer is not None else None,
        answer.made_from.get("for_nothing") if answer is not None else None,
        len(string),
        tuple(first[limit:]),
        later_at(answer),
    )


def _reasons(
    looks: Sequence[Look], answer: Answer | None, string: Mapping[int, Horse]
) -> tuple[dict[int, list[Reason]], set[int]]:
    """Return the reasons of every horse that has any, the horses in the order in which they are looked at.

    First those whom somebody's entry asks for, then those that stand out anew in their readings, then those that have
    stood out for longer, then what can wait. Beside it stand the numbers of those that cannot.
    """
    values: Mapping[str, Any] = answer.values if answer is not None else {}
    watched = [one for one in values.get("horses", ()) if one["horse"] in string]
    found: dict[int, list[Reason]] = {look.horse.pk: [] for look in looks if look.eyes_on}
    for one in watched:
        found.setdefault(one["horse"], [])
    pressing = set(found)
    for look in looks:
        found.setdefault(look.horse.pk, []).extend(
            Reason(_source(one.why), one.words, one.at, one.entry, SAME.get(one.why, "")) for one in look.reasons
        )
    told = {(number, why.kind) for number, whys in found.items() for why in whys}
    for one in watched:
        if (one["horse"], one["kind"]) in told:
            continue
        found[one["horse"]].append(
            Reason("stands out", finding_words(one), date.fromisoformat(one["last"]), None, one["kind"])
        )
    for one in values.get("missed", ()):
        if one["horse"] in string and (one["horse"], one["kind"]) not in told:
            found.setdefault(one["horse"], []).append(Reason("not read", missed_words(one), kind=one["kind"]))
    return {number: why for number, why in found.items() if why}, pressing


def _source(why: Why) -> Source:
    return "not read" if why in {Why.UNSEEN, Why.NO_MASS} else "entered"


def stands_out(moment: Moment, horse: int) -> tuple[tuple[str, str], ...]:
    """Return what stands out in the readings of one horse: the kind of reading, and it in words."""
    answer = moments.answer(WATCH, moment)
    found = answer.values.get("horses", ()) if answer is not None else ()
    return tuple((one["kind"], finding_words(one)) for one in found if one["horse"] == horse)


def finding_words(one: Mapping[str, Any]) -> str:
    """Return what stands out in a horse's readings."""
    told = {
        "what": capfirst(str(NAMES[one["kind"]])), "now": _value(one["kind"], one["now"]),
        "usual": _value(one["kind"], one["usual"]), "day": _day(one["last"]),
        "since": _day(one["since"]), "lately": _value(one["kind"], one["lately"]),
        "count": one["readings"],
    }  # fmt: skip
    above = one["way"] == "above"
    if one["readings"] <= 1:
        words = (
            _("%(what)s %(now)s on %(day)s, above its usual %(usual)s.")
            if above
            else _("%(what)s %(now)s on %(day)s, below its usual %(usual)s.")
        )
    else:
        words = (
            _("%(what)s above its usual %(usual)s since %(since)s: %(lately)s on average, last %(now)s.")
            if above
            else _("%(what)s below its usual %(usual)s since %(since)s: %(lately)s on average, last %(now)s.")
        )
    freed = [_("Work, ground, warmth and rider are taken out.")] if one["kind"] in FREED else []
    ask = [_("Ask the vet.")] if one["kind"] in STRIDES else []
    return " ".join([words % told, *freed, *ask])


def missed_words(one: Mapping[str, Any]) -> str:
    """Return what was not read for longer than it usually is; of a horse of which it never was that it never was."""
    what = capfirst(str(NAMES[one["kind"]]))
    if one.get("never"):
        long = one["days"] > YEAR_DAYS
        return (_("%(what)s not read in a year.") if long else _("%(what)s not read since it came.")) % {"what": what}
    text = ngettext("%(what)s not read for %(days)s day.", "%(what)s not read for %(days)s days.", one["days"])
    return text % {"what": what, "days": one["days"]}


def group_words(one: Mapping[str, Any]) -> str:
    """Return what the yard, a barn or a device shows."""
    told = {
        "name": one["name"], "what": str(NAMES[one["kind"]]), "off": _value(one["kind"], abs(one["off"])),
        "since": _day(one["since"]), "beyond": one["beyond"], "read": one["read"],
    }  # fmt: skip
    above = one["way"] == "above"
    match one["level"]:
        case "yard":
            words = (
                _("The whole yard: %(what)s %(off)s above what is usual since %(since)s.")
                if above
                else _("The whole yard: %(what)s %(off)s below what is usual since %(since)s.")
            )
        case "barn":
            words = (
                _("%(name)s: %(what)s %(off)s above what is usual since %(since)s, %(beyond)s of %(read)s plainly.")
                if above
                else _(
                    "%(name)s: %(what)s %(off)s below what is usual since %(since)s, %(beyond)s of %(read)s plainly."
                )
            )
        case _:
            words = (
                _("%(name)s may read %(what)s %(off)s too high since %(since)s.")
                if above
                else _("%(name)s may read %(what)s %(off)s too low since %(since)s.")
            )
    return words % told


def _swap_words(one: Mapping[str, Any], string: Mapping[int, Horse]) -> str:
    names = [string[one[side]].name if one[side] in string else str(one[side]) for side in ("one", "other")]
    return _("The trackers of %(one)s and %(other)s may have been exchanged.") % {"one": names[0], "other": names[1]}


def _value(kind: str, value: float) -> str:
    unit, places = UNITS[kind]
    if kind == "feed left":
        return _("%(share)s\u00a0%%") % {"share": round(100 * value)}
    return f"{number_format(round(value, places), places)}\u00a0{unit}" if unit else number_format(value, places)


def _day(told: str) -> str:
    return date_format(date.fromisoformat(told), "j F")
