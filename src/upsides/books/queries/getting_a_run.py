"""Where a horse stands among the entries of a race that are written down, and how likely it is to get a run."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from upsides.books.queries.entrants import entrants
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import Case
from upsides.errors import UpsidesError
from upsides.placing import Entered, Standing, Terms, entered, getting_a_run
from upsides.results.naming import key_of
from upsides.results.race_cards import CardRunner, read_card
from upsides.trade.units import POUND_KG

TAKEN_OUT: Final = 0.3
"""Share of entries that are taken out before the field is settled; common practice, no source. None once stalls are
drawn."""


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


def room_for(folder: Path, moment: Moment, case: Case, terms: Terms) -> Room | None:
    """Return a horse's rank among the entries and its chance of a run; None where no entries are written down.

    Nothing is told either where the race states no maximum field, or no rule on elimination is known.

    Args:
        folder: of the library.
        moment: when to look from.
        case: the horse and the race.
        terms: the yard's own rules.
    """
    card = [one for one in read_card(folder, case.code, moment.at) if key_of(one.name) != key_of(case.horse.name)]
    if not card or not case.open:
        return None
    mine = entered(entrants(folder, moment, [case.horse])[case.horse.pk], case.race, terms, stays=1.0)
    withdrawn = 0.0 if any(one.stall for one in card) else TAKEN_OUT
    try:
        one = _standing(case, mine, [_entry(each, case) for each in card], withdrawn, terms)
        if one.by == "ballot":
            return Room(one.best, one.worst, one.chance, one.chance, len(card) + 1, 0, one)
        unknown = [k for k, each in enumerate(card) if one.by == "mark" or each.weight_lb is None]
        ahead = [replace(_entry(each, case), weight=9e9, mark=9e9) if k in unknown else _entry(each, case)
                 for k, each in enumerate(card)]  # fmt: skip
        other = _standing(case, mine, ahead, withdrawn, terms)
    except UpsidesError:
        return None
    return Room(one.best, other.worst, one.chance, other.chance, len(card) + 1, len(unknown), one)


def _entry(one: CardRunner, case: Case) -> Entered:
    kilograms = case.carried is not None and case.carried.unit == "kg"
    weight = None if one.weight_lb is None else one.weight_lb * (POUND_KG if kilograms else 1.0)
    return Entered(one.name, weight)


def _standing(case: Case, mine: Entered, others: list[Entered], withdrawn: float, terms: Terms) -> Standing:
    found = getting_a_run(case.race, [mine, *others], withdrawn=withdrawn, terms=terms)
    return next(one for one in found if one.horse == mine.horse)
