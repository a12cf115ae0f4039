"""What a horse is to do in a morning: legs over the ground, each at a gait."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from upsides.demo.morning_sim.ground import HOME, Line, beside, straight_on
from upsides.demo.morning_sim.mover import Mover
from upsides.recordings.gallops.shape import Gallop
from upsides.trade.units import FURLONG_M

Work = Literal["hack", "half", "fast"]

PULL_UP_M = 260.0
"""Ground beyond the finish on which a horse is pulled up; common practice, no source."""

LANE_M = 30.0
"""The lane back runs beside a gallop at this distance."""


@dataclass(frozen=True, slots=True, eq=False)
class Leg:
    """A piece of the way.

    Attributes:
        doing: what it is for, e.g. "walk", "trot", "hack", "half", "fast", "pull up".
        line: where it goes, metres east and north.
        target_ms: the speed that is asked for on the level, m/s.
        stand_s: how long the horse stands at its end, s.
        gallop: the gallop that it is on, "" where on none.
        begin_m: where on the gallop's line it begins, m.
        end_m: where it ends; less than `begin_m` against the way of the line.
    """

    doing: str
    line: Line
    target_ms: float
    stand_s: float = 0.0
    gallop: str = ""
    begin_m: float = 0.0
    end_m: float = 0.0


def straight(a: tuple[float, float], b: tuple[float, float]) -> Line:
    """Return the straight line between two places."""
    count = max(2, round(float(np.hypot(b[0] - a[0], b[1] - a[1])) / 5.0))
    return np.linspace(a[0], b[0], count), np.linspace(a[1], b[1], count)


def _part(gallop: Gallop, begin_m: float, end_m: float) -> Line:
    places = np.linspace(begin_m, end_m, max(2, round(abs(end_m - begin_m) / 5.0)))
    return gallop.at(places)


def end_of(line: Line) -> tuple[float, float]:
    """Return where a line ends."""
    return float(line[0][-1]), float(line[1][-1])


def start_of(line: Line) -> tuple[float, float]:
    """Return where a line begins."""
    return float(line[0][0]), float(line[1][0])


def back_lane(line: Line) -> Line:
    """Return the lane back beside a line."""
    east, north = beside(line, LANE_M)
    return east[::-1], north[::-1]


def on_gallop(mover: Mover, gallop: Gallop, work: Work, begin_m: float, end_m: float, fast_from_m: float) -> list[Leg]:
    """Return the legs of one time up a gallop: build up, work, pull up.

    Args:
        mover: the horse.
        gallop: where.
        work: hack canter, half-speed or fast.
        begin_m: where on the line the horse jumps off.
        end_m: where it is pulled up; less than `begin_m` for the other direction.
        fast_from_m: for fast work, where it is asked to go on; until there it canters at half-speed.
    """
    speed = {"hack": mover.hack_ms, "half": mover.half_ms, "fast": mover.fast_ms}[work]
    legs = []
    if work == "fast":
        legs.append(
            Leg("half", _part(gallop, begin_m, fast_from_m), mover.half_ms, 0.0, gallop.name, begin_m, fast_from_m)
        )
        legs.append(Leg("fast", _part(gallop, fast_from_m, end_m), speed, 0.0, gallop.name, fast_from_m, end_m))
    else:
        legs.append(Leg(work, _part(gallop, begin_m, end_m), speed, 0.0, gallop.name, begin_m, end_m))
    return [*legs, Leg("pull up", straight_on(legs[-1].line, PULL_UP_M), speed)]


def usual_morning(rng: np.random.Generator, mover: Mover, hack: Gallop, gallop: Gallop | None) -> list[Leg]:
    """Return a usual morning: stand, walk out, trot, one or two hack canters, and fast work where a gallop is given.

    Args:
        rng: source of chance.
        mover: the horse.
        hack: the gallop of its hack canters.
        gallop: the gallop of its fast work of 3 to 3.5 f, None for a day of cantering.
    """
    legs = [Leg("walk", straight(HOME, (20.0, 10.0)), mover.walk_ms, stand_s=float(rng.uniform(40.0, 150.0)))]
    legs.append(Leg("walk", straight(end_of(legs[-1].line), (150.0, -60.0)), mover.walk_ms))
    legs.append(Leg("trot", straight(end_of(legs[-1].line), (150.0, -60.0 - rng.uniform(500.0, 800.0))), mover.trot_ms))
    for time in range(int(rng.integers(1, 3))):
        work: Work = "half" if time and gallop is None else "hack"
        length = float(min(hack.length_m - 10.0, rng.uniform(800.0, 1500.0)))
        legs += there_and_up(mover, legs, on_gallop(mover, hack, work, 5.0, length, 5.0))
    if gallop is not None:
        furlongs = float(rng.uniform(3.0, 3.5))
        begin = gallop.length_m - (furlongs + 1.2) * FURLONG_M
        fast_from = gallop.length_m - furlongs * FURLONG_M
        up = on_gallop(mover, gallop, "fast", max(begin, 5.0), gallop.length_m - 2.0, fast_from)
        legs += there_and_up(mover, legs, up)
    legs.append(Leg("walk", back_lane(legs[-1].line), mover.walk_ms, stand_s=float(rng.uniform(15.0, 60.0))))
    legs.append(
        Leg("walk", straight(end_of(legs[-1].line), HOME), mover.walk_ms, stand_s=float(rng.uniform(30.0, 90.0)))
    )
    return legs


def there_and_up(mover: Mover, before: list[Leg], up: list[Leg]) -> list[Leg]:
    """Walk from where the horse is to where it jumps off, by the lane beside, and go up."""
    there = straight(end_of(before[-1].line), start_of(up[0].line))
    return [Leg("walk", there, mover.walk_ms, stand_s=20.0 if before[-1].doing == "pull up" else 5.0), *up]
