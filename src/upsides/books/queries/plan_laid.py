"""The last plan with the days exchanged that were moved by hand since: what stands until it is made anew."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from upsides.books import clock
from upsides.books.diary.work import Ordered
from upsides.books.models import Answer
from upsides.books.queries.days import entries_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.plan_stands import Stands, stand_in

GONE: Final = "gone"
"""Under this name a horse has its days whose work was moved away since: places of those, and of where it went."""


@dataclass(frozen=True, slots=True)
class _Move:
    """An order that was moved by hand: to which place of the plan, from which."""

    to: int
    from_: int
    order: Ordered


def moves_laid(moment: Moment, row: Answer) -> Mapping[str, Any]:
    """Return what an answer keeps of the string's plan, with the moves laid over it that it was not made round.

    The day that work was moved from has what the other had, as the next plan begins with. Such a horse has no other
    plans to choose from: they are of the plan before.

    Args:
        moment: when to look from.
        row: the answer.
    """
    values: Mapping[str, Any] = row.values
    first, count = date.fromisoformat(values["first"]), values["days"]
    moves = _moves(moment, first, count)
    horses, known, exchanged = dict(values["horses"]), dict(values["orders"]), set()
    for number, stands in stand_in(moment, row, [int(text) for text in horses]).items():
        own = horses.get(str(number))
        if own is None:
            continue
        was = [name for name, *_routine in own["days"]]
        days = [stands.days.get(first + timedelta(days=place), name) for place, name in enumerate(was)]
        orders = {**stands.orders, **values["orders"]}
        gone = _exchange(days, [one for one in moves.get(number, ()) if not _has(stands, one, first, days, orders)])
        if days == was:
            continue
        known |= {name: orders[name] for name in days}
        exchanged |= {(place, number) for place, name in enumerate(was) if days[place] != name}
        pairs = [[name, *routine] for name, (_was, *routine) in zip(days, own["days"], strict=True)]
        horses[str(number)] = {**own, "days": pairs, "others": (), GONE: gone}
    if not exchanged:
        return values
    beside = [pair for pair in values["pairs"] if not exchanged & {(pair[0], pair[1]), (pair[0], pair[2])}]
    return {**values, "horses": horses, "orders": known, "pairs": beside}


def moved_away(values: Mapping[str, Any], number: int) -> dict[date, date]:
    """Return the days of a horse whose work was moved away since the plan was made, each with the day it went to."""
    first, own = date.fromisoformat(values["first"]), values["horses"].get(str(number), {})
    return {first + timedelta(days=one): first + timedelta(days=to) for one, to in own.get(GONE, {}).items()}


def _exchange(days: list[str], moves: Sequence[_Move]) -> dict[int, int]:
    """Exchange days that were moved; return from which places work is gone, and to which."""
    for one in moves:
        days[one.to], days[one.from_] = days[one.from_], days[one.to]
    return {one.from_: one.to for one in moves}


def _has(stands: Stands, move: _Move, first: date, days: Sequence[str], orders: Mapping[str, Any]) -> bool:
    """Return whether a plan was made round a move; one that does not say so has the same work there."""
    if stands.moves is not None:
        to, from_ = (first + timedelta(days=place) for place in (move.to, move.from_))
        return (to, from_) in stands.moves
    _title, exercise, furlongs, *_more = orders[days[move.to]]
    same_far = not furlongs or not move.order.furlongs or furlongs == move.order.furlongs
    return bool(exercise == move.order.exercise and same_far)


def _moves(moment: Moment, first: date, count: int) -> dict[int, list[_Move]]:
    """Return the orders that were moved from day to day of a plan, by number of the horse, as they were made."""
    found: dict[int, list[_Move]] = {}
    if not count:
        return found
    zone = clock.place().zone
    entries = entries_of(moment, [Ordered.name], first, first + timedelta(days=count - 1))
    for entry in entries.filter(values__moved_from__isnull=False).order_by("recorded_at", "pk"):
        order = Ordered.kept_as(entry.values)
        to = (entry.happened_at.astimezone(zone).date() - first).days
        from_ = (date.fromisoformat(order.moved_from or "") - first).days
        if entry.horse_id is not None and 0 <= from_ < count:
            found.setdefault(entry.horse_id, []).append(_Move(to, from_, order))
    return found
