"""Contacts of horses from what they shared: a pure reading of stays in boxes and rows of the diary.

Everything that two horses can share becomes a `Trace` of each: the same trace of two horses is a contact.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise
from typing import Any


class How(StrEnum):
    """How two horses were in contact, the closest first."""

    BOX = "box"
    NEIGHBOUR = "neighbour"
    BARN = "barn"
    JOURNEY = "journey"
    LORRY = "lorry"
    UPSIDES = "upsides"
    TACK = "tack"
    LOT = "lot"
    RIDER = "rider"
    GIVER = "giver"
    FARRIER = "farrier"
    GALLOP = "gallop"


@dataclass(frozen=True, slots=True)
class Trace:
    """Something that a horse shares with whoever else has the same `how` and `key`.

    Args:
        horse: number of the horse.
        on: the day.
        how: what was shared.
        key: which: a box, a lorry on a day ...
        side: of neighbours, which box: two on the same side are not each other's neighbours.
        entry: number of the entry it comes from, None for a box.
        label: what was shared, as it was entered.
    """

    horse: int
    on: date
    how: How
    key: tuple[Any, ...]
    side: int = 0
    entry: int | None = None
    label: str = ""


@dataclass(frozen=True, slots=True)
class Contact:
    """One horse that another was in contact with, in one way.

    Args:
        horse: number of the other horse.
        how: in what way.
        seen: days on which it was so of the other horse, in order, each with the number of the entry that says so;
            None for boxes.
        labels: names of what was shared as they were entered: lorries, tack.
        keys: which rows were shared: the first of each is the number of a box, a person, a gallop or a lot.
    """

    horse: int
    how: How
    seen: tuple[tuple[date, int | None], ...]
    labels: tuple[str, ...]
    keys: tuple[tuple[Any, ...], ...]

    @property
    def days(self) -> tuple[date, ...]:
        """Return the days, each once."""
        return tuple(dict.fromkeys(day for day, _entry in self.seen))


def shared(traces: Iterable[Trace], horse: int) -> list[Contact]:
    """Return the contacts of a horse among traces: closest way first, then by the last day, latest first."""
    rows = list(traces)
    own: dict[tuple[How, tuple[Any, ...]], set[int]] = defaultdict(set)
    for one in rows:
        if one.horse == horse:
            own[one.how, one.key].add(one.side)
    found: dict[tuple[int, How], list[Trace]] = defaultdict(list)
    for one in rows:
        sides = own.get((one.how, one.key))
        if one.horse != horse and sides and (one.how is not How.NEIGHBOUR or sides - {one.side}):
            found[one.horse, one.how].append(one)
    order = list(How)
    contacts = [_contact(other, how, some) for (other, how), some in found.items()]
    return sorted(contacts, key=lambda one: (order.index(one.how), -one.days[-1].toordinal(), one.horse))


def _contact(other: int, how: How, traces: Sequence[Trace]) -> Contact:
    seen = sorted({(one.on, one.entry) for one in traces}, key=lambda pair: (pair[0], pair[1] or 0))
    labels = dict.fromkeys(one.label for one in traces if one.label)
    return Contact(other, how, tuple(seen), tuple(labels), tuple(dict.fromkeys(one.key for one in traces)))


@dataclass(frozen=True, slots=True)
class Stay:
    """A stay in a box: number of horse and box, first and last day, both included."""

    horse: int
    box: int
    first: date
    last: date


def stays(stands: Iterable[tuple[int, int | None, date]], first: date, last: date) -> Iterator[Stay]:
    """Yield the stays that reach into the days from `first` to `last`, cut to them.

    A horse is still in its old box on the day on which it moves.

    Args:
        stands: horse, box and first day, by horse and day.
        first: the first day.
        last: the last day, itself included.
    """
    by_horse: dict[int, list[tuple[date, int | None]]] = defaultdict(list)
    for horse, box, since in stands:
        by_horse[horse].append((since, box))
    for horse, rows in by_horse.items():
        for (since, box), (until, _) in pairwise([*rows, (last, None)]):
            if box is not None and since <= last and until >= first:
                yield Stay(horse, box, max(since, first), min(until, last))


def box_traces(found: Iterable[Stay], walk: Sequence[tuple[int, str, str]]) -> Iterator[Trace]:
    """Yield the traces of stays: the same box at any time, and boxes beside each other on the same day.

    Args:
        found: the stays.
        walk: number, barn and name of the boxes in walking order; a box without a name is only "in the barn".
    """
    beside: dict[int, list[int]] = defaultdict(list)
    named = [(number, barn) for number, barn, name in walk if name]
    nameless = {number for number, _, name in walk if not name}
    for (one, barn), (other, also) in pairwise(named):
        if barn == also:
            beside[one].append(other)
            beside[other].append(one)
    for stay in found:
        for n in range((stay.last - stay.first).days + 1):
            day = stay.first + timedelta(days=n)
            if stay.box in nameless:
                yield Trace(stay.horse, day, How.BARN, (stay.box,))
                continue
            yield Trace(stay.horse, day, How.BOX, (stay.box,))
            for other in beside[stay.box]:
                pair = (min(stay.box, other), max(stay.box, other), day)
                yield Trace(stay.horse, day, How.NEIGHBOUR, pair, stay.box)


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the diary: number, kind, horse, who made it first, day, values as they are kept."""

    number: int
    kind: str
    horse: int
    author: int
    on: date
    values: Mapping[str, Any]


def row_traces(row: Row) -> Iterator[Trace]:
    """Yield the traces that one entry leaves."""
    label = str(row.values.get("lorry") or row.values.get("tack") or "")
    for how, key in _keys(row):
        named = label if how in {How.LORRY, How.JOURNEY, How.TACK} else ""
        yield Trace(row.horse, row.on, how, key, 0, row.number, named)
    if row.kind == "exercise":
        for other in row.values.get("upsides", []):
            pair = (min(row.horse, other), max(row.horse, other), row.on)
            yield Trace(row.horse, row.on, How.UPSIDES, pair, 0, row.number)
            yield Trace(other, row.on, How.UPSIDES, pair, 0, row.number)


def _keys(row: Row) -> Iterator[tuple[How, tuple[Any, ...]]]:
    values, on = row.values, row.on
    if row.kind == "travel":
        lorry = values["lorry"].casefold()
        yield How.LORRY, (lorry, on)
        yield How.JOURNEY, (lorry, on, values["to"].casefold())
    elif row.kind == "exercise":
        shares = {How.LOT: "lot", How.RIDER: "rider", How.GALLOP: "gallop"}
        yield from ((how, (values[name], on)) for how, name in shares.items() if values.get(name) is not None)
        if tack := values.get("tack"):
            yield How.TACK, (tack.casefold(),)
    elif row.kind == "farrier":
        yield How.FARRIER, (on,)
    else:
        yield How.GIVER, (values.get("giver") or row.author, on)


def closest(found: Iterable[Contact]) -> list[Contact]:
    """Return contacts without those that a closer one of the same horse says already, day by day."""
    rows = list(found)
    looser = {How.LORRY: How.JOURNEY, How.LOT: How.UPSIDES, How.GALLOP: How.LOT}
    days = {(one.horse, one.how): set(one.days) for one in rows}
    return [
        one
        for one in rows
        if one.how not in looser or not set(one.days) <= days.get((one.horse, looser[one.how]), set())
    ]
