"""In which box each horse stood from when to when, who looked after it, and when it was turned out."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from upsides.demo.invented import Invented
from upsides.demo.yard import YARD
from upsides.demo.yardbooks.events import Events
from upsides.demo.yardbooks.grid import Grid, Ints, runs_of_true
from upsides.demo.yardbooks.places import ISOLATION, boxes_in_a_barn

_STANDS = {"source_horse": pl.String, "barn": pl.String, "box": pl.String, "first_day": pl.Date}
_MOVES = {"source_horse": pl.String, "to": pl.String, "first_day": pl.Date, "note": pl.String}
_SWAPS = 8
_FAR = 4_000_000


@dataclass(frozen=True, slots=True)
class Housed:
    """Who stands where.

    Args:
        barn: number of each horse's barn, among the yard's barns.
        boxes: for each horse the boxes it stood in: (number of the box in its barn, ordinal of its first day).
        carer: login of who looks after each.
    """

    barn: Ints
    boxes: list[list[tuple[int, int]]]
    carer: list[str]


def housed(rng: np.random.Generator, invented: Invented) -> Housed:
    """Find a box for every horse that the yard ever had; those of today stand where `Invented.string` has them."""
    today_ = {row["source_horse"]: row for row in invented.string.to_dicts()}
    free: list[list[list[tuple[int, int]]]] = [
        [[] for _ in range(boxes_in_a_barn(invented.string.height))] for _ in YARD.barns
    ]
    stays = invented.stays.to_dicts()
    spans = [(row["joined"].toordinal(), row["left"].toordinal() if row["left"] else _FAR) for row in stays]
    barn = np.array(
        [
            YARD.barns.index(today_[row["source_horse"]]["barn"]) if row["source_horse"] in today_ else -1
            for row in stays
        ]
    )
    boxes: list[list[tuple[int, int]]] = [[] for _ in stays]
    for i in np.flatnonzero(barn >= 0).tolist():
        number = int(today_[stays[i]["source_horse"]]["box"]) - 1
        free[barn[i]][number].append(spans[i])
        boxes[i] = [(number, spans[i][0])]
    for i in sorted(np.flatnonzero(barn < 0).tolist(), key=lambda i: spans[i]):
        barn[i] = _emptiest(free, spans[i])
        boxes[i] = _found(rng, free[barn[i]], spans[i])
    _swap(rng, free, barn, boxes, spans, invented.today.toordinal())
    return Housed(barn, boxes, _carers(invented, stays, barn))


def stands(grid: Grid, events: Events, own: Housed) -> pl.DataFrame:
    """Return the rows of who stood where: source_horse, barn, box, first_day."""
    rows = [
        (grid.codes[i], YARD.barns[own.barn[i]], str(number + 1), date.fromordinal(day))
        for i, found in enumerate(own.boxes)
        for number, day in found
    ]
    for place, horse in enumerate(events.cough.apart if events.cough else []):
        begin = events.cough.begins[events.cough.horses.index(horse)] if events.cough else 0
        back = next(number for number, day in reversed(own.boxes[horse]) if day <= grid.first + begin)
        rows.append((grid.codes[horse], ISOLATION, str(place + 1), grid.on(begin)))
        rows.append((grid.codes[horse], YARD.barns[own.barn[horse]], str(back + 1), grid.on(begin + 12)))
    return (
        pl.DataFrame(rows, schema=_STANDS, orient="row")
        .unique(["source_horse", "first_day"], keep="last")
        .sort("source_horse", "first_day")
    )


def moves(grid: Grid, events: Events) -> pl.DataFrame:
    """Return when horses were turned out and came back: source_horse, to, first_day, note."""
    rows = []
    for i, code in enumerate(grid.codes):
        for begin, end in runs_of_true(events.turned_out[i]):
            rows.append((code, "turned_out", grid.on(begin), "its holiday"))
            if end < grid.days and grid.here[i, end]:
                rows.append((code, "training", grid.on(end), ""))
    return pl.DataFrame(rows, schema=_MOVES, orient="row")


def _emptiest(free: list[list[list[tuple[int, int]]]], span: tuple[int, int]) -> int:
    """Return the barn that has most room on its fullest day of a stay."""

    def fullest(barn: list[list[tuple[int, int]]]) -> int:
        days = [span[0], *(begin for box in barn for begin, _ in box if span[0] < begin < span[1])]
        return max(sum(begin <= day < end for box in barn for begin, end in box) for day in days)

    taken = [fullest(barn) for barn in free]
    return taken.index(min(taken))


def _found(rng: np.random.Generator, barn: list[list[tuple[int, int]]], span: tuple[int, int]) -> list[tuple[int, int]]:
    """Return boxes for a stay: one for all of it where there is one, else one after another."""
    day, end = span
    found: list[tuple[int, int]] = []
    while day < end:
        lasts = [_until(box, day, end) for box in barn]
        longest = max(lasts)
        number = int(rng.choice(np.flatnonzero(np.array(lasts) == longest)))
        assert longest > day, "more horses than boxes"  # noqa: S101 -- sizes are made so that this cannot be
        barn[number].append((day, longest))
        found.append((number, day))
        day = longest
    return found


def _until(box: list[tuple[int, int]], day: int, end: int) -> int:
    """Return until when a box is free from a day on."""
    if any(begin <= day < last for begin, last in box):
        return day
    return min([end, *(begin for begin, _ in box if begin > day)])


def _swap(
    rng: np.random.Generator,
    free: list[list[list[tuple[int, int]]]],
    barn: Ints,
    boxes: list[list[tuple[int, int]]],
    spans: list[tuple[int, int]],
    today: int,
) -> None:
    """Let a few horses of today have stood in another box of their barn before they came into their own."""
    old = [i for i, (begin, end) in enumerate(spans) if end == _FAR and begin < today - 300]
    for i in rng.permutation(old)[:_SWAPS].tolist():
        begin, number = spans[i][0], boxes[i][0][0]
        day = int(rng.integers(begin + 60, today - 30))
        for other, box in enumerate(free[barn[i]]):
            if all(last <= begin or first >= day for first, last in box):
                box.append((begin, day))
                boxes[i] = [(other, begin), (number, day)]
                break


def _carers(invented: Invented, stays: list[dict[str, object]], barn: Ints) -> list[str]:
    now = dict(invented.string.select("source_horse", "carer").rows())
    carers = invented.people.filter(pl.col("roles").list.contains("carer"))
    hands = [carers.filter(pl.col("barn") == name)["login"].to_list() for name in YARD.barns]
    return [now.get(str(row["source_horse"])) or hands[barn[i]][i % len(hands[barn[i]])] for i, row in enumerate(stays)]
