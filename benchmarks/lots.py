"""The lots of a morning with every rule: seconds to a proven optimum, beside a second open solver on the same program.

Wanted: 120 horses, 35 riders and 4 lots under 5 s, 300 horses, 90 riders and 5 lots under 60 s, a rider away under 2 s.
Seconds are of the processor and, in brackets, on the wall; the ratio is of seconds of the processor.
The other solver is OR-Tools' CP-SAT (group `bench`), given the same rows and columns and one worker.
"""

import os
import pickle
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from resource import RUSAGE_SELF, getrusage

from upsides.errors import LotsClashError
from upsides.planning.lot_model import lot_model
from upsides.planning.lots import plan_lots, without
from upsides.planning.morning import Horse, Morning

SIZES = ((120, 35, 4), (300, 90, 5))
TESTS = Path(__file__).resolve().parents[1] / "tests"
"""Its invented mornings are those that the tests use."""
SEEDS = (1, 2, 3)


def run() -> None:
    """Measure each size and seed in a process of its own."""
    known = {**os.environ, "PYTHONPATH": os.pathsep.join([str(TESTS), os.environ.get("PYTHONPATH", "")])}
    for size in SIZES:
        for seed in SEEDS:
            own = [sys.executable, "-m", "benchmarks.lots", *map(str, (*size, seed))]
            subprocess.run(own, check=True, env=known)


def measure(horses: int, riders: int, lots: int, seed: int) -> None:
    """Print seconds, cost, bound and memory of ours, of a rider away, and of the other solver."""
    from planning.invented_mornings import PRICES, invented

    morning = all_rules(invented(seed, horses, riders, lots))
    print(f"{horses} horses, {riders} riders, {lots} lots, seed {seed}:", flush=True)
    began = _now()
    try:
        found = plan_lots(morning, PRICES)
    except LotsClashError as refused:
        print(f"  no plan; the clash is found and proven in {_since(began)[0]}: {refused}")
        return
    told, ours = _since(began)
    peak = getrusage(RUSAGE_SELF).ru_maxrss / 1024
    print(f"  ours {told}, cost {found.costs.total:g}, bound {found.bound:g}, proven {found.proven}, {peak:.0f} MB")
    began = _now()
    try:
        away = without(morning, found.plan, found.plan.rides[0].rider or 0, PRICES)
        changed = f"{away.amounts.change_rider:g} other riders, {away.amounts.change_lot:g} other lots"
    except LotsClashError:
        changed = "no plan without that rider"
    print(f"  a rider away: {_since(began)[0]}, {changed}", flush=True)
    # in a process of its own, since OR-Tools brings a HiGHS of another version whose symbols clash with ours
    own = [sys.executable, "-m", "benchmarks._other_solver", str(ours)]
    subprocess.run(own, check=True, input=pickle.dumps(lot_model(morning, PRICES).program))


def all_rules(morning: Morning) -> Morning:
    """Return a morning in which horses that never go together, riders who do not ride some, and the law bind too."""
    plain = [horse for horse in morning.horses if not horse.partners and horse.number % 2]
    foes = {one.number: other.number for one, other in zip(plain[::9], plain[4::9], strict=False)}
    people = [rider.number for rider in morning.riders]
    horses = tuple(
        replace(
            horse,
            not_with=(foes[horse.number],) if horse.number in foes else (),
            not_by=_shunned(horse, people),
        )
        for horse in morning.horses
    )
    first = frozenset({morning.lots[0].number})
    riders = tuple(replace(rider, barred=first) if rider.young else rider for rider in morning.riders)
    return replace(morning, horses=horses, riders=riders)


def _shunned(horse: Horse, people: list[int]) -> frozenset[int]:
    """Return who does not ride a horse: of every seventh some, never its usual rider."""
    return frozenset(people[horse.number % len(people) :: 29]) - {horse.usual} if horse.number % 7 == 0 else frozenset()


def _now() -> tuple[float, float]:
    return time.process_time(), time.perf_counter()


def _since(began: tuple[float, float]) -> tuple[str, float]:
    """Return seconds since a moment in words, and those of the processor."""
    took = [now - then for now, then in zip(_now(), began, strict=True)]
    return f"{took[0]:.2f} s ({took[1]:.1f} s)", took[0]


if __name__ == "__main__":
    measure(*map(int, sys.argv[1:]))
