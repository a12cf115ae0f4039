"""A ration held against what the horse needs: energy, forage, starch in a meal."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from upsides.feeding.defaults import Defaults
from upsides.feeding.energy import Energy, energy_needed
from upsides.feeding.feed import Feed, Serving, check_servings, listed

Caution = Literal["reached", "not reached", "not known"]
"""Whether an amount of starch is reached; not known where a label leaves it out and the rest does not reach it."""

ForageSays = Literal["as wanted", "under what is wanted", "under the least"]

ROUNDING: Final = 1e-9
"""Relative; sums of floats are taken as equal so far."""


@dataclass(frozen=True, slots=True)
class Starch:
    """Starch in a meal or a day.

    Attributes:
        g_kg: g for each kg of body mass, from the feeds that state it; so at least this.
        unstated: concentrates and supplements in it whose labels leave it out.
        caution: whether the published amount is reached.
    """

    g_kg: float
    unstated: tuple[str, ...]
    caution: Caution


@dataclass(frozen=True, slots=True)
class Meal:
    """One feed time: kg as fed in all, and its starch."""

    time: str
    kg: float
    starch: Starch


@dataclass(frozen=True, slots=True)
class Forage:
    """Forage of a day as dry matter.

    Attributes:
        kg: what is given.
        percent: the same, % of body mass.
        wanted_kg, least_kg: what the rules want, and the least.
        says: how it stands to them.
    """

    kg: float
    percent: float
    wanted_kg: float
    least_kg: float
    says: ForageSays


@dataclass(frozen=True, slots=True)
class Ration:
    """What a ration comes to.

    Attributes:
        servings: what is given.
        needed, given: energy a day.
        percent: what is given, % of what is needed.
        forage: forage of the day.
        dry_matter_kg: of all feeds, a day.
        meals: by feed time, in the order of the servings.
        starch: of the day.
        protein_g: a day; None where a label leaves it out.
    """

    servings: tuple[Serving, ...]
    needed: Energy
    given: Energy
    percent: float
    forage: Forage
    dry_matter_kg: float
    meals: tuple[Meal, ...]
    starch: Starch
    protein_g: float | None


def ration(servings: Iterable[Serving], feeds: Iterable[Feed], mass: float, work: str, given: Defaults) -> Ration:
    """Return what a day's servings come to for a horse.

        energy = sum of kg x MJ a kg          forage = sum over forages of kg x share of dry matter

    Args:
        servings: what is given, kg as fed by feed and feed time.
        feeds: what the labels say.
        mass: body mass, kg.
        work: one of `energy.WORKS`.
        given: figures from the rules.

    Raises:
        FeedingRefusedError, FeedUnknownError: a figure cannot be right, or a feed is not on the list.
    """
    given_out, known = tuple(servings), listed(feeds)
    check_servings(given_out, known)
    needed = energy_needed(mass, work, given)
    energy = Energy(sum(serving.kg * known[serving.feed].energy for serving in given_out))
    times = dict.fromkeys(serving.time for serving in given_out)
    return Ration(
        servings=given_out,
        needed=needed,
        given=energy,
        percent=100 * energy.mj / needed.mj,
        forage=_forage(given_out, known, mass, given),
        dry_matter_kg=sum(serving.kg * known[serving.feed].dry_matter for serving in given_out),
        meals=tuple(_meal(time, [s for s in given_out if s.time == time], known, mass, given) for time in times),
        starch=_starch(given_out, known, mass, lambda g_kg: g_kg > given.starch_day.value * (1 + ROUNDING)),
        protein_g=_protein(given_out, known),
    )


def _forage(servings: Sequence[Serving], feeds: dict[str, Feed], mass: float, given: Defaults) -> Forage:
    kg = sum(s.kg * feeds[s.feed].dry_matter for s in servings if feeds[s.feed].kind == "forage")
    wanted, least = (rule.value * mass / 100 for rule in (given.forage_wanted, given.forage_least))
    says: ForageSays = "as wanted"
    if kg < wanted * (1 - ROUNDING):
        says = "under what is wanted" if kg >= least * (1 - ROUNDING) else "under the least"
    return Forage(kg, 100 * kg / mass, wanted, least, says)


def _meal(time: str, servings: Sequence[Serving], feeds: dict[str, Feed], mass: float, given: Defaults) -> Meal:
    starch = _starch(servings, feeds, mass, lambda g_kg: g_kg >= given.starch_meal.value * (1 - ROUNDING))
    return Meal(time, sum(serving.kg for serving in servings), starch)


def _starch(
    servings: Sequence[Serving], feeds: dict[str, Feed], mass: float, reached: Callable[[float], bool]
) -> Starch:
    """Return the starch of servings; Luthersson and others 2009 have "at least" for a meal, "exceeding" for a day."""
    g_kg = sum(1000 * s.kg * (feeds[s.feed].starch or 0) for s in servings) / mass
    fed = [feeds[s.feed] for s in servings if s.kg > 0]
    unstated = tuple(dict.fromkeys(f.name for f in fed if f.starch is None and f.kind != "forage"))
    short: Caution = "not known" if unstated else "not reached"
    return Starch(g_kg, unstated, "reached" if reached(g_kg) else short)


def _protein(servings: Sequence[Serving], feeds: dict[str, Feed]) -> float | None:
    total = 0.0
    for serving in servings:
        share = feeds[serving.feed].protein
        if share is None and serving.kg > 0:
            return None
        total += 1000 * serving.kg * (share or 0)
    return total
