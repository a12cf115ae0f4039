"""The morning: whom to look at first, what has not been done yet, who goes out, who runs, what is due."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from upsides.books.models import Box, Caution, Engagement, Gallop, Horse, Person, Stand, Yard
from upsides.books.queries.barred import barred
from upsides.books.queries.boxes import Stood, boxes, by_barn
from upsides.books.queries.checks import LOOKED
from upsides.books.queries.days import entries_of
from upsides.books.queries.deadlines import Deadline, Runner, deadlines, runners
from upsides.books.queries.due import EGGS, Due, DueList, due
from upsides.books.queries.due_care import AGAIN
from upsides.books.queries.engaged import engaged
from upsides.books.queries.in_training import in_training
from upsides.books.queries.looking import Look, look_first
from upsides.books.queries.lots import Lot, lots
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered
from upsides.books.queries.staff import at_work
from upsides.books.queries.visitors import Open
from upsides.books.queries.yard_rules import rules_state, yard_rules
from upsides.rules import Overrides

SOON_H: Final = 48.0
"""Hours within which deadlines are shown."""
DUE_DAYS: Final = 2
RUNNER_DAYS: Final = 2


@dataclass(frozen=True, slots=True)
class Unchecked:
    """The horses of a barn that nobody looked at today.

    Args:
        barn: its name, empty for horses without a box.
        horses: in walking order, each with its box.
        of: how many horses the barn has in training.
    """

    barn: str
    horses: tuple[tuple[Horse, Stood | None], ...]
    of: int


@dataclass(frozen=True, slots=True)
class Morning:
    """One morning of the yard.

    Args:
        members: numbers of the horses in training.
        looks: whom to look at first.
        unchecked: by barn, those barns only that have any, in walking order.
        lots: the lots in order, those that go out in none last.
        runners: declared, today and the next days.
        deadlines: within two days, next steps only; none for somebody to whom plans are not open.
        plans: whether any deadline may be told.
        cannot_run: numbers of the engagements of deadlines and runners in which the horse cannot run by what is known
            now; none of a horse whose plans may not be told.
        due: what is due.
        away: who does not work today, and why, by number of the person.
        places: boxes by number of the horse.
    """

    members: frozenset[int]
    looks: tuple[Look, ...]
    unchecked: tuple[Unchecked, ...]
    lots: tuple[Lot, ...]
    runners: tuple[Runner, ...]
    deadlines: tuple[Deadline, ...]
    plans: bool
    cannot_run: frozenset[int]
    due: tuple[Due, ...]
    away: Mapping[int, str]
    places: Mapping[int, Stood]

    @property
    def string(self) -> int:
        """Return how many horses are in training."""
        return len(self.members)

    @property
    def out(self) -> int:
        """Return how many horses of those in training go out in the lots; one that has left since is none of them."""
        ridden = {ride.horse.pk for lot in self.lots if lot.number is not None for ride in lot.rides}
        return len(ridden & self.members)

    @property
    def eyes_on(self) -> int:
        """Return how many horses need somebody's eyes before they go out."""
        return sum(look.eyes_on for look in self.looks)


def morning(folder: Path, moment: Moment, plans: Open) -> Morning:
    """Return the morning of the moment's day.

    Args:
        folder: of the library, where the yard's own rules lie.
        moment: when to look from.
        plans: the horses whose deadlines may be told.
    """
    day, rules = moment.day, yard_rules(folder)
    away, places = away_on(moment, day), boxes(moment)
    string = list(in_training(moment).values())
    dated = [one for one in deadlines(moment, SOON_H) if one.horse.pk in plans] if plans else []
    running = runners(moment, day, day + timedelta(days=RUNNER_DAYS))
    return Morning(
        frozenset(one.pk for one in string),
        tuple(look_first(moment, rules.overrides)),
        tuple(unchecked(moment, string, places)),
        tuple(lots_of(moment, day, away)),
        tuple(running),
        tuple(dated),
        bool(plans),
        cannot_run(folder, moment, [one.engagement for one in dated], [one.engagement for one in running], plans),
        tuple(due_of(folder, moment, rules.overrides)),
        away,
        places,
    )


def cannot_run(
    folder: Path, moment: Moment, due: Iterable[Engagement], runs: Iterable[Engagement], plans: Open
) -> frozenset[int]:
    """Return the numbers of the engagements in which a horse cannot run by what is known now.

    Args:
        folder: of the library.
        moment: when to look from.
        due: races of which something has to be said.
        runs: races for which horses are declared.
        plans: the horses of which it may be told.
    """
    said = {row.pk: row for row in (*due, *runs) if row.horse_id in plans}
    if not said:
        return frozenset()
    days = [row.day for row in said.values()]
    found = engaged(folder, moment, min(days), max(days), {row.horse_id for row in said.values()})
    return frozenset(barred(folder, moment, [one for one in found if one.engagement.pk in said]))


def lots_of(moment: Moment, day: date, away: Mapping[int, str]) -> list[Lot]:
    """Return the lots of a day, made anew where anything that they hang on has changed."""
    kinds = ("ordered", "exercise", "gallop_state", "vet_finding")
    tables = (Horse, Person, Gallop, Caution, Stand, Box)
    who = tuple(sorted(away.items()))
    return remembered("lots", moment, kinds, tables, lambda: lots(moment, day, away), day, who)


def due_of(folder: Path, moment: Moment, overrides: Overrides) -> DueList:
    """Return what is due within two days, made anew where anything that it hangs on has changed."""
    kinds = (*AGAIN, *EGGS, "treatment", "vaccination")
    tables = (Horse, Engagement, Yard)
    return remembered(
        "due", moment, kinds, tables, lambda: due(moment, DUE_DAYS, overrides), str(folder), rules_state(folder)
    )


def away_on(moment: Moment, day: date) -> dict[int, str]:
    """Return who does not work on a day, by number of the person: why, empty for a free day.

    Somebody of whom no hours are known is taken to be there.
    """
    known = [worker for worker in at_work(moment, day) if worker.known or worker.days[0].away]
    return {worker.number: worker.days[0].away for worker in known if not worker.days[0].spans}


def missed(found: Iterable[Lot], away: Mapping[int, str]) -> list[tuple[int, str]]:
    """Return who is on the list of a day although away on it, by name: number and name."""
    riders = {ride.order.rider: ride.rider for lot in found for ride in lot.rides if ride.done is None}
    return sorted(
        ((one, name) for one, name in riders.items() if one is not None and one in away), key=lambda one: one[1]
    )


def unchecked(moment: Moment, string: list[Horse], places: Mapping[int, Stood]) -> list[Unchecked]:
    """Return by barn the horses that nobody looked at today, barns and boxes in walking order.

    That something was measured does not say that the horse was looked at.
    """
    looked = set(entries_of(moment, LOOKED, moment.day, moment.day).values_list("horse", flat=True))
    found = [
        Unchecked(barn, tuple((one, places.get(one.pk)) for one in horses if one.pk not in looked), len(horses))
        for barn, horses in by_barn(string, places).items()
    ]
    return [one for one in found if one.horses]
