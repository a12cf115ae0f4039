"""What horses have done: ten seasons of 120 horses laid out and summed up, beside Polars on the same rows.

Wanted: the whole string for any day under 1 s, ten seasons recomputed under 2 minutes. 120 horses at a time, each day
either by tracker (twelve steps of speed) or by an order; every horse-day asked for its last 7, 30 and 60 days in three
bands of speed. Polars does the same by rolling sums over the rows of one band.
"""

import multiprocessing
import resource
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, date, datetime, timedelta
from math import nan
from typing import TypeVar

import numpy as np
import polars as pl

from upsides.condition.done.dates import Dates
from upsides.condition.done.days import SPAN, Days
from upsides.condition.done.exercises import exercises
from upsides.condition.done.gathering import Outing, gather
from upsides.condition.done.summary import string_done, yard_of
from upsides.condition.done.usual import usual
from upsides.condition.exposure.held import string_held
from upsides.recordings.measured import Speeds
from upsides.recordings.work import Work

HORSES, DAYS = 120, 3650
TRACKED = 0.6
FIRST = date(2016, 1, 1)
BANDS = ((0.0, np.inf), (5.0, 14.0), (14.0, np.inf))
Answer = TypeVar("Answer")


def run() -> None:
    """Print times, memory and the agreement with Polars, in a process of its own."""
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        pool.submit(_measure).result()


def _timed(what: str, work: Callable[[], Answer]) -> tuple[Answer, float]:
    begin = time.perf_counter()
    found = work()
    seconds = time.perf_counter() - begin
    print(f"{what}: {seconds:.3f} s", flush=True)
    return found, seconds


def _measure() -> None:
    outings, works = _mornings()
    table = usual(exercises())
    rows, gathered = _timed(
        f"{len(outings) + len(works):,} days gathered",
        lambda: gather(range(HORSES), table, UTC, outings=outings, works=works),
    )
    days, laid = _timed(f"{rows.metres.size:,} rows laid out", lambda: Days.of(rows))
    horse, day = days.key // SPAN, days.key % SPAN

    def every() -> list[np.ndarray]:
        return [days.sums(horse, day - n, day, *band).metres for n in (7, 30, 60) for band in BANDS]

    sums, asked = _timed(f"{horse.size:,} horse-days, nine sums each", every)
    print(f"ten seasons in all: {gathered + laid + asked:.1f} s (wanted: under 120)")
    yard = yard_of(days, Dates.of([], []), [FIRST] * HORSES, [FIRST] * HORSES)
    on, string = FIRST + timedelta(days=DAYS - 30), range(HORSES)
    _timed("the string for one day, what it has done (wanted: under 1 s)", lambda: string_done(yard, string, on))
    _timed("the string for one day, published figures", lambda: string_held(yard, string, on, [3] * HORSES))
    reference, seconds = _timed(
        "Polars, one of the nine sums", lambda: _polars(rows.horse, rows.day, rows.step, rows.metres)
    )
    apart, share = np.abs(reference - sums[-1]).max(), asked / 9 / seconds
    print(f"largest difference: {apart:.1e} m; one of the nine sums here takes {share:.2f} of that time")
    print(f"memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20:.2f} GB")


def _mornings() -> tuple[list[Outing], list[Work]]:
    """Return outings of trackers and orders, a day each."""
    rng = np.random.default_rng(1)
    kinds = np.array(["off", "walk", "trot", "hack_canter", "steady_canter", "half_speed", "fast"])
    outings: list[Outing] = []
    works: list[Work] = []
    for horse in range(HORSES):
        tracked, steps = rng.random(DAYS) < TRACKED, rng.integers(2, 34, (DAYS, 12))
        metres, chosen = rng.uniform(50.0, 900.0, (DAYS, 12)), rng.choice(kinds, DAYS)
        for k in range(DAYS):
            day = FIRST + timedelta(days=k)
            if tracked[k]:
                told = {int(s): Speeds(float(m), nan, False) for s, m in zip(steps[k], metres[k], strict=True)}
                outings.append(Outing(horse, day, told))
            else:
                works.append(
                    Work(horse, datetime(day.year, day.month, day.day, 5, tzinfo=UTC), "ordered", str(chosen[k]))
                )
    return outings, works


def _polars(horse: np.ndarray, day: np.ndarray, step: np.ndarray, metres: np.ndarray) -> np.ndarray:
    """Return metres above 14 m/s in 60 days of every horse-day, in order of horse and day."""
    frame = pl.DataFrame({"horse": horse, "day": day, "fast": np.where(step >= 28, metres, 0.0)})
    daily = frame.group_by("horse", "day").agg(pl.col("fast").sum()).sort("horse", "day")
    rolled = daily.rolling("day", period="60i", group_by="horse").agg(pl.col("fast").sum())
    return rolled.sort("horse", "day")["fast"].to_numpy()
