"""Conditions on where a horse is trained, what its sire cost to use, and whether it is a novice."""

from dataclasses import dataclass

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
