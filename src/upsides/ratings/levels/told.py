"""What people said of runs, and racecourse gallops and trials, as a fit takes them.

A run in which a horse was not asked bounds its level from below and says nothing else: the run counts as censored
(`easing.censored`), so being far behind in it lowers nothing. A gallop or a trial of two horses is a race of two with
a wider error. Of a horse that has not raced none is taken here; its works are judged apart.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Any, Final

import numpy as np
import polars as pl
from numpy.typing import NDArray

Floats = NDArray[np.float64]

OUTING: Final = "outing "
"""Begins the race key of a gallop or a trial."""
OUTING_SD: Final = 8.0
"""How far one horse goes from its level in a gallop or a trial, beyond a race's error, lb; own choice, as for works."""
_CARRIED: Final = 126.0
"""Both are taken to carry the same: nobody wrote weights down."""


@dataclass(frozen=True, slots=True)
class Outing:
    """A racecourse gallop or a trial of two horses.

    Args:
        day: on which it was.
        metres: how far.
        horse, other: keys in the library.
        behind: lengths by which the horse finished behind the other; below nought it was in front.
        asked, other_asked: whether each was asked for what it had; one of which nobody said counts as asked.
    """

    day: date
    metres: float
    horse: str
    other: str
    behind: float
    asked: bool = True
    other_asked: bool = True


@dataclass(frozen=True, slots=True)
class Told:
    """What was said up to a day.

    Args:
        unasked: key of the horse and day of each race in which it was not asked for what it had.
        outings: gallops and trials, each once.
    """

    unasked: frozenset[tuple[str, date]] = frozenset()
    outings: tuple[Outing, ...] = ()

    def mark(self) -> str:
        """Return a mark of all that was said; "" where nothing was."""
        if not self.unasked and not self.outings:
            return ""
        return sha256(repr((sorted(self.unasked), self.outings)).encode()).hexdigest()


NOTHING_TOLD: Final = Told()


def with_outings(races: pl.DataFrame, runs: pl.DataFrame, told: Told) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return frames of the results schema with gallops and trials as races of two; only those of horses that had run.

    Args:
        races: the library's.
        runs: likewise, carrying `horse_key`.
        told: what was said.
    """
    seen = _seen(races, runs, told)
    more_races, more_runs = [], []
    for number, one in enumerate(told.outings):
        before = [seen[name] for name in (one.horse, one.other) if name in seen and seen[name]["date"] < one.day]
        if one.horse == one.other or len(before) < 2:
            continue
        key = f"{OUTING}{number}"
        more_races.append({"race_key": key, "date": one.day, "code": "flat", "distance_m": one.metres,
                           "country": before[0].get("country"), "runners": 2})  # fmt: skip
        behind = (max(one.behind, 0.0), max(-one.behind, 0.0))
        for known, lengths in zip(before, behind, strict=True):
            more_runs.append(_run(key, one.day, lengths, known))
    if not more_races:
        return races, runs
    added = [pl.DataFrame(rows, schema={name: frame.schema[name] for name in rows[0]}, orient="row")
             for rows, frame in ((more_races, races), (more_runs, runs))]  # fmt: skip
    return tuple(pl.concat([frame, more], how="diagonal") for frame, more in zip((races, runs), added, strict=True))  # type: ignore[return-value]  # two frames


def _seen(races: pl.DataFrame, runs: pl.DataFrame, told: Told) -> Mapping[str, dict[str, Any]]:
    """Return the first run of each horse that a gallop or a trial names, with its age and where it was."""
    keys = {key for one in told.outings for key in (one.horse, one.other)}
    mine = runs.filter(pl.col("horse_key").is_in(list(keys)), pl.col("outcome") == "finished")
    first = mine.sort("date", "race_key").unique("horse_key", keep="first", maintain_order=True)
    rows = first.join(races.select("race_key", "country"), on="race_key", how="left")
    columns = [
        name for name in ("horse_key", "source_horse", "source", "date", "age", "country") if name in rows.columns
    ]
    return {row["horse_key"]: row for row in rows.select(columns).to_dicts()}


def _run(key: str, day: date, lengths: float, known: Mapping[str, Any]) -> dict[str, Any]:
    age, then = known.get("age"), known["date"]
    grown = None if age is None else age + day.year - then.year
    run = {"race_key": key, "date": day, "outcome": "finished", "position": 1 if lengths == 0.0 else 2,
           "carried_lb": _CARRIED, "beaten_lengths": lengths, "age": grown}  # fmt: skip
    return run | {name: known[name] for name in ("horse_key", "source_horse", "source") if name in known}


def unasked_in(runs: pl.DataFrame, told: Told) -> NDArray[np.bool_]:
    """Return which runs are told as not asked, (runs,).

    Args:
        runs: race_key, horse_key, date.
        told: what was said.
    """
    spared = {(f"{OUTING}{k}", key) for k, one in enumerate(told.outings)
              for key, asked in ((one.horse, one.asked), (one.other, one.other_asked)) if not asked}  # fmt: skip
    if not spared and not told.unasked:
        return np.zeros(runs.height, dtype=np.bool_)
    rows = zip(runs["race_key"].to_list(), runs["horse_key"].to_list(), runs["date"].to_list(), strict=True)
    return np.array(
        [
            (race, horse) in spared if race.startswith(OUTING) else (horse, day) in told.unasked
            for race, horse, day in rows
        ],
        dtype=np.bool_,
    )


def looser(runs: pl.DataFrame) -> Floats:
    """Return the error variance of each run beyond that of a race, (runs,), lb^2."""
    return np.where(runs["race_key"].str.starts_with(OUTING).to_numpy(), OUTING_SD**2, 0.0)
