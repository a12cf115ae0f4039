"""Horses of ours that stand as entered for a race whose card does not name them, and those that only it names."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path

from upsides.books.models import Engagement
from upsides.books.queries.engaged import Engaged
from upsides.books.queries.getting_a_run import taken_out
from upsides.books.queries.moments import Moment
from upsides.placing import Race, Terms
from upsides.results.naming import key_of
from upsides.results.race_cards import read_card


@dataclass(frozen=True, slots=True)
class Gaps:
    """How a card and what was said of ours differ.

    Args:
        missing: those of ours that are in the race by what was said, and that the card does not name.
        unsaid: names of ours that the card names, and of which nothing was said for the race.
        settled: whether the field is settled: declarations have closed, or stalls are drawn.
    """

    missing: tuple[Engaged, ...] = ()
    unsaid: tuple[str, ...] = ()
    settled: bool = False

    def of(self, horse: int) -> "Gaps":
        """Return what there is of one horse."""
        return Gaps(tuple(one for one in self.missing if one.horse.pk == horse), (), self.settled)


def gaps(
    folder: Path, moment: Moment, race: Race, code: str, said: Iterable[Engaged], ours: Collection[str], terms: Terms
) -> Gaps:
    """Return how the card of a race and what was said of ours differ; nothing where no card is written down.

    Args:
        folder: of the library.
        moment: when to look from.
        race: the race.
        code: its code.
        said: what was said of ours for it.
        ours: names of all horses of ours.
        terms: the yard's own rules.
    """
    card = read_card(folder, code, moment.at)
    if not card:
        return Gaps()
    named = {key_of(one.name) for one in card}
    there = [one for one in said if one.engagement.state != Engagement.State.WITHDRAWN]
    told = {key_of(one.horse.name) for one in there}
    missing = tuple(one for one in there if one.reached is not None and key_of(one.horse.name) not in named)
    unsaid = tuple(name for name in sorted(ours) if key_of(name) in named - told)
    return Gaps(missing, unsaid, not taken_out(race, card, moment, terms))


def left_off(folder: Path, moment: Moment, said: Iterable[Engaged], terms: Terms) -> set[int]:
    """Return the numbers of the engagements whose race has a settled card that does not name the horse.

    Args:
        folder: of the library.
        moment: when to look from.
        said: what horses are engaged for.
        terms: the yard's own rules.
    """
    races: dict[str, list[Engaged]] = defaultdict(list)
    for one in said:
        if one.engagement.race_code:
            races[one.engagement.race_code].append(one)
    found = [gaps(folder, moment, of[0].race, code, of, (), terms) for code, of in races.items()]
    return {one.engagement.pk for each in found if each.settled for one in each.missing}
