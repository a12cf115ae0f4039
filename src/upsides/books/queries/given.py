"""What was given to horses, as the rules about it ask: which treatment, on which days, against which disease."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any, Final
from zoneinfo import ZoneInfo

from upsides.books import clock
from upsides.books.diary.medicine import Treatment, Vaccination
from upsides.books.models import Entry
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment
from upsides.rules import HERPESVIRUS, INFLUENZA, NONE, Dose, Overrides, StandDown, Step, stand_downs, treatments
from upsides.rules.stand_downs import ANY, NO_TREATMENT

REACHES: Final = 450
"""Days after which no rule about a treatment binds any more: the longest is 14 months."""
DISEASES: Final[Mapping[str, str]] = {
    "influenza": INFLUENZA,
    "herpes": HERPESVIRUS,
    "tetanus": "tetanus",
    "strangles": "strangles",
    "other": "another disease",
}
"""What the rules call the diseases of `upsides.books.diary.medicine.DISEASES`."""
_JOINT: Final = "intra-articular injection"
_NAMED: Final[Mapping[str, tuple[str, ...]]] = {
    "joint_other": (_JOINT,),
    "hydrogel": ("intra-articular polyacrylamide hydrogel",),
    "shock_wave": ("shock-wave",),
    "manual": ("physiotherapy", "osteopathy", "chiropractic", "acupuncture"),
    "device": ("powered therapeutic device",),
    "clenbuterol": ("clenbuterol",),
    "anabolic": ("anabolic steroid",),
}


@dataclass(frozen=True, slots=True)
class Given:
    """A treatment of one horse.

    Args:
        number: of the entry.
        horse: number of the horse.
        at: when, in the yard's time.
        treatment: what was given.
    """

    number: int
    horse: int
    at: datetime
    treatment: Treatment

    @property
    def last(self) -> date:
        """Return the last day of the course, the day itself where it has none."""
        end = self.treatment.course_end
        return max(self.at.date(), date.fromisoformat(end)) if end else self.at.date()

    def asked(self, known: Collection[str]) -> tuple[str, ...]:
        """Return what the rules call it, among the treatments that they know; several where they tell more apart.

        A product or substance counts by its own name too: rules of the yard's own may be on one. What no rule names
        is asked about as any treatment.
        """
        what, injected = self.treatment.what, self.treatment.route == "ia"
        names = {*_NAMED.get(what, ())}
        if what == "corticosteroid" and injected:
            names.add("intra-articular corticosteroid")
        elif what == "other" and injected:
            names.add(_JOINT)
        said = {text.strip().lower() for text in (self.treatment.product, self.treatment.substance or "")}
        return tuple(sorted((names | (said - NO_TREATMENT)) & set(known))) or (ANY,)

    @property
    def joint(self) -> str:
        """Return the joint as rules name it, empty where it was not said: then those on any joint bind."""
        return {"fetlock": "fetlock", "other": "another joint"}.get(self.treatment.joint or "", "")


@dataclass(frozen=True, slots=True)
class Dosed:
    """A dose of a vaccine.

    Args:
        number: of the entry.
        horse: number of the horse.
        on: the day.
        vaccination: what was given.
    """

    number: int
    horse: int
    on: date
    vaccination: Vaccination

    @property
    def disease(self) -> str:
        """Return the disease as rules name it."""
        return DISEASES.get(self.vaccination.disease, self.vaccination.disease)


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason why a horse stands down.

    Args:
        entry: number of the entry it comes from.
        horse: number of the horse.
        jurisdiction: whose rules were asked.
        product: what was given, as its label has it; empty where that was not said.
        stand_down: what the rule says.
    """

    entry: int
    horse: int
    jurisdiction: str
    product: str
    stand_down: StandDown

    def binds(self, day: date) -> bool:
        """Return whether it still keeps the horse from something on a day; a limit without a count does so always."""
        first = self.stand_down.first_day
        return first is None or day < first


def given(moment: Moment, horses: Collection[int] | None = None, days: int = REACHES) -> list[Given]:
    """Return the treatments that stood in the days up to the moment's, the first given first."""
    zone = clock.place().zone
    rows = _rows(moment, "treatment", moment.day - timedelta(days=days), horses)
    return [
        Given(number, horse, at.astimezone(zone), Treatment.kept_as(values))
        for number, horse, at, values in rows
        if horse is not None
    ]


