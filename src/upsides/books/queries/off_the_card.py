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
from upsides.results.race_cards import read_card, runner_called


@dataclass(frozen=True, slots=True)
class Gaps:
    """How a card and what was said of ours differ.

    Args:
        missing: those of ours that are in the race by what was said, and that the card does not name.
        unsaid: names of ours that the card names, and of which nothing was said for the race.
        still: those of ours that were taken out here, and that the card names all the same.
        settled: whether the field is settled: declarations have closed, or stalls are drawn.
    """

    missing: tuple[Engaged, ...] = ()
    unsaid: tuple[str, ...] = ()
    settled: bool = False
    still: tuple[Engaged, ...] = ()

    def of(self, horse: int) -> "Gaps":
        """Return what there is of one horse."""
        missing, still = (tuple(one for one in part if one.horse.pk == horse) for part in (self.missing, self.still))
        return Gaps(missing, (), self.settled, still)


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
    listed = list(said)
    named = {one.horse.name for one in listed if runner_called(card, one.horse.name)}
    out = [one for one in listed if one.engagement.state == Engagement.State.WITHDRAWN]
    missing = tuple(one for one in listed if one not in out and one.reached and one.horse.name not in named)
    told = {one.horse.name for one in listed}
    unsaid = tuple(name for name in sorted(ours) if name not in told and runner_called(card, name))
    still = tuple(one for one in out if one.horse.name in named)
    return Gaps(missing, unsaid, not taken_out(race, card, moment, terms), still)


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
