"""What `Answer.values` holds, by the answer's name, and how it is read.

    exercises    {"hack_canter": {"measured": 41, "metres": {"12": 220.5, ...}}}     metres by step of 0.5 m/s
    hearts       {"recovery": {"17": [since, last, share, low, high, more, less]}, ...}   by kind and horse
    gallops      {"3": {"2026-06-19": [effect on the logarithm of speed, its standard error, works], ...}}  by gallop;
                 {"why": ...} where its days cannot be told from its horses
    spreads      {"mass": 2.1, "temperature": 0.14, ...}          within horses over the yard
    gaps         the fields of upsides.condition.fresh.gaps.Gaps
    form         {"yard": standing, "parts": [standing, ...], "runs": 214}, a standing being split, name, lb, low, high,
                 below, runs, raw_lb, raw_sd
    monitoring   what upsides.books.watched says
    together     {"upsides": [[first, second, start, second start, [[place, ahead, sd], ...], [ahead, sd]], ...]}: of a
                 day's recordings, by their numbers, two that went upsides, metres and seconds
    speeds       {"17": [faster, error], ...}: by how much a horse worked faster than horses usually do, and the error
                 of that, in standard deviations from horse to horse
    unraced      {"17": {"before": [lb, sd], "after": [lb, sd], "works": [[when, horses, lb], ...]}, ...}: the level of
                 a horse that has not run, before and after its works, and by how much each alone would move it
    calls        {"runs": 5210, "off": [200 quantiles of figure less expectation, lb], "spread": lb,
                 "well": {"quiet": chance, "after something": chance},
                 "came": {"12": {"came": true, false or null, "why": word, "day": day, "tool": chance}, ...}} by call
    chances CODE what upsides.books.chances says, of one race; made_from holds all that went in, so that a race of which
                 nothing has changed is not worked out again
    black type   {"GBP": {"female": 20000, "entire": 5000, "gelding": 0}, ...}: what the trainer says that it is worth,
                 by currency; made_from {"by": number of the person}
    plan         what upsides.books.planned keeps: the string's work in days and weeks to come

What is not known is null. Numbers are rounded to what they are good for.
"""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from math import isfinite, nan
from typing import Any

import numpy as np

from upsides.condition.done.exercises import Exercise
from upsides.condition.done.usual import Usual
from upsides.condition.fresh.gaps import Gaps, UsualGap
from upsides.recordings.bouts.bins import COUNT
from upsides.recordings.heart.trends import Change


def kept_usual(told: Usual) -> dict[str, Any]:
    """Return what exercises come to, those that were measured."""
    return {
        name: {
            "measured": int(measured),
            "metres": {str(step): round(float(far), 1) for step, far in enumerate(metres) if far >= 0.05},
        }
        for name, metres, measured in zip(told.exercises, told.metres, told.measured, strict=True)
        if measured
    }


def read_usual(values: Mapping[str, Any], table: Mapping[str, Exercise]) -> Usual:
    """Return what exercises come to: as was measured, else as the table has them."""
    metres = np.array([one.profile for one in table.values()]).reshape(-1, COUNT)
    measured = np.zeros(len(table))
    for place, name in enumerate(table):
        if name in values:
            metres[place] = 0.0
            for step, far in values[name]["metres"].items():
                metres[place, int(step)] = far
            measured[place] = values[name]["measured"]
    return Usual(table, metres, measured)


def kept_changes(changes: Mapping[int, Change]) -> dict[str, list[Any]]:
    """Return how horses changed, by their numbers."""
    return {
        str(horse): [
            str(one.since), str(one.last), *(round(x, 5) for x in (one.share, one.low, one.high, one.more, one.less))
        ]
        for horse, one in changes.items()
    }  # fmt: skip


def read_change(horse: int, kept: list[Any]) -> Change:
    """Return how a horse changed."""
    since, last, share, low, high, more, less = kept
    return Change(horse, date.fromisoformat(since), date.fromisoformat(last), share, low, high, more, less)


def kept_gaps(gaps: Gaps) -> dict[str, Any]:
    """Return what results say of gaps between runs."""
    told = asdict(gaps)
    return {name: plain(value) for name, value in told.items()}


def read_gaps(values: Mapping[str, Any]) -> Gaps:
    """Return what results say of gaps between runs."""
    return Gaps(
        tuple(values["bounds"]),
        tuple(values["steps"]),
        np.array(values["runs"], dtype=np.int64),
        np.array(values["usual"], dtype=np.int64),
        np.array(values["effects"], dtype=np.float64),
        np.array(values["apart"], dtype=np.float64),
        (_number(values["sds"][0]), _number(values["sds"][1])),
        tuple(_usual_gap(one) for one in values["gaps"]),
    )


def _usual_gap(kept: Mapping[str, Any]) -> UsualGap:
    return UsualGap(_number(kept["low"]), _number(kept["middle"]), _number(kept["high"]), kept["runs"])


def plain(value: Any) -> Any:
    """Return a value as JSON has it: numbers to four places, what is none of them as null."""
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    if isinstance(value, dict):
        return {str(name): plain(one) for name, one in value.items()}
    if isinstance(value, float):
        return round(value, 4) if isfinite(value) else None
    return str(value) if isinstance(value, date) else value


def _number(value: float | None) -> float:
    return nan if value is None else float(value)
