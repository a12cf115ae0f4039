"""Working out what chance horses of ours have in races to come. A worker does it; pages read what it kept."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from upsides.books.chances import RaceChance
from upsides.books.models import Horse
from upsides.books.queries import trips
from upsides.books.queries.chances_wanted import Asked, Wanted, asked_of
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import Case
from upsides.books.queries.results import state_of
from upsides.books.queries.trips import Facts
from upsides.books.queries.yard_rules import yard_rules
from upsides.errors import NoRuleError, RaceRefusedError, UpsidesError
from upsides.placing import Race
from upsides.ratings.kept_fits import KeptFit, fingerprint, kept_fit
from upsides.rules import Overrides, owners_part

if TYPE_CHECKING:  # loaded where it is used: it brings compiled code
    from upsides.placing.chance import Chances, ExpectedField, Kept, Own


@dataclass
class Working:
    """What chances are worked out from: the fit, and what was drawn of each horse so far.

    Args:
        folder: of the library.
        moment: when it is looked from: results of its day and later are not known.
        horses: those whose chances may be asked for.
    """

    folder: Path
    moment: Moment
    horses: Sequence[Horse]
    _own: "dict[int, Own]" = field(default_factory=dict)

    def __post_init__(self) -> None:
        from upsides.placing.chance import read_kept

        self.state = state_of(self.folder)
        self.fit: KeptFit = kept_fit(self.folder, self.moment.day)
        self.kept: Kept = read_kept(self.state.library(), self.moment.day)
        self._fit = fingerprint(self.fit)
        self.rules: Overrides = yard_rules(self.folder).overrides
        self._ruled = _mark(self.rules.entries)
        self.facts: Mapping[int, Facts] = {}
        if self.kept.model is not None:
            yard = trips.yard_of(self.folder, self.moment, list(self.horses), self.kept.model.given)
            self.facts = yard.facts

    def made_from(self, wanted: Wanted) -> dict[str, Any]:
        """Return all that goes into the chances in a race; where that is the same they are the same."""
        from upsides.placing.chance import setting_of

        ours = {
            str(one.horse.pk): [one.weight, one.allowed, one.stall, one.fees, _mark(self.facts.get(one.horse.pk))]
            for one in wanted.asked
        }
        race = wanted.race
        return {
            "fit": str(self.fit.as_of),
            "fingerprint": self._fit,
            "luck": round(self.kept.luck, 4),
            "rules": self._ruled,
            "race": _mark((setting_of(race), race.prize, race.jurisdiction)),
            "horses": ours,
        }

    def chances(self, wanted: Wanted) -> dict[int, RaceChance]:
        """Return the chances of ours in a race, by number of the horse.

        Raises:
            UpsidesError: why none can be told.
        """
        from upsides.placing.chance import Runner, chances_of_each, expected_field, setting_of

        race, setting = wanted.race, setting_of(wanted.race)
        if setting is None:
            raise RaceRefusedError(
                str(race), "distance", "", "no chance can be told without it", "take it from the programme"
            )
        like: ExpectedField = expected_field(self.state.library(), self.kept, setting)
        runners = [Runner(one.horse.horse_key, one.weight, one.allowed, one.stall) for one in wanted.asked]
        own = [self._own_of(one.horse) for one in wanted.asked]
        found = chances_of_each(runners, own, setting, like, self.kept)
        part = _part(race, self.rules)
        return {one.horse.pk: _chance(told, one, race, part) for one, told in zip(wanted.asked, found, strict=True)}

    def _own_of(self, horse: Horse) -> "Own":
        from upsides.placing.chance import Runner, own_of
        from upsides.trip.cases import NOTHING

        if not self._own:
            told = {pk: facts.told(self.kept.model.population) for pk, facts in self.facts.items() if self.kept.model}
            listed = list({one.pk: one for one in self.horses}.values())
            runners = [Runner(one.horse_key, told=told.get(one.pk, NOTHING)) for one in listed]
            self._own = dict(zip((one.pk for one in listed), own_of(runners, self.kept), strict=True))
        return self._own[horse.pk]


def _mark(of: object) -> str:
    return sha256(repr(of).encode()).hexdigest()[:16]


def _part(race: Race, rules: Overrides) -> float:
    """Return the owners' part of prize money; all of it where no rule says."""
    try:
        return owners_part(race.jurisdiction, race.day, overrides=rules)[0]
    except NoRuleError:
        return 1.0


def _chance(told: "Chances", asked: Asked, race: Race, part: float) -> RaceChance:
    from upsides.placing.chance import earnings

    prizes = race.prize.by_place if race.prize else ()
    return RaceChance(
        win=(told.win.value, told.win.low, told.win.high),
        place=(told.place.value, told.place.low, told.place.high),
        first_four=(told.first_four.value, told.first_four.low, told.first_four.high),
        rank=told.rank,
        size=told.field_size,
        level=told.field_level,
        shown=told.shown,
        career=told.career,
        weighed=told.weighed,
        spread=told.draw.spread_lb if told.draw else None,
        stall=asked.stall,
        weight=asked.weight,
        races=told.expected,
        prize=earnings(told, prizes).prize if prizes else None,
        share=part,
        fees=asked.fees,
        currency=race.prize.currency if race.prize else "",
        notes=told.notes,
    )


def chances_in(folder: Path, moment: Moment, passed: Mapping[str, Sequence[Case]]) -> dict[tuple[str, int], RaceChance]:
    """Return the chances of horses in some races, by code and number of the horse; those that can be told.

    Args:
        folder: of the library.
        moment: when to look from.
        passed: the cases by code of the race.
    """
    terms = terms_of(folder)
    horses = {case.horse.pk: case.horse for listed in passed.values() for case in listed}
    found: dict[tuple[str, int], RaceChance] = {}
    try:
        working = Working(folder, moment, list(horses.values()))
    except UpsidesError:
        return {}
    for code, listed in passed.items():
        wanted = Wanted(code, listed[0].race, tuple(asked_of(case, None, terms, moment) for case in listed))
        with suppress(UpsidesError):
            found |= {(code, number): one for number, one in working.chances(wanted).items()}
    return found
