"""Which horses a race takes: each condition as a value that says yes or no of a horse, and why."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final, Literal, Protocol

from upsides.placing.amounts import Amount, Money, Rates
from upsides.placing.answers import Finding, Says, between, finding
from upsides.placing.conditions.origins import Novices, SiresFee, TrainedIn
from upsides.placing.horse import Horse, Mark
from upsides.placing.kinds import ANY_RUN, PastRun, RunKind, tally
from upsides.placing.race import Build, Race
from upsides.rules import NONE, Overrides, place_named
from upsides.trade.age import AgeRange
from upsides.trade.sex import Sex

Deed = Literal["won", "placed", "ran"]
Moment = Literal["closing", "starting"]
PLACED: Final = 3


@dataclass(frozen=True, slots=True)
class Terms:
    """What answers are asked with besides horse and race.

    Attributes:
        yard: the yard's own rules.
        rates: rates between currencies, for prizes abroad.
    """

    yard: Overrides = NONE
    rates: Rates = field(default_factory=dict)


PLAIN: Final = Terms()


class Condition(Protocol):
    """A condition on who may run."""

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:
        """Return what this condition says of a horse."""
        ...


def build_of(horse: Horse, race: Race) -> Build:
    """Return what a horse will be to conditions on the day of a race, as far as is known now."""
    sex = horse.sex(race.day, 4)
    if sex.is_female:
        return Build.FEMALE
    return Build.GELDING if sex is Sex.GELDING else Build.ENTIRE


def age_at(horse: Horse, race: Race, terms: Terms) -> int:
    """Return a horse's official age on the day of a race, where it is run."""
    return horse.age(race.day, race.jurisdiction, race.rules(terms.yard))


@dataclass(frozen=True, slots=True)
class Ages:
    """For horses of certain ages."""

    ages: AgeRange

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:
        """Compare the official age on the day of the race."""
        age = age_at(horse, race, terms)
        return finding("age", age in self.ages, age=age, ages=self.ages)


@dataclass(frozen=True, slots=True)
class Builds:
    """For entire horses, geldings or fillies and mares."""

    builds: frozenset[Build]

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Compare what the horse will be on the day of the race."""
        build = build_of(horse, race)
        return finding("sex", build in self.builds, is_a=build, takes=in_order(self.builds))


@dataclass(frozen=True, slots=True)
class Rated:
    """For horses with marks in a band.

    Attributes:
        low, high: the band; None where it is open on that side.
        above: points above it with which a horse may be entered besides.
        below: whether horses below it may be entered too; None where the wording does not say.
    """

    low: float | None = None
    high: float | None = None
    above: float = 0.0
    below: bool | None = None

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Compare the mark on the day of the race, as far as the ledger goes now."""
        marks = horse.marks_on(race.day, race.surface or "")
        mark, band = horse.mark(race.day, race.surface or ""), {"low": self.low or 0, "high": self.high or ""}
        if mark is not None:
            return finding("mark", self._takes(mark, race), mark=mark.value, **band)
        if not marks:
            return finding("mark", Says.NO, mark="none", **band)
        said = {Says.NO if one is None else self._takes(one, race) for one in marks}
        return finding("marks", said.pop() if len(said) == 1 else Says.UNKNOWN, **_told(marks), **band)

    def _takes(self, mark: Mark, race: Race) -> Says:
        over = self.high is not None and mark.value > self.high + self.above
        under = self.low is not None and mark.value < self.low and not self.below
        unsure = under and not over and self.below is None and race.handicap
        return Says.UNKNOWN if unsure else Says.NO if over or under else Says.YES


