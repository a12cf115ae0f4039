"""Where a horse stands among the entries of a race that are written down, and how likely it is to get a run."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from upsides.books import clock
from upsides.books.queries.entrants import entrants
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import Case, dues_of, too_late
from upsides.errors import UpsidesError
from upsides.placing import Entered, Race, Stage, Standing, Terms, entered, getting_a_run
from upsides.results.race_cards import CardRunner, read_card, runner_called
from upsides.trade.units import POUND_KG

TAKEN_OUT: Final = 0.3
"""Share of entries that are taken out before the field is settled; common practice, no source. None once stalls are
drawn or declarations have closed."""
_FIRST: Final = 9e9
"""Weight and mark of one that is taken to stand before all others."""


@dataclass(frozen=True, slots=True)
class Room:
    """A horse among the entries.

    Args:
        best, worst: its rank, 1 the first to get a run: where all others of which it is not known where they stand are
            behind it, and where all are before it.
        most, least: its chance of a run, the same.
        entries: how many are written down, itself among them.
        unknown: of how many others it is not known.
        standing: by what the order goes, and the rule.
    """

    best: int
    worst: int
    most: float
    least: float
    entries: int
    unknown: int
    standing: Standing


def room_for(folder: Path, moment: Moment, case: Case, terms: Terms, reached: Stage | None = None) -> Room | None:
    """Return a horse's rank among the entries and its chance of a run; None where no entries are written down.

    Nothing is told either where the race states no maximum field, or no rule on elimination is known, or the horse can
    no longer get to the start: it was taken out, or a step was not taken in time and the card does not name it.

    Args:
        folder: of the library.
        moment: when to look from.
        case: the horse and the race.
        terms: the yard's own rules.
        reached: the last stage that was said for the horse; None where it is not entered.
    """
    named = read_card(folder, case.code, moment.at)
    own = runner_called(named, case.horse.name)
    card = [one for one in named if one is not own]
    late = own is None and too_late(case.race, reached, moment.at or clock.now(), terms)
    if not card or not case.open or late or reached is Stage.WITHDRAW:
        return None
    mine = entered(entrants(folder, moment, [case.horse])[case.horse.pk], case.race, terms, stays=1.0)
    withdrawn = taken_out(case.race, card, moment, terms)
    try:
        one = _standing(case, mine, _entries(card, case), withdrawn, terms)
        if one.by == "ballot":
            return Room(one.best, one.worst, one.chance, one.chance, len(card) + 1, 0, one)
        unknown = _unknown(card, one.by)
        ahead = _ahead(card, unknown, case)
        other = _standing(case, mine, ahead, withdrawn, terms)
    except UpsidesError:
        return None
    return Room(one.best, other.worst, one.chance, other.chance, len(card) + 1, len(unknown), one)


def taken_out(race: Race, card: Sequence[CardRunner], moment: Moment, terms: Terms) -> float:
    """Return the share of those written down that will still be taken out; none once the field is settled."""
    at, dues = moment.at or clock.now(), dues_of(race, terms)[0]
    settled = any(one.stage is Stage.DECLARE and one.at < at for one in dues) or any(one.stall for one in card)
    return 0.0 if settled else TAKEN_OUT


def chances_to_run(
    case: Case, mine: Entered, others: Sequence[CardRunner], withdrawn: float, terms: Terms
) -> tuple[float, list[float]]:
    """Return a horse's chance of a run if it stays in, and that of each of the others, who may be taken out.

    Those of whom it is not known where they stand are taken before all others and behind them, each half the time. So
    long as the race states no maximum field, or no rule on elimination is known, only being taken out counts.

    Args:
        case: the horse and the race.
        mine: the horse as an entry, which stays in.
        others: of the card, in any order.
        withdrawn: share of them that will still be taken out.
        terms: the yard's own rules.
    """
    stay = 1.0 - withdrawn
    try:
        behind = getting_a_run(case.race, [mine, *_entries(others, case)], withdrawn=withdrawn, terms=terms)
        by = behind[0].by
        before = [mine, *_ahead(others, _unknown(others, by), case)]
        ways = [behind, getting_a_run(case.race, before, withdrawn=withdrawn, terms=terms)]
    except UpsidesError:
        return 1.0, [stay] * len(others)
    chances = [{one.horse: one.chance for one in way} for way in ways]
    share = {name: sum(way[name] for way in chances) / len(chances) for name in chances[0]}
    return share[mine.horse], [stay * share[one.name] for one in others]


def _unknown(card: Sequence[CardRunner], by: str) -> list[int]:
    """Return of which runners of a card it is not known where they stand in the order."""
    return [] if by == "ballot" else [k for k, one in enumerate(card) if by == "mark" or one.weight_lb is None]


def _ahead(card: Sequence[CardRunner], unknown: Collection[int], case: Case) -> list[Entered]:
    """Return the entries with some of them before all others."""
    told = enumerate(_entries(card, case))
    return [replace(one, weight=_FIRST, mark=_FIRST) if k in unknown else one for k, one in told]


def _entries(card: Sequence[CardRunner], case: Case) -> list[Entered]:
    return [_entry(one, case) for one in card]


def _entry(one: CardRunner, case: Case) -> Entered:
    kilograms = case.carried is not None and case.carried.unit == "kg"
    weight = None if one.weight_lb is None else one.weight_lb * (POUND_KG if kilograms else 1.0)
    return Entered(one.name, weight)


def _standing(case: Case, mine: Entered, others: list[Entered], withdrawn: float, terms: Terms) -> Standing:
    found = getting_a_run(case.race, [mine, *others], withdrawn=withdrawn, terms=terms)
    return next(one for one in found if one.horse == mine.horse)
