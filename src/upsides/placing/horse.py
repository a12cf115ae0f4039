"""What is known of a horse as of a day, as far as race conditions ask for it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from upsides.placing.amounts import Money
from upsides.placing.kinds import PastRun
from upsides.rules import NONE, Dose, Overrides, official_age
from upsides.trade.sex import Born, Sex

GROUNDS: Final[Mapping[str, str]] = {"turf": "turf", "synthetic": "all-weather", "dirt": "all-weather"}
"""Which mark counts on which surface."""
HIGHEST_MARK: Final = 200
"""Above every mark that an authority has ever given; what is higher is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Mark:
    """An official mark: one line of the authority's ledger.

    Attributes:
        value: the mark.
        first_day: first day on which it counts.
        on: "turf", "all-weather" or "" where one mark counts on everything.
        jurisdiction: whose mark it is; "" where that is understood.
    """

    value: float
    first_day: date
    on: str = ""
    jurisdiction: str = ""


@dataclass(frozen=True, slots=True)
class Sold:
    """A public sale of the horse.

    Attributes:
        day: day of the sale.
        price: what it was sold or bought in for; None where not known.
        as_a: foal, yearling, two-year-old, horse in training; "" where not known.
    """

    day: date
    price: Money | None = None
    as_a: str = ""


@dataclass(frozen=True, slots=True)
class Parents:
    """What conditions ask of sire and dam.

    Attributes:
        sire_median: median price of the sire's yearlings, as the authority lists it; None where not known.
        sire_fee: the sire's fee in the year in which it was covered for; None where not known.
        sire_won_m: farthest distance over which the sire won, metres; None where not known.
        dam_won_m: the same of the dam.
        bands: the sire's bands of price, as the authority letters them for one season.
        schemes: schemes for which the horse is entered or qualified by its parents, in small letters; None where
            nobody looked.
    """

    sire_median: Money | None = None
    sire_won_m: float | None = None
    dam_won_m: float | None = None
    bands: frozenset[str] | None = None
    schemes: frozenset[str] | None = None
    sire_fee: Money | None = None


@dataclass(frozen=True, slots=True)
class Treated:
    """A treatment, or another event that keeps a horse from racing for a time (see `rules.treatments`).

    Attributes:
        what: the treatment, by the rules' name.
        days: the days on which it was given.
        of: joint or disease, where the rules tell them apart.
        at: moment of the last one, with its zone, where known.
    """

    what: str
    days: tuple[date, ...]
    of: str = ""
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """A medicine that was given; how long before a race that must end is for the vet to say."""

    substance: str
    day: date


@dataclass(frozen=True, slots=True)
class Kept:
    """A span of days on which the horse may not run, for a reason outside these rules.

    Attributes:
        first, last: the days, both included; `last` None while no end is set.
        reason: why, in the yard's words: suspended, vet's list, starting stalls test to be passed.
    """

    first: date
    last: date | None
    reason: str


@dataclass(frozen=True, slots=True)
class Horse:
    """A horse as of a day.

    Attributes:
        name: what it is called.
        foaled: day of foaling; where only the year is known, the official birthday of that year.
        born: what it was born.
        gelded: day on which it was gelded; None where it was not, or not yet; a day not after its foaling for a gelding
            of which nobody knows when.
        bred: where it was foaled, as a jurisdiction's name or code; "" where not known.
        trained: where it is trained, as a jurisdiction's name or code; "" where not known.
        bred_south: whether it was bred to the southern hemisphere's time; matters to weight for age.
        runs: its runs, in any order.
        runs_complete: whether `runs` is known to be all of them, in every country.
        marks: its marks, in any order.
        sold: its public sales.
        parents: what is known of sire and dam.
        came, left: first and last day in this yard; None where it was always, or still is.
        doses: doses of vaccines; None where the passport was not read.
        treated: treatments and the like.
        given: medicines.
        kept: spans in which it may not run.
    """

    name: str
    foaled: date
    born: Born
    gelded: date | None = None
    bred: str = ""
    bred_south: bool = False
    runs: tuple[PastRun, ...] = ()
    runs_complete: bool = True
    marks: tuple[Mark, ...] = ()
    sold: tuple[Sold, ...] = ()
    parents: Parents = Parents()
    came: date | None = None
    left: date | None = None
    doses: tuple[Dose, ...] | None = None
    treated: tuple[Treated, ...] = ()
    given: tuple[Given, ...] = ()
    kept: tuple[Kept, ...] = ()
    trained: str = ""

    def as_of(self, day: date) -> "Horse":
        """Return what had happened before `day` began: later runs, marks, sales, gelding and treatments are gone."""
        return replace(
            self,
            gelded=self.gelded if self.gelded and self.gelded < day else None,
            runs=self.ran_before(day),
            marks=tuple(mark for mark in self.marks if mark.first_day <= day),
            sold=tuple(sale for sale in self.sold if sale.day < day),
            left=self.left if self.left and self.left < day else None,
            doses=None if self.doses is None else tuple(dose for dose in self.doses if dose.on < day),
            given=tuple(one for one in self.given if one.day < day),
            treated=tuple(found for one in self.treated for found in _given_before(one, day)),
        )

    def ran_before(self, day: date) -> tuple[PastRun, ...]:
        """Return its runs before a day."""
        return tuple(run for run in self.runs if run.day < day)

    def age(self, on: date, jurisdiction: str, overrides: Overrides = NONE) -> int:
        """Return its official age on a day, by the birthday of the jurisdiction.

        Raises:
            NoRuleError: no official birthday is in force there.
        """
        return int(official_age(self.foaled, on, jurisdiction, overrides=overrides).value)

    def sex(self, on: date, age: int) -> Sex:
        """Return what it is on a day: a colt gelded on a day is a gelding from that day on."""
        if self.born is Born.FEMALE:
            return Sex.FILLY.at(age)
        return Sex.GELDING if self.gelded and self.gelded <= on else Sex.COLT.at(age)

    def mark(self, on: date, surface: str = "") -> Mark | None:
        """Return the mark that counts on a day; one for the surface goes before one for everything.

        Where no surface is stated, it is the mark that counts on every one; None where they differ (see `marks_on`).
        """
        marks = self.marks_on(on, surface)
        return marks[0] if len({mark.value for mark in marks if mark}) == 1 and None not in marks else None

    def marks_on(self, on: date, surface: str = "") -> tuple[Mark | None, ...]:
        """Return the marks that may count on a day: of a surface the one, else that of each, None where it has none."""
        grounds = [GROUNDS[surface]] if surface in GROUNDS else dict.fromkeys(GROUNDS.values())
        found = [self._newest(on, ground) for ground in grounds]
        return tuple(found) if any(found) else ()

    def _newest(self, on: date, ground: str) -> Mark | None:
        there = [mark for mark in self.marks if mark.first_day <= on and mark.on in {ground, ""}]
        return max(there, key=lambda mark: (mark.on == ground, mark.first_day), default=None)

    def with_run(self, run: PastRun) -> "Horse":
        """Return the horse as it would be with one more run."""
        return replace(self, runs=(*self.runs, run))

    def with_mark(self, mark: Mark) -> "Horse":
        """Return the horse as it would be with one more mark."""
        return replace(self, marks=(*self.marks, mark))


def _given_before(one: Treated, day: date) -> Iterable[Treated]:
    days = tuple(given for given in one.days if given < day)
    return [replace(one, days=days, at=one.at if days == one.days else None)] if days else []