def dosed(moment: Moment, horses: Collection[int] | None = None) -> list[Dosed]:
    """Return every dose that stood up to the moment's day, the first given first."""
    zone = clock.place().zone
    rows = _rows(moment, "vaccination", date(1980, 1, 1), horses)
    return [_dosed(number, horse, at, values, zone) for number, horse, at, values in rows if horse is not None]


def course(doses: Iterable[Dosed], disease: str) -> list[Dose]:
    """Return the doses against a disease as the rules read them: from the last that was said to begin a course."""
    found: list[Dose] = []
    for one in doses:
        if one.disease != disease:
            continue
        if one.vaccination.first:
            found = []
        found.append(Dose(one.on, disease, Step.FIRST if one.vaccination.first else None))
    return found


def reasons(
    treated: Iterable[Given], vaccinated: Iterable[Dosed], jurisdiction: str, overrides: Overrides = NONE
) -> list[Reason]:
    """Return what the rules of a jurisdiction say after what was given, whether it still binds or not.

    Of one rule about one treatment of one horse the answer that lasts longest is kept.

    Args:
        treated: treatments.
        vaccinated: doses of vaccines.
        jurisdiction: a name or country code.
        overrides: the yard's own rules.
    """
    known = treatments(overrides)
    found: dict[tuple[int, str, str], Reason] = {}
    for one in treated:
        at = one.at if one.last == one.at.date() else None
        days = frozenset({one.at.date(), one.last})
        for name in one.asked(known):
            for rest in _stand_downs(name, days, jurisdiction, one.joint, at, overrides):
                _keep(found, Reason(one.number, one.horse, jurisdiction, one.treatment.product, rest))
    for dose in vaccinated:
        for rest in _stand_downs("vaccine", frozenset({dose.on}), jurisdiction, dose.disease, None, overrides):
            _keep(found, Reason(dose.number, dose.horse, jurisdiction, dose.vaccination.product or "", rest))
    return list(found.values())


@lru_cache(maxsize=8192)
def _stand_downs(
    name: str, days: frozenset[date], jurisdiction: str, of: str, at: datetime | None, overrides: Overrides
) -> tuple[StandDown, ...]:
    """Return what rules say, worked out once: many horses are given the same on the same day."""
    return stand_downs(name, days, jurisdiction, of=of, at=at, overrides=overrides)


def _keep(found: dict[tuple[int, str, str], Reason], reason: Reason) -> None:
    key = (reason.horse, reason.stand_down.rule.name, reason.stand_down.treatment)
    before = found.get(key)
    if before is None or _lasts(before.stand_down) <= _lasts(reason.stand_down):
        found[key] = reason


def _lasts(rest: StandDown) -> date:
    return rest.first_day or rest.counted_from


def _rows(moment: Moment, kind: str, first: date, horses: Collection[int] | None) -> Iterable[Any]:
    found = entries_of(moment, [kind], first, moment.day, horses)
    return found.values_list("pk", "horse_id", "happened_at", "values")


def _dosed(number: int, horse: int, at: datetime, values: Mapping[str, Any], zone: ZoneInfo) -> Dosed:
    return Dosed(number, horse, at.astimezone(zone).date(), Vaccination.kept_as(values))


def first_authors(numbers: Collection[int]) -> dict[int, int]:
    """Return who made entries first, before anybody corrected them, by number of the entry."""
    fields = ("pk", "supersedes_id", "author_id")
    known = {pk: (before, author) for pk, before, author in Entry.objects.filter(pk__in=numbers).values_list(*fields)}
    above = {before for before, _author in known.values() if before} - known.keys()
    while above:
        rows = Entry.objects.filter(pk__in=above).values_list(*fields)
        found = {pk: (before, author) for pk, before, author in rows}
        known |= found
        above = {before for before, _author in found.values() if before} - known.keys()
    authors = {}
    for number in numbers:
        first = number
        while first in known and (before := known[first][0]):
            first = before
        authors[number] = known[first][1]
    return authors
