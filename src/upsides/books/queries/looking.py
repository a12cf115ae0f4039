"""Whom to look at first, and why: what the diary says of each horse that draws the eye.

None of it says what a horse has. Each reason names the entry that it comes from.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import IntEnum
from statistics import fmean, median
from typing import Any, Final, NamedTuple

from django.db.models import Max
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books import clock
from upsides.books.diary import kind_of
from upsides.books.diary.legs import LIMBS
from upsides.books.diary.seen import AS_USUAL
from upsides.books.models import Horse
from upsides.books.queries.days import day_span, entries_of
from upsides.books.queries.in_training import in_training
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered
from upsides.rules import NONE, LookingFirst, Overrides, looking_first

USUAL_DAYS: Final = 28
"""Days from which a horse's usual temperature and mass are taken."""
ENOUGH: Final = 5
"""Temperatures that make a usual one."""
ENOUGH_MASSES: Final = 2
SIGNS: Final = (
    "not_right", "accident", "leg", "shoe", "lameness", "temperature", "feed_left", "droppings", "rider_word",
    "vet_finding", "treatment", "vaccination", "worming", "farrier",
)  # fmt: skip
"""Kinds that are read for what draws the eye, and for what ends it."""
FELT: Final = ("legs_felt",)
"""Kinds that end what was found on a leg."""
SEEN: Final = (*SIGNS, *FELT, "looked_at", "as_usual")
"""Kinds that say that somebody was with the horse."""


class Sign(NamedTuple):
    """An entry as far as it is read here: number, kind, values, and when it was so, in the yard's time."""

    pk: int
    kind: str
    values: Mapping[str, Any]
    happened_at: datetime


class Why(IntEnum):
    """Reasons, the most pressing first."""

    VET_ASKED = 1
    ACCIDENT = 2
    LAME = 3
    TEMPERATURE = 4
    NOT_RIGHT = 5
    LEG = 6
    SHOE = 7
    NOT_LEVEL = 8
    FEED_LEFT = 9
    DROPPINGS = 10
    ABOVE_OWN = 11
    MASS = 12
    GIVEN_TWICE = 13
    RAN = 14
    UNSEEN = 15
    NO_MASS = 16


EYES_ON: Final = Why.RAN
"""Reasons before this one ask for somebody's eyes before the horse goes out; those from it on can wait."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a horse is looked at first.

    Args:
        why: the reason.
        words: it in words.
        at: when it was so, in the yard's time; None for what is missing.
        entry: number of the entry that it comes from, None for what is missing.
    """

    why: Why
    words: str
    at: datetime | None = None
    entry: int | None = None


@dataclass(frozen=True, slots=True)
class Look:
    """A horse to look at, with every reason, the most pressing first."""

    horse: Horse
    reasons: tuple[Reason, ...]

    @property
    def eyes_on(self) -> bool:
        """Return whether it is to be seen before it goes out."""
        return any(reason.why < EYES_ON for reason in self.reasons)


def look_first(moment: Moment, overrides: Overrides = NONE) -> list[Look]:
    """Return the horses in training that draw the eye, the most pressing first.

    Args:
        moment: when to look from.
        overrides: the yard's own rules.
    """
    limits = looking_first(moment.day, overrides)
    at = moment.at or clock.now()
    string = in_training(moment)
    since = at - timedelta(hours=limits.hours_in_sight)
    days = (at - since).days + 1
    begins = day_span(moment.day)[0]
    kinds = (*SEEN, "mass", "exercise")
    kept = remembered("earlier", moment, kinds, (), lambda: _earlier(moment, days), days, before=begins)
    today = _read(moment, (*SIGNS, "mass"), moment.day, moment.day)
    seen, felt = (
        then | _latest(moment, of, moment.day, moment.day) for then, of in ((kept.seen, SEEN), (kept.felt, FELT))
    )
    found = []
    for number, horse in string.items():
        entries = [*kept.signs.get(number, ()), *today.get(number, ())]
        lately = [entry for entry in entries if entry.kind != "mass" and entry.happened_at >= since]
        masses = [*kept.masses.get(number, ()), *(entry for entry in entries if entry.kind == "mass")]
        reasons = [
            *_signs(lately, limits, kept.usual.get(number), felt.get(number)),
            *_mass(masses, limits, at),
            *_twice(lately),
            *([Reason(Why.RAN, _("Ran yesterday."), None, kept.ran[number])] if number in kept.ran else []),
            *_unseen(horse, seen.get(number), limits, at),
        ]
        if reasons:
            found.append(Look(horse, tuple(sorted(reasons, key=lambda one: one.why))))
    return sorted(found, key=lambda look: (look.reasons[0].why, -len(look.reasons), look.horse.name.casefold()))


