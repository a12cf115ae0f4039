"""Which race for which horse: may it run, off what weight, would it get a run, by when must that be said."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.programme import Programme
from upsides.errors import CurrencyUnknownError, NoRuleError, WeightUnknownError, ZoneMissingError
from upsides.placing import (
    Carried,
    Deadline,
    Eligibility,
    ForMark,
    Next,
    Race,
    Says,
    Stage,
    Terms,
    deadlines,
    eligible,
    missed,
    needed_for_mark,
    next_decision,
    weigh,
)
from upsides.placing import Horse as Entrant

AHEAD: Final = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class Case:
    """One horse and one race.

    Args:
        code: of the race.
        race: the race.
        horse: the horse's row of the books.
        eligible: whether the race takes it, with each reason.
        carried: what it would carry; None where it is not taken or the weight cannot be told.
        no_weight: why not, empty where there is a weight or none is asked.
    """

    code: str
    race: Race
    horse: Horse
    eligible: Eligibility
    carried: Carried | None
    no_weight: str = ""

    @property
    def says(self) -> Says:
        """Return whether it may run."""
        return self.eligible.says

    @property
    def open(self) -> bool:
        """Return whether nothing says no."""
        return self.eligible.says is not Says.NO


def string_of(moment: Moment) -> list[Horse]:
    """Return the horses that may be placed: those in training."""
    return list(moments.in_training(moment).order_by("name"))


def cases(folder: Path, moment: Moment, races: Mapping[str, Race], horses: Iterable[Horse]) -> dict[str, list[Case]]:
    """Return each race's cases, one a horse, by code of the race."""
    listed, terms = list(horses), terms_of(folder)
    known = entrants(folder, moment, listed)
    return {
        code: [case_of(code, race, horse, known[horse.pk], terms) for horse in listed] for code, race in races.items()
    }


def case_of(code: str, race: Race, horse: Horse, entrant: Entrant, terms: Terms) -> Case:
    """Return what the rules say of one horse and one race."""
    found = eligible(entrant, race, terms)
    if found.says is Says.NO:
        return Case(code, race, horse, found, None)
    try:
        return Case(code, race, horse, found, weigh(entrant, race, terms))
    except (WeightUnknownError, CurrencyUnknownError) as error:
        return Case(code, race, horse, found, None, getattr(error, "reason", str(error)))


def mark_of(race: Race, entrant: Entrant, terms: Terms) -> ForMark | None:
    """Return what a horse still needs for a mark; None where no rule is known."""
    try:
        return needed_for_mark(entrant, race, terms)
    except NoRuleError:
        return None


def dues_of(race: Race, terms: Terms) -> tuple[tuple[Deadline, ...], str]:
    """Return by when what must be said of a race, and why that cannot be told."""
    try:
        return deadlines(race, terms), ""
    except ZoneMissingError as error:
        return (), str(error)


def ways_in(race: Race, at: datetime, terms: Terms) -> tuple[Deadline, ...]:
    """Return the deadlines by which a horse can still be entered, late entries among them."""
    return tuple(
        one for one in dues_of(race, terms)[0] if one.stage in {Stage.ENTER, Stage.SUPPLEMENT} and one.at >= at
    )


def closes(race: Race, terms: Terms) -> bool:
    """Return whether it is known by when a race must be entered."""
    return any(one.stage is Stage.ENTER for one in dues_of(race, terms)[0])


def next_of(race: Race, reached: Stage | None, at: datetime, terms: Terms) -> Next | None:
    """Return the next decision on a horse and a race; None where there is none, or it cannot be told."""
    try:
        return next_decision(race, reached, at, terms)
    except ZoneMissingError:
        return None


def too_late(race: Race, reached: Stage | None, at: datetime, terms: Terms) -> bool:
    """Return whether a horse can no longer get to the start of a race; not where deadlines cannot be told."""
    try:
        return missed(race, reached, at, terms)
    except ZoneMissingError:
        return False


def ahead_of(found: Programme, moment: Moment, days: timedelta = AHEAD) -> dict[str, Race]:
    """Return the races of the days from the moment's on."""
    return found.between(moment.day, moment.day + days)
