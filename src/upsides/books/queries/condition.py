"""How a horse is at a moment: what it has done, whether it is fit and fresh, what a vet may want to know.

No more of it than the visitor may see, and nothing of it folded into one number.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import nan
from pathlib import Path
from typing import Any, Final

import numpy as np

from upsides.books.models import Horse, Inside, Move
from upsides.books.queries import moments
from upsides.books.queries.condition_answers import changes_of
from upsides.books.queries.condition_done import DoneByHorses, done_by
from upsides.books.queries.condition_first import STRIDES, stands_out
from upsides.books.queries.condition_known import NOTHING, WorkedOut, worked_out
from upsides.books.queries.condition_measured import measured_days, not_worked_out
from upsides.books.queries.condition_signs import Signs, signs_of
from upsides.books.queries.condition_vet import ForTheVet, for_the_vet
from upsides.books.queries.horse import seen
from upsides.books.queries.moments import Moment
from upsides.books.queries.string import known_of, this_season
from upsides.books.queries.visitors import Visitor, opened
from upsides.books.queries.yard_rules import yard_rules
from upsides.condition.done.summary import Done, string_done
from upsides.condition.exposure.held import Held, of_note, string_held
from upsides.condition.fit import (
    KINDS,
    Fit,
    Kind,
    Piece,
    Ran,
    figures_piece,
    figures_spread,
    fit_of,
    piece_of,
    yards_spread,
)
from upsides.condition.fresh.answer import Fresh, Valued, fresh
from upsides.condition.fresh.mass import BEFORE_DAYS

SINCE_DAYS: Final = 60
"""Figures in races of so many days are held against those of the year before; our own choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """How a horse is.

    Args:
        done: what it has done.
        held: every published figure beside its own number.
        notable: those that are reached, then those that are near.
        fit: pieces of evidence against itself some weeks ago.
        fresh: sign by sign.
        vet: what a vet may want to know.
        signs: what `fresh` was made from.
        did: what was done, laid out for sums; the horse has place 0.
        runs: day, metres and our figure of each run (NaN where there is none), earliest first.
        stands_out: what the watch over all readings found of it: the kind of reading, and it in words.
        worked_out: what of the whole yard was worked out by then.
        place: where it is; None in training since it came.
        left: the day on which it left the yard for good; None while it is here.
    """

    done: Done
    held: tuple[Held, ...]
    notable: tuple[Held, ...]
    fit: Fit
    fresh: Fresh
    vet: ForTheVet
    signs: Signs
    did: DoneByHorses
    runs: tuple[tuple[date, float, float], ...]
    stands_out: tuple[tuple[str, str], ...] = ()
    worked_out: WorkedOut = NOTHING
    place: Move | None = None
    left: date | None = None

    @property
    def strides_out(self) -> tuple[tuple[str, str], ...]:
        """What the watch found of its strides, which is for the vet."""
        return tuple(one for one in self.stands_out if one[0] in STRIDES)

    @property
    def readings_out(self) -> tuple[tuple[str, str], ...]:
        """What the watch found of all other readings."""
        return tuple(one for one in self.stands_out if one[0] not in STRIDES)


@dataclass(frozen=True, slots=True, eq=False)
class HorseCondition:
    """A horse with how it is.

    Args:
        horse: its row of the books.
        open: whether that is open to the visitor.
        condition: how it is; None where it is not open.
    """

    horse: Horse
    open: bool
    condition: Condition | None = None


def horse_condition(library: Path, who: Visitor, moment: Moment, number: int) -> HorseCondition | None:
    """Return how a horse is at a moment, None where the visitor may see no such horse."""
    horse = seen(who, moment, number)
    if horse is None:
        return None
    if number not in opened(who, Inside.FIGURES):
        return HorseCondition(horse, open=False)
    return HorseCondition(horse, open=True, condition=condition_of(library, who, moment, horse))


