"""Conditions on where a horse is trained, what its sire cost to use, and whether it is a novice."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from upsides.errors import UnreadableError
from upsides.placing.amounts import Money
from upsides.placing.answers import Finding, Says, finding
from upsides.placing.horse import Horse
from upsides.placing.race import Race
from upsides.rules import place_named


@dataclass(frozen=True, slots=True)
class Novices:
    """For novices, where the wording does not say how often one may have won: what has never won is one anywhere."""

    def says(self, horse: Horse, race: Race, terms: object = None) -> Finding:  # noqa: ARG002  # one form for all
        """Say yes of a horse that never won; of others how often a novice may have won is the authority's to say."""
        won = sum(run.won for run in horse.ran_before(race.day))
        return finding("novice", (not won and horse.runs_complete) or Says.UNKNOWN, count=won)


@dataclass(frozen=True, slots=True)
class Foaled:
    """For horses foaled between two days, both included; a bound that is None leaves that side open.

    A day on which all horses have their birthday tells the year alone: then only the year decides, or nothing does.

    Attributes:
        first, last: the days.
        any_year: whether only day and month count, of whatever year the horse is.
    """

    first: date | None = None
    last: date | None = None
    any_year: bool = False

    def says(self, horse: Horse, race: Race, terms: object = None) -> Finding:  # noqa: ARG002  # one form for all
        """Compare the day of foaling, as far as it is known."""
        born = horse.foaled
        known = (born.month, born.day) not in BIRTHDAYS
        days = (born,) if known else (born, born + timedelta(days=364))
        answers = {self._takes(day) for day in days} if known or not self.any_year else set()
        facts = {"first": self.first or "", "last": self.last or "", "any_year": self.any_year}
        says = answers.pop() if len(answers) == 1 else Says.UNKNOWN
        return finding("foaled", says, foaled=born if known else "not known", **facts)

    def _takes(self, day: date) -> bool:
        def place(one: date) -> tuple[int, ...]:
            return (one.month, one.day) if self.any_year else (one.year, one.month, one.day)

        late = self.first is None or place(self.first) <= place(day)
        return late and (self.last is None or place(day) <= place(self.last))


BIRTHDAYS: Final = frozenset({(1, 1), (7, 1), (8, 1)})
"""Days on which all horses of a place are a year older; common practice of the registers, no source here."""


@dataclass(frozen=True, slots=True)
class TrainedIn:
    """For horses trained in one of some places, or for all but those."""

    places: frozenset[str]
    out: bool = False

    def says(self, horse: Horse, race: Race, terms: object = None) -> Finding:  # noqa: ARG002  # one form for all
        """Compare where the yard is."""
        facts = {"places": tuple(sorted(self.places))}
        key = "not trained in" if self.out else "trained in"
        try:
            trained = place_named(horse.trained) if horse.trained else ""
        except UnreadableError:
            trained = ""
        if not trained:
            return finding(key, Says.UNKNOWN, trained="not known", **facts)
        return finding(key, (trained in self.places) is not self.out, trained=trained, **facts)


@dataclass(frozen=True, slots=True)
class SiresFee:
    """For horses by sires whose fee was so much or less."""

    most: Money

    def says(self, horse: Horse, race: Race, terms: object = None) -> Finding:  # noqa: ARG002  # one form for all
        """Compare the sire's fee."""
        fee = horse.parents.sire_fee
        known = None if fee is None else fee.known_in(self.most.currency, {})
        says = Says.UNKNOWN if known is None else Says.YES if known <= self.most.amount else Says.NO
        return finding("sire's fee", says, fee=fee or "not known", most=self.most)