@dataclass(frozen=True, slots=True)
class Benchmark:
    """For horses about a mark: at it a horse carries the top weight; how far above it one may be is not read."""

    mark: float

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Compare the mark on the day of the race."""
        mark, marks = horse.mark(race.day, race.surface or ""), horse.marks_on(race.day, race.surface or "")
        if mark is not None:
            return finding("benchmark", mark.value <= self.mark or Says.UNKNOWN, mark=mark.value, benchmark=self.mark)
        if not marks:
            return finding("benchmark", Says.NO, mark="none", benchmark=self.mark)
        under = all(one is not None and one.value <= self.mark for one in marks)
        return finding("benchmarks", under or Says.UNKNOWN, **_told(marks), benchmark=self.mark)


def _told(marks: Iterable[Mark | None]) -> dict[str, float | str]:
    """Return the marks between which a race without a surface leaves it open, as facts."""
    told = ("none" if one is None else one.value for one in marks)
    return dict(zip(("turf", "all_weather"), told, strict=True))


@dataclass(frozen=True, slots=True)
class Record:
    """For horses that have won, been placed or run so often, in races of some kind.

    Attributes:
        deed: what is counted.
        least, most: how often at least and at most; `most` None where there is no limit.
        kind: in which races.
        at: counted up to the closing of entries, or up to the race.
        places: the place down to which a horse counts as placed.
    """

    deed: Deed
    least: int = 0
    most: int | None = None
    kind: RunKind = ANY_RUN
    at: Moment = "starting"
    places: int = PLACED

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:
        """Count the runs that are meant."""
        sure, possible = self.count(horse, race, terms)
        if not horse.runs_complete and possible >= 0:
            possible = max(possible, sure) + FAR_MORE
        says = between(sure, possible, self.least, self.most)
        most = "" if self.most is None else self.most
        worth = self.kind.worth or self.kind.under
        open_ = {"open": min(possible - sure, FAR_MORE), "worth": worth or ""} if says is Says.UNKNOWN else {}
        return finding(self.deed, says, count=sure, least=self.least, most=most, **open_)

    def count(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> tuple[int, int]:
        """Return how often the horse did it for certain, and at most; races abroad count at the rates given."""
        until = (race.closes() or race.day) if self.at == "closing" else race.day
        counted = (run for run in horse.ran_before(until) if done(self.deed, run, self.places))
        return tally(counted, meant_at(self.kind, race), terms.rates)

    def since(self, day: date) -> "Record":
        """Return the same, counted from a day on only."""
        return replace(self, kind=replace(self.kind, first=day))


def meant_at(kind: RunKind, race: Race) -> RunKind:
    """Return which runs a race means by its course, its distance and its weights."""
    return kind.at_race(race.day, race.course, race.distance_m, race.closes())


FAR_MORE: Final = 1000
"""How many runs more a horse may have had of which nobody here knows."""


def done(deed: Deed, run: PastRun, places: int = PLACED) -> bool:
    """Return whether a run was a win, a place down to that one, or a run at all."""
    if deed == "won":
        return run.won
    return deed == "ran" or (run.position is not None and run.position <= places)


@dataclass(frozen=True, slots=True)
class Earned:
    """For horses that have not earned more than a sum, or have not won more than it with one race."""

    most: Money
    kind: RunKind = ANY_RUN

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:
        """Add up what it earned, at the rates given."""
        total, unsure = 0.0, not horse.runs_complete
        kind = meant_at(self.kind, race)
        for run in horse.ran_before(race.day):
            counts = kind.counts(run, terms.rates)
            earned = None if run.earned is None else run.earned.known_in(self.most.currency, terms.rates)
            if counts and earned is not None:
                total += earned
            unsure = unsure or (counts is not False and earned is None and run.position is not None)
        says = Says.NO if total > self.most.amount else Says.UNKNOWN if unsure else Says.YES
        return finding("earned", says, earned=Money(total, self.most.currency), most=self.most)


@dataclass(frozen=True, slots=True)
class SoldFor:
    """For horses sold at public auction for a sum or less, at the ages that `as_a` names."""

    most: Money
    as_a: frozenset[str] = frozenset()

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:
        """Compare the prices of its public sales; the dearest one counts."""
        sales = [sale for sale in horse.sold if sale.day < race.day and (not self.as_a or sale.as_a in self.as_a)]
        if not sales:
            return finding("sold for", Says.NO, price="none", most=self.most)
        prices = [sale.price.known_in(self.most.currency, terms.rates) if sale.price else None for sale in sales]
        known = [price for price in prices if price is not None]
        dearest = max(known, default=0.0)
        over = dearest > self.most.amount
        says = Says.NO if over else Says.UNKNOWN if len(known) < len(prices) else Says.YES
        return finding("sold for", says, price=Money(dearest, self.most.currency), most=self.most)


@dataclass(frozen=True, slots=True)
class SiresPrice:
    """For horses by sires whose yearlings fetch a median price of so much or less."""

    most: Money

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Compare the sire's median price."""
        median = horse.parents.sire_median
        known = None if median is None else median.known_in(self.most.currency, terms.rates)
        says = Says.UNKNOWN if known is None else Says.YES if known <= self.most.amount else Says.NO
        return finding("sire's price", says, median=median or "not known", most=self.most)