def condition_of(library: Path, reader: Visitor, moment: Moment, horse: Horse) -> Condition:
    """Return how a horse is at a moment."""
    did = done_by(library, moment, [horse])
    until = did.yard.told_until(0, moment.day)
    done = string_done(did.yard, [0], moment.day, until)[0]
    figures = _figures(library, moment)
    mine = {day: lb for day, lb, _sd in figures.get(horse.pk, ())}
    runs = tuple((day, metres, mine.get(day, nan)) for day, metres in did.ran[horse.pk])
    signs = signs_of(moment, horse.pk, reader, runs, done.fast_works)
    age = this_season(moment) - horse.foaled
    lost = {"loss of mass": np.array([_lost(signs.seen.mass, runs)])}
    held = string_held(did.yard, [0], moment.day, [age], lost, until=until)[0]
    return Condition(
        done,
        held,
        of_note(held),
        _fit(moment, horse.pk, figures),
        fresh(signs.seen, moment.day),
        for_the_vet(moment, horse.pk, reader, yard_rules(library).overrides),
        signs,
        did,
        runs,
        stands_out(moment, horse.pk),
        worked_out(moment),
        moments.whereabouts(moment).get(horse.pk),
        horse.left if horse.left is not None and horse.left <= moment.day else None,
    )


def _figures(library: Path, moment: Moment) -> dict[int, list[Ran]]:
    """Return day, our figure and its error, lb, of the runs of each horse that was in the books."""
    known = known_of(library, moment, figures=True)
    if known.state is None:
        return {}
    from upsides.books.queries.results import starts_of

    keyed = dict(moments.rows(Horse, moment).values_list("horse_key", "pk"))
    starts = starts_of(known.state, known.keys)
    told = starts.filter(starts["horse_key"].is_in(list(keyed)), starts["date"] < moment.day)
    found: dict[int, list[Ran]] = {}
    for key, race, day in told.select("horse_key", "race_key", "date").iter_rows():
        standing = known.figures.get(key)
        figure = _figure(standing.figures.get(race)) if standing else None
        if figure is not None:
            found.setdefault(keyed[key], []).append((day, *figure))
    return found


def _figure(one: Mapping[str, Any] | None) -> tuple[float, float] | None:
    value, sd = (one["figure_lb"], one["figure_sd_lb"]) if one else (None, None)
    return None if value is None or not sd else (float(value), float(sd))


def _fit(moment: Moment, horse: int, figures: Mapping[int, Sequence[Ran]]) -> Fit:
    """Return the pieces of evidence, with what was measured and says nothing."""
    days = measured_days(moment, horse)
    last: dict[Kind, date] = {kind: told[-1] for kind, told in days.items()}
    ran = [day for day, _lb, _sd in figures.get(horse, ())]
    measured = last | ({"figures in races": max(ran)} if ran else {})
    untold = not_worked_out(moment, days)
    return fit_of(_pieces(moment, horse, figures), moment.day, measured=measured, untold=untold)


def _pieces(moment: Moment, horse: int, figures: Mapping[int, Sequence[Ran]]) -> list[Piece]:
    changes = changes_of(moment, horse)
    found = [piece_of(kind, changes[kind]) for kind in KINDS if kind in changes and changes[kind].last <= moment.day]
    since = moment.day - timedelta(days=SINCE_DAYS)
    yard = yards_spread([figures_spread(runs, since) for runs in figures.values()])
    ran = figures_piece(figures.get(horse, ()), since, yard)
    return [*found, *([ran] if ran is not None else [])]


def _lost(masses: Valued, runs: Sequence[tuple[date, float, float]]) -> float:
    """Return by how many kg the last mass lies below that of the last run; NaN where either is not known."""
    if not masses or not runs:
        return nan
    ran = max(day for day, _metres, _figure in runs)
    then = [(day, kg) for day, kg in masses if 0 <= (ran - day).days <= BEFORE_DAYS]
    later = [(day, kg) for day, kg in masses if day > ran]
    return max(then)[1] - max(later)[1] if then and later else nan
