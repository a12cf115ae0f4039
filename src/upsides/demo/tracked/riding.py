"""What a horse with a tracker was, and where it went in a morning."""

from dataclasses import replace
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.company import draw_company, pair
from upsides.demo.morning_sim.ground import HOME, beside
from upsides.demo.morning_sim.mover import Mover, draw_mover
from upsides.demo.morning_sim.moving import slowed
from upsides.demo.morning_sim.programme import (
    Leg,
    Work,
    back_lane,
    end_of,
    on_gallop,
    start_of,
    straight,
    there_and_up,
)
from upsides.demo.morning_sim.strips import SAND, WALK, strips
from upsides.demo.morning_sim.truth import Truth, ridden
from upsides.demo.tracked.session import HALF, QUICK, STEADY, WALKS, Session
from upsides.recordings.gallops.shape import Gallop
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]

WORK_S = 1500.0
"""So long after pulling out the work of a morning begins, after trot and a hack canter."""
WARM_UP_M = 4 * FURLONG_M
_UNEVEN_G = (0.02, 0.12)
"""How uneven horses trot, `Mover.uneven_g`; common practice, no source."""
_BUILD_UP_M = 1.2 * FURLONG_M
_SHORT_F, _LONGER = 3.0, 0.015
_UNFIT_BPM, _UNFIT_SLOW = 8.0, 0.35
"""By so much an unfit horse's heart beats faster at every speed, and by such a share it recovers more slowly."""


def horse_of(seed: int, source_horse: str, fit: float) -> Mover:
    """Return a horse of a world, so fit, 0 to 1."""
    rng, lacks = np.random.default_rng([seed, crc32(source_horse.encode())]), 1.0 - fit
    mover = draw_mover(rng, source_horse)
    strides = np.random.default_rng([seed, crc32(f"strides {source_horse}".encode())])
    return replace(
        mover,
        uneven_g=float(strides.uniform(*_UNEVEN_G)),
        line_bpm=mover.line_bpm + _UNFIT_BPM * lacks,
        fast_recovery_s=mover.fast_recovery_s * (1.0 + _UNFIT_SLOW * lacks),
    )


def eased(furlongs: float) -> float:
    """Return what share of its speed over three furlongs a horse is asked for over so many."""
    return 1.0 - _LONGER * max(furlongs - _SHORT_F, 0.0)


def mover_of(session: Session) -> Mover:
    """Return the horse as it went that morning; of two that work together the first by code sets the pace of both."""
    mover = horse_of(session.seed, session.source_horse, session.fit)
    if session.beside:
        pace = horse_of(session.seed, min(session.source_horse, session.beside), 1.0)
        mover = replace(mover, hack_ms=pace.hack_ms, half_ms=pace.half_ms, fast_ms=pace.fast_ms)
    steady = 0.48 * (mover.hack_ms + mover.half_ms)
    return replace(
        mover,
        hack_ms=steady if session.pace == STEADY else mover.hack_ms,
        fast_ms=mover.fast_ms * eased(session.furlongs),
    )


def span_of(gallop: Gallop, session: Session) -> tuple[float, float, float]:
    """Return where on a gallop's line a horse jumps off, where it is asked to go on, and where it is pulled up, m."""
    asked = session.furlongs * FURLONG_M
    if session.pace not in {HALF, QUICK}:
        return 0.0, 0.0, asked or WARM_UP_M
    end = gallop.length_m - 2.0
    build_up = _BUILD_UP_M if session.pace == QUICK else 60.0
    begin = max(gallop.length_m - asked - build_up, 5.0)
    return begin, max(gallop.length_m - asked, begin + 40.0), end


def slowed_at(gallop: Gallop, places_m: Floats) -> Floats:
    """Return what is left of a speed, as a share, at places along a gallop, by the ground's rise there."""
    where = np.mod(places_m, gallop.length_m) if gallop.closed else places_m
    return slowed(np.interp(where, gallop.along_m, np.gradient(gallop.height_m, gallop.along_m)))


def legs_of(rng: np.random.Generator, mover: Mover, session: Session) -> list[Leg]:
    """Return where a horse goes in a morning: out, trot, a canter on the sand, work where it is ordered, and home."""
    legs = [Leg("walk", straight(HOME, (20.0, 10.0)), mover.walk_ms, stand_s=float(rng.uniform(20.0, 90.0)))]
    if session.pace == WALKS:
        return [*legs, *_walk(mover, legs)]
    legs.append(Leg("walk", straight(end_of(legs[-1].line), (-120.0, -40.0)), mover.walk_ms))
    legs.append(Leg("trot", straight(end_of(legs[-1].line), (-640.0, -140.0)), mover.trot_ms))
    works = session.pace in {HALF, QUICK}
    sand = strips()[SAND]
    length = WARM_UP_M if works else span_of(sand, session)[2]
    legs += there_and_up(mover, legs, on_gallop(mover, sand, "hack", 0.0, length, 0.0))
    if works:
        gallop = strips()[session.gallop]
        begin, asked, end = span_of(gallop, session)
        how: Work = "half" if session.pace == HALF else "fast"
        legs += there_and_up(mover, legs, on_gallop(mover, gallop, how, begin, end, asked))
    legs.append(Leg("walk", back_lane(legs[-1].line), mover.walk_ms, stand_s=float(rng.uniform(15.0, 60.0))))
    return [*legs, Leg("walk", straight(end_of(legs[-1].line), HOME), mover.walk_ms, stand_s=30.0)]


def _walk(mover: Mover, legs: list[Leg]) -> list[Leg]:
    gallop = strips()[WALK]
    line = gallop.east_m, gallop.north_m
    east, north = beside(line, 4.0)
    back = east[::-1], north[::-1]
    out = straight(end_of(legs[-1].line), start_of(line))
    home = straight(end_of(back), HOME)
    return [Leg("walk", one, mover.walk_ms) for one in (out, line, back, home)]


def truths_of(sessions: tuple[Session, ...]) -> tuple[Truth, ...]:
    """Ride a horse, or a pair upsides, through the morning; what was ordered begins when it was to begin."""
    first = sessions[0]
    rng, movers = first.chance("ride"), [mover_of(session) for session in sessions]
    legs = legs_of(rng, movers[0], first)
    if len(sessions) == 1:
        truths: tuple[Truth, ...] = (ridden(rng, movers[0], legs, 0.0),)
    else:
        truths = pair(rng, movers[0], movers[1], legs, draw_company(rng), 0.0)
    out = first.pulled_out.timestamp()
    begins = out + WORK_S - truths[0].works[-1].start_s if first.pace in {HALF, QUICK} else out
    return tuple(_at(truth, begins) for truth in truths)


def _at(truth: Truth, begins: float) -> Truth:
    works = (replace(work, start_s=work.start_s + begins, end_s=work.end_s + begins) for work in truth.works)
    return replace(truth, time_s=truth.time_s + begins, works=tuple(works))