def warm_of(moment: Moment, horse: int, overrides: Overrides = NONE) -> Reason | None:
    """Return why the temperatures of a horse draw the eye, by the rule of the list; None where they do not."""
    limits = looking_first(moment.day, overrides)
    since = (moment.at or clock.now()) - timedelta(hours=limits.hours_in_sight)
    first = moment.day - timedelta(days=limits.hours_in_sight // 24 + 1)
    read = _read(moment, ("temperature", "vet_finding"), first, moment.day, [horse]).get(horse, [])
    lately = [one for one in read if one.happened_at >= since]
    return _temperature(lately, limits, _usual(moment, [horse]).get(horse))


class Earlier(NamedTuple):
    """What the days before today say, each by number of the horse; kept, since most of a morning leaves it as it is.

    Args:
        signs: entries of the last days, oldest first.
        masses: weighings of four weeks, oldest first.
        seen: when somebody was last with it.
        felt: when its legs were last felt.
        usual: its usual temperature, °C.
        ran: the entry of its race of yesterday.
    """

    signs: Mapping[int, list[Sign]]
    masses: Mapping[int, list[Sign]]
    seen: dict[int, datetime]
    felt: dict[int, datetime]
    usual: Mapping[int, float]
    ran: Mapping[int, int]


def _earlier(moment: Moment, days: int) -> Earlier:
    first, last = moment.day - timedelta(days=days), moment.day - timedelta(days=1)
    return Earlier(
        _read(moment, SIGNS, first, last),
        _read(moment, ("mass",), moment.day - timedelta(days=USUAL_DAYS), last),
        _latest(moment, SEEN, first, last),
        _latest(moment, FELT, first, last),
        _usual(moment),
        _ran(moment),
    )


def _read(
    moment: Moment, kinds: tuple[str, ...], first: date, last: date, horses: Collection[int] | None = None
) -> dict[int, list[Sign]]:
    """Return the entries of some kinds of some days, oldest first, by number of the horse; in the yard's time."""
    found: dict[int, list[Sign]] = {}
    rows, zone = entries_of(moment, kinds, first, last, horses).filter(horse__isnull=False), clock.place().zone
    for horse, pk, kind, values, at in rows.values_list("horse", "pk", "kind", "values", "happened_at"):
        found.setdefault(horse, []).append(Sign(pk, kind, values, at.astimezone(zone)))
    return found


def _latest(moment: Moment, kinds: tuple[str, ...], first: date, last: date) -> dict[int, datetime]:
    rows, zone = entries_of(moment, kinds, first, last).filter(horse__isnull=False).order_by(), clock.place().zone
    return {horse: at.astimezone(zone) for horse, at in rows.values_list("horse").annotate(at=Max("happened_at"))}


def _usual(moment: Moment, horses: Collection[int] | None = None) -> Mapping[int, float]:
    """Return the usual temperature of each horse that has one: the median of the four weeks before today, °C."""
    first, last = moment.day - timedelta(days=USUAL_DAYS), moment.day - timedelta(days=1)
    found: dict[int, list[float]] = {}
    for horse, values in entries_of(moment, ["temperature"], first, last, horses).values_list("horse", "values"):
        found.setdefault(horse, []).append(values["celsius"])
    return {horse: median(own) for horse, own in found.items() if len(own) >= ENOUGH}


def _signs(lately: list[Sign], limits: LookingFirst, usual: float | None, felt: datetime | None) -> Iterator[Reason]:
    """Yield what the entries of the last hours say, as far as nothing later took it back."""
    last: dict[str, Sign] = {entry.kind: entry for entry in lately}
    seen_by_vet = last["vet_finding"].happened_at if "vet_finding" in last else None

    def since(kind: str, *ends: datetime | None) -> Sign | None:
        """Return the last entry of a kind that neither the vet nor anything else that ends it came after."""
        entry = last.get(kind)
        return entry if entry and all(end is None or end < entry.happened_at for end in (seen_by_vet, *ends)) else None

    if entry := since("not_right"):
        why = Why.VET_ASKED if entry.values.get("ask_vet") else Why.NOT_RIGHT
        yield _told(why, entry)
    if entry := since("accident"):
        yield _told(Why.ACCIDENT, entry)
    if (entry := last.get("lameness")) and entry.values["grade"] > 0:
        yield _told(Why.LAME, entry)
    if entry := since("leg", felt):
        yield _told(Why.LEG, entry)
    yield from (_told(Why.SHOE, one) for one in lately if one.kind == "shoe" and not _shod(one, lately))
    if reason := _temperature(lately, limits, usual):
        yield reason
    if (entry := since("rider_word")) and entry.values["felt"] == "uneven":
        yield _told(Why.NOT_LEVEL, entry)
    if (entry := last.get("feed_left")) and entry.values["left"] in {"half", "most", "all"}:
        yield _told(Why.FEED_LEFT, entry)
    if (entry := last.get("droppings")) and entry.values["droppings"] != AS_USUAL:
        yield _told(Why.DROPPINGS, entry)


def _shod(shoe: Sign, lately: Sequence[Sign]) -> bool:
    """Return whether the farrier came after what was wrong with a shoe, to the feet that it was about."""
    feet = set(shoe.values.get("feet") or LIMBS)
    after = (one for one in lately if one.kind == "farrier" and one.happened_at > shoe.happened_at)
    return any(feet <= set(one.values.get("feet") or LIMBS) for one in after)


def _told(why: Why, entry: Sign) -> Reason:
    words = kind_of(entry.kind).kept_as(entry.values).words()
    return Reason(why, words, entry.happened_at, entry.pk)


def _temperature(lately: Sequence[Sign], limits: LookingFirst, own: float | None) -> Reason | None:
    """Return why temperatures draw the eye: the last one, or that of an earlier day which has come down since.

    One read again on the same day counts as read again; one that a vet came after is the vet's.
    """
    ends = {one.happened_at.date(): one for one in lately if one.kind == "temperature"}
    if not ends:
        return None
    *earlier, last = ends.values()
    if reason := _warm(last, limits, own):
        return reason
    seen = max((one.happened_at for one in lately if one.kind == "vet_finding"), default=None)
    high = [
        one for one in earlier if one.values["celsius"] >= limits.temperature and not (seen and seen > one.happened_at)
    ]
    if not high:
        return None
    worst = max(high, key=lambda one: one.values["celsius"])
    told = {
        "celsius": number_format(worst.values["celsius"], 1),
        "day": date_format(worst.happened_at, "j F"),
        "last": number_format(last.values["celsius"], 1),
    }
    words = _("Temperature %(celsius)s °C on %(day)s, %(last)s since.")
    return Reason(Why.TEMPERATURE, words % told, worst.happened_at, worst.pk)


def _warm(entry: Sign, limits: LookingFirst, own: float | None) -> Reason | None:
    celsius = float(entry.values["celsius"])
    told = {"celsius": number_format(celsius, 1), "own": number_format(own or 0.0, 1)}
    at = entry.happened_at
    if celsius >= limits.temperature:
        words = _("Temperature %(celsius)s °C; its usual is %(own)s.") if own else _("Temperature %(celsius)s °C.")
        return Reason(Why.TEMPERATURE, words % told, at, entry.pk)
    if own is not None and celsius - own >= limits.above_own:
        words = _("Temperature %(celsius)s °C, above its own usual %(own)s.")
        return Reason(Why.ABOVE_OWN, words % told, at, entry.pk)
    return None


def _mass(masses: list[Sign], limits: LookingFirst, at: datetime) -> Iterator[Reason]:
    """Yield what mass says: a change against its own mean of the weeks before on the same scale, or that none is known.

    A horse of which no mass is known at all in four weeks is in a yard that does not weigh it: nothing is said then.
    """
    if not masses:
        return
    last = masses[-1]
    days = (at - last.happened_at).days
    if days > limits.days_without_mass:
        text = ngettext("No mass for %(days)s day.", "No mass for %(days)s days.", days)
        yield Reason(Why.NO_MASS, text % {"days": days})
        return
    before = [entry.values["kg"] for entry in masses[:-1] if _same_way(entry.values, last.values)]
    if len(before) < ENOUGH_MASSES or days > limits.hours_in_sight / 24 + 5:
        return
    change = 100 * (last.values["kg"] / fmean(before) - 1)
    if abs(change) >= limits.mass:
        told = {"percent": number_format(abs(change), 1), "kg": number_format(last.values["kg"], 0)}
        words = (
            _("Mass %(kg)s kg, %(percent)s %% below its mean of four weeks.")
            if change < 0
            else _("Mass %(kg)s kg, %(percent)s %% above its mean of four weeks.")
        )
        yield Reason(Why.MASS, words % told, last.happened_at, last.pk)


def _same_way(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Return whether two masses were taken on the same scale and in the same way."""
    return all(one.get(how) == other.get(how) for how in ("scale", "tack"))


def _twice(lately: list[Sign]) -> Iterator[Reason]:
    """Yield that the same dose was entered by two people on one day."""
    seen: dict[tuple[str, str, object], Sign] = {}
    for entry in lately:
        kind = kind_of(entry.kind)
        if not kind.dose:
            continue
        same = (entry.kind, str(entry.values.get("product", "")).casefold(), entry.happened_at.date())
        if same in seen:
            words = _("Given twice on one day? %(words)s") % {"words": kind.kept_as(entry.values).words()}
            yield Reason(Why.GIVEN_TWICE, words, None, entry.pk)
        seen[same] = entry


def _ran(moment: Moment) -> dict[int, int]:
    """Return the horses that raced yesterday, with the number of the entry."""
    yesterday = moment.day - timedelta(days=1)
    rows = entries_of(moment, ["exercise"], yesterday, yesterday).filter(horse__isnull=False)
    told = rows.values_list("horse", "pk", "values")
    return {horse: pk for horse, pk, values in told if values.get("exercise") == "race"}


def _unseen(horse: Horse, last: datetime | None, limits: LookingFirst, at: datetime) -> Iterator[Reason]:
    """Yield that nobody has entered anything of the horse for long."""
    joined = (at.date() - horse.joined).days
    if joined < 1 or (last is not None and at - last <= timedelta(hours=limits.hours_unseen)):
        return
    if last is None:
        yield Reason(Why.UNSEEN, _("Nobody has entered anything of it for days."))
    else:
        words = _("Nobody has entered anything of it since %(when)s.") % {"when": date_format(last, "j F, H:i")}
        yield Reason(Why.UNSEEN, words)
