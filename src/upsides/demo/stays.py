"""Which horses the invented yard ever had, from when to when, and the work that the truth has of them week by week."""

from datetime import date

import numpy as np
import polars as pl

from upsides.demo.horses import Ints
from upsides.demo.world import World
from upsides.demo.writing import grown_sex, source_horse

_EPOCH = date(1970, 1, 1).toordinal()
STAYS = {
    "source_horse": pl.String,
    "name": pl.String,
    "foaled": pl.Int16,
    "sex": pl.String,
    "sire": pl.String,
    "dam": pl.String,
    "joined": pl.Date,
    "left": pl.Date,
    "mass_kg": pl.Float64,
    "mark": pl.Float64,
}


def stays_of_yard(world: World, first: date, today: date) -> pl.DataFrame:
    """Return every horse that the yard had on any day from `first` to `today`.

    Returns:
        source_horse, name, foaled, sex, sire, dam, joined (the day it came), left (the first day on which it was gone,
        none where it is there today), mass_kg (its own mass; with 3 kg a year of age up to five), mark (its handicap
        mark in lb today, none where it has none), in order of name.
    """
    which, joined, left = _own(world, first, today)
    horses, marks = world.horses, world.record.mark
    rows = [
        (
            source_horse(i),
            horses.names[i],
            int(horses.foaled[i]),
            grown_sex(str(horses.sex[i]), min(today.year, date.fromordinal(end).year) - int(horses.foaled[i])),
            horses.sires[horses.sire[i]],
            horses.dams[i],
            date.fromordinal(start),
            date.fromordinal(end) if end <= today.toordinal() else None,
            float(horses.mass_kg[i]),
            None if np.isnan(marks[i]) else float(marks[i]),
        )
        for i, start, end in zip(which.tolist(), joined.tolist(), left.tolist(), strict=True)
    ]
    return pl.DataFrame(rows, schema=STAYS, orient="row").sort("name")


def work_of_yard(world: World, first: date, today: date) -> pl.DataFrame:
    """Return what the truth has of the work of the yard's horses.

    Returns:
        source_horse, week (its first day), at_work (whether it was in work that week, and not let down), fast (days
        of fast work, racing left out); the weeks from the one with `first` in it to the one with `today`.
    """
    which, _, _ = _own(world, first, today)
    condition, begin = world.condition, (first.toordinal() - world.condition.from_day) // 7
    weeks = np.arange(begin, condition.fast.shape[1])
    return pl.DataFrame(
        {
            "source_horse": np.repeat([source_horse(i) for i in which.tolist()], weeks.size),
            "week": np.tile(condition.from_day + 7 * weeks - _EPOCH, which.size).astype("datetime64[D]"),
            "at_work": condition.at_work[np.ix_(which, weeks)].ravel(),
            "fast": condition.fast[np.ix_(which, weeks)].ravel(),
        },
    )


def _own(world: World, first: date, today: date) -> tuple[Ints, Ints, Ints]:
    """Return the yard's horses of these days, the day each came, and the first day on which it was gone."""
    horses = world.horses
    here, stayed = horses.trainer == 0, (horses.former == 0) & (horses.moved > 0)
    joined = np.where(here, np.maximum(horses.trained_from, horses.moved), horses.trained_from)
    left = np.where(here, horses.ends, np.minimum(horses.moved, horses.ends))
    own = (here | stayed) & (joined <= today.toordinal()) & (left > first.toordinal()) & (joined < left)
    which = np.flatnonzero(own)
    return which, joined[which], left[which]
