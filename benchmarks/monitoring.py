"""The watch over all that is measured: a day of the whole string, ten seasons anew, and delays beside a plain rule.

Wanted: the whole string for any day under 1 s, ten seasons recomputed under 2 minutes, of one processor; no later than
the plain rule at as many false pointings. 120 horses at a time with nine kinds of reading. Where every kind is read
every day there are 3.9 million readings in ten seasons; as often as a yard does read (weekly mass, daily temperature,
two days of fast work a week) there are 1.7 million.
"""

import multiprocessing
import resource
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from typing import Any

import numpy as np

from benchmarks._compiling import compile_seconds

HORSES, DAYS, KINDS, BARNS = 120, 3650, 9, 6
STAYS = 730
"""Days that a horse stays."""
DAY_S, SEASONS_S = 1.0, 120.0
SEEDS, RIDDEN_SEEDS = range(12), range(24)


def run() -> None:
    """Print compiling, both times at two densities of reading, memory, and the table of delays."""
    print(f"compiling the kernels, once for each machine: {compile_seconds('upsides.condition.monitoring.days'):.1f} s")
    for share, words in ((0.43, "as often as a yard reads"), (1.0, "every kind every day")):
        _in_a_process(_ten_seasons, share, words)
    _in_a_process(_delays)
    _in_a_process(_freed)


def _in_a_process(work: Callable[..., None], *arguments: Any) -> None:
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        pool.submit(work, *arguments).result()


def _ten_seasons(share: float, words: str) -> None:
    from upsides.condition.monitoring.findings import findings_on
    from upsides.condition.monitoring.readings import readings_of
    from upsides.condition.monitoring.watching import watch

    rng = np.random.default_rng(1)
    value = rng.normal(0, 1, (KINDS, HORSES, DAYS)) + 0.5 * rng.normal(0, 1, (KINDS, 1, DAYS))
    kind, box, day = np.nonzero(rng.random(value.shape) < share)
    horse = box + HORSES * (day // STAYS)
    barn = box % BARNS
    readings = readings_of(horse, kind, 12000 + day, 100 + value[kind, box, day], barn=barn, device=barn)
    began = time.process_time()
    watched = watch(readings)
    whole = time.process_time() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    last = int(readings.day.max())
    here = dict.fromkeys(np.unique(horse[day == DAYS - 1]).tolist(), last - STAYS)
    window = readings.between(last - 400, last)
    watch(window, known=watched.known)
    began = time.process_time()
    found = findings_on(watch(window, known=watched.known), last, 6, here)
    short = time.process_time() - began
    print(f"{words}: {readings.day.size:,} readings of ten seasons {whole:.1f} s ({SEASONS_S:.0f} wanted),")
    print(f"  {whole / readings.day.size * 1e6:.1f} microseconds a reading, {peak:.1f} GiB at the most")
    print(
        f"  a day from its last 400 days ({window.day.size:,} readings): {short * 1e3:.0f} ms ({DAY_S:.0f} s wanted),"
    )
    print(f"  ratio to the whole: 1 to {whole / short:.0f}; {len(found.horses)} findings of horses")
    per_day = watched.pointed().sum() / (DAYS - 60)
    print(f"  pointed at {per_day:.2f} horses a day with nothing behind it; the budget was 1", flush=True)


def _delays() -> None:
    from upsides.condition.troubles import compare

    began = time.process_time()
    compared = compare(SEEDS)
    print(
        f"{len(SEEDS)} simulated yards of 40 horses, {time.process_time() - began:.0f} s; pointings a day on ordinary"
    )
    print(f"days: watch {compared.watch_ordinary:.2f}, plain rule {compared.plain_ordinary:.2f}")
    print(f"{'':40}{'days until seen':>20}{'seen':>16}{'false a day':>16}")
    for one in compared.delays:
        days = f"{one.watch_days:.1f} / {one.plain_days:.1f}"
        seen = f"{one.watch_seen:.0%} / {one.plain_seen:.0%}"
        false = f"{one.watch_false:.2f} / {one.plain_false:.2f}"
        print(f"{one.name:40}{days:>20}{seen:>16}{false:>16}")


def _freed() -> None:
    from upsides.condition.ridden import DOES, NOTHING, SLOWER, compare_freed

    for words, does in (("hang on rider, gallop, going, rise and heat", DOES), ("hang on none of them", NOTHING)):
        as_is, freed = compare_freed(RIDDEN_SEEDS, does=does)
        told = f"{as_is.ordinary:.3f} as they are, {freed.ordinary:.3f} freed"
        print(f"{len(RIDDEN_SEEDS)} yards whose readings {words}; pointings a day on ordinary days {told}")
        for name in SLOWER:
            days = f"{as_is.days[name]:.1f} / {freed.days[name]:.1f}"
            print(f"{name:40}{days:>20}{f'{as_is.seen[name]:.0%} / {freed.seen[name]:.0%}':>16}", flush=True)