@dataclass(frozen=True, slots=True)
class ParentsStayed:
    """For horses whose sire, or sire or dam, won over so many metres or more."""

    metres: float
    dam_too: bool = False

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Compare the farthest distances over which they won."""
        there = [horse.parents.sire_won_m, *([horse.parents.dam_won_m] if self.dam_too else [])]
        known = [metres for metres in there if metres is not None]
        if any(metres >= self.metres - 0.5 for metres in known):
            says = Says.YES
        else:
            says = Says.NO if len(known) == len(there) else Says.UNKNOWN
        return finding("sire's trip", says, won_over=max(known, default=0.0), least=self.metres)


@dataclass(frozen=True, slots=True)
class InBands:
    """For horses by sires in certain bands of price, as the authority letters them."""

    bands: frozenset[str]

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Compare the sire's bands."""
        found = horse.parents.bands
        says = Says.UNKNOWN if found is None else Says.YES if found & self.bands else Says.NO
        return finding("bands", says, bands=in_order(found or ()), takes=in_order(self.bands))


@dataclass(frozen=True, slots=True)
class InScheme:
    """For horses qualified for a scheme of breeders."""

    scheme: str

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Look among the schemes for which it is qualified."""
        found = horse.parents.schemes
        says = Says.UNKNOWN if found is None else Says.YES if self.scheme in found else Says.NO
        return finding("scheme", says, scheme=self.scheme.upper())


@dataclass(frozen=True, slots=True)
class BredIn:
    """For horses foaled in one of some places."""

    places: frozenset[str]

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Compare where it was foaled."""
        if not horse.bred:
            return finding("bred in", Says.UNKNOWN, bred="not known", places=in_order(self.places))
        bred = place_named(horse.bred)
        return finding("bred in", bred in self.places, bred=bred, places=in_order(self.places))


@dataclass(frozen=True, slots=True)
class Claimable:
    """Runners may be claimed for a price; a lower one may be chosen, which takes weight off.

    Attributes:
        price: the highest price.
        lowest: the lowest that may be chosen; None where there is one price.
        each, off: for each `each` below the highest, `off` is taken off the weight.
    """

    price: Money
    lowest: Money | None = None
    each: Money | None = None
    off: Amount | None = None

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Say that it may run, and that it may be claimed."""
        return finding("claimable", Says.YES, price=self.price, lowest=self.lowest or self.price)


@dataclass(frozen=True, slots=True)
class RiddenBy:
    """For riders of a kind: apprentice, amateur; with so many winners at most. Asks nothing of the horse."""

    riders: str
    most_winners: int | None = None

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:  # noqa: ARG002  # one form for all
        """Say that it may run, and with whom."""
        most = "" if self.most_winners is None else self.most_winners
        return finding("riders", Says.YES, riders=self.riders, most=most)


@dataclass(frozen=True, slots=True)
class Either:
    """For horses that meet one of several conditions."""

    ways: tuple["Who", ...]

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:
        """Ask each; one yes is enough."""
        found = tuple(way.says(horse, race, terms) for way in self.ways)
        said = {one.says for one in found}
        says = Says.YES if Says.YES in said else Says.UNKNOWN if Says.UNKNOWN in said else Says.NO
        return finding("either", says, ways=found)


@dataclass(frozen=True, slots=True)
class Every:
    """For horses that meet all of several conditions: have not won before a day, or more than one race since."""

    ways: tuple["Who", ...]

    def says(self, horse: Horse, race: Race, terms: Terms = PLAIN) -> Finding:
        """Ask each; one no is enough."""
        found = tuple(way.says(horse, race, terms) for way in self.ways)
        said = {one.says for one in found}
        says = Says.NO if Says.NO in said else Says.UNKNOWN if Says.UNKNOWN in said else Says.YES
        return finding("every", says, ways=found)


Who = (
    Ages
    | Builds
    | Rated
    | Benchmark
    | Record
    | Earned
    | SoldFor
    | SiresPrice
    | SiresFee
    | Novices
    | TrainedIn
    | ParentsStayed
    | InBands
    | InScheme
    | BredIn
    | Claimable
    | RiddenBy
    | Either
    | Every
)


def in_order(words: Iterable[str]) -> tuple[str, ...]:
    """Return words as text in one order, however they were kept."""
    return tuple(sorted(str(word) for word in words))
