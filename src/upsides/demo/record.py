"""What the invented world knows of each horse as racing goes on: runs, mark, the trip it is meant for."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.demo.horses import Horses
from upsides.demo.programme import Conditions
from upsides.demo.trainers import HABITS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Record:
    """Arrays with one entry a horse, changed in place after every race.

    Args:
        runs, wins: counts so far.
        last: ordinal of the last run, 0 before the first.
        mark: handicap mark in lb, NaN until one is given.
        best_seen: best of the handicapper's figures so far, lb.
        meant_m: the trip its trainer has in mind, metres.
        sire_m: the trip its pedigree suggests, metres.
    """

    runs: Ints
    wins: Ints
    last: Ints
    mark: Floats
    best_seen: Floats
    meant_m: Floats
    sire_m: Floats


def blank_record(rng: np.random.Generator, horses: Horses) -> Record:
    """Return the record before the first race; trips are first meant by pedigree, seen with error."""
    count = len(horses.names)
    by_sire = np.array([_usual_trip(horses.best_m[horses.sire == s]) for s in range(len(horses.sires))])
    sire_m = by_sire[horses.sire] * np.exp(rng.normal(0, 0.06, count))
    zero = np.zeros(count, dtype=np.int64)
    return Record(
        zero.copy(), zero.copy(), zero.copy(), np.full(count, np.nan), np.full(count, -np.inf), sire_m.copy(), sire_m
    )


def _usual_trip(best_m: Floats) -> float:
    return float(np.exp(np.log(best_m).mean())) if best_m.size else np.nan


def note(
    record: Record,
    which: Ints,
    habit: Ints,
    race: Conditions,
    day: date,
    position: Ints,
    figure_lb: Floats,
) -> None:
    """Write a race into the record: runs, marks, and the trip meant next.

    Args:
        record: changed in place.
        which: horses that started, shape (n,).
        habit: of the trainer of each, shape (n,).
        race: the conditions.
        day: the day.
        position: finishing position, 0 for none, shape (n,).
        figure_lb: the handicapper's figure for each run, shape (n,).
    """
    record.runs[which] += 1
    record.wins[which[position == 1]] += 1
    record.last[which] = day.toordinal()
    seen = position > 0
    record.best_seen[which[seen]] = np.maximum(record.best_seen[which[seen]], figure_lb[seen])
    _remark(record, which[seen], position[seen], figure_lb[seen])
    _rethink(record, which, habit, race.trip.distance_m, position)


def _remark(record: Record, which: Ints, position: Ints, figure_lb: Floats) -> None:
    gain = figure_lb - record.mark[which]
    won, placed = position == 1, (position > 1) & (position <= 4)
    change = np.where(
        won,
        np.maximum(3, 0.7 * gain),
        np.where(placed, np.clip(0.4 * gain, -1, 5), np.clip(0.3 * gain, -4, 0)),
    )
    had = ~np.isnan(record.mark[which])
    due = ~had & ((record.runs[which] >= 3) | ((record.wins[which] > 0) & (record.runs[which] >= 2)))
    fresh = np.clip(record.best_seen[which] - 2, 40, 120)
    record.mark[which] = np.round(np.where(had, record.mark[which] + change, np.where(due, fresh, np.nan)))


def _rethink(record: Record, which: Ints, habits: Ints, distance_m: int, position: Ints) -> None:
    beaten = (position == 0) | (position > max(3, which.size // 2))
    for horse, index, lost in zip(which, habits, beaten, strict=True):
        habit = HABITS[index].trip
        if habit == "last_good" and not lost:
            record.meant_m[horse] = distance_m
        elif habit == "further_when_beaten" and lost:
            record.meant_m[horse] = min(3200.0, record.meant_m[horse] * 1.07)
        elif habit == "shorter_when_beaten" and lost:
            record.meant_m[horse] = max(1000.0, record.meant_m[horse] * 0.94)
        elif habit == "pedigree" and record.runs[horse] > 6 and not lost:
            record.meant_m[horse] = 0.5 * (record.meant_m[horse] + distance_m)
