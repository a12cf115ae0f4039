"""Vaccinations of runners as they stand on the day of their race, by the rules of the race's country."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from upsides.books.queries.given import Dosed, course, dosed
from upsides.books.queries.moments import Moment
from upsides.books.queries.vaccinated import known_record
from upsides.placing import Race
from upsides.rules import Overrides, StandDown, VaccineRules, diseases_asked, vaccine_days_off


@dataclass(frozen=True, slots=True)
class DoseOnTheDay:
    """One disease and one runner.

    Args:
        disease: as rules name it.
        last: the day of the last dose up to the race, None where none is entered.
        runs_until: to when the record is in order, None where it is not or no rule says.
        due: by when the next dose is due, None where that is not known.
        off: what a rule keeps it from after that dose, longest first; empty where no rule is known.
    """

    disease: str
    last: date | None
    runs_until: date | None = None
    due: date | None = None
    off: tuple[StandDown, ...] = ()

    @property
    def free_from(self) -> date | None:
        """Return the first day on which the rules let it race after its last dose, None where none is known."""
        days = [one.first_day for one in self.off if one.first_day is not None and not one.advice]
        return max(days, default=None)


def doses_on(
    moment: Moment, runners: Iterable[tuple[int, Race]], overrides: Overrides
) -> Mapping[int, tuple[DoseOnTheDay, ...]]:
    """Return the vaccinations of runners on the day of their race, by number of the horse.

    Args:
        moment: when to look from.
        runners: horse and race.
        overrides: the yard's own rules.
    """
    listed = list(runners)
    given: dict[int, list[Dosed]] = {}
    for one in dosed(moment, [horse for horse, _race in listed]):
        given.setdefault(one.horse, []).append(one)
    return {horse: tuple(_each(given.get(horse, []), race, race.rules(overrides))) for horse, race in listed}


def _each(given: Sequence[Dosed], race: Race, rules: Overrides) -> Iterable[DoseOnTheDay]:
    for disease in diseases_asked(race.jurisdiction, race.day, overrides=rules):
        days = [dose.on for dose in course(given, disease) if dose.on <= race.day]
        if not days:
            yield DoseOnTheDay(disease, None)
            continue
        asked, last = VaccineRules(race.jurisdiction, disease, rules), max(days)
        record = known_record(given, disease, race.day, asked)
        off = [one for one in vaccine_days_off(last, asked) if "race" in one.applies_to]
        off.sort(key=lambda one: one.first_day or last, reverse=True)
        yield DoseOnTheDay(
            disease, last, record.runs_until if record else None, record.next_until if record else None, tuple(off)
        )
