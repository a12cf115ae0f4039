"""The heart of a morning of which no file is made: how high it went, how it came down, its line."""

from typing import Any
from zlib import crc32

import numpy as np

from upsides.demo.morning_sim.heart import BORROWED, OWED, RISE_COST, line_bpm
from upsides.demo.morning_sim.mover import Mover
from upsides.demo.tracked.session import HALF, QUICK, Session
from upsides.recordings.heart.line import READ_OFF
from upsides.recordings.measured import Piece

_PLATEAU_BPM = 3.0
_DRIFTS_BPM, _LAGS_BPM = 7.0, 2.0
"""By how much the highest ten seconds of a canter lie above its line, since a heart drifts, and those of faster work
below what its quickest furlong would come to; as recordings of the same mornings have it."""
_RIDER_SD, _LINE_SD = 0.02, 0.08
"""Share by which a rider changes a heart's recovery, and by which a speed at a heart rate is off."""


def kept_share(rng: np.random.Generator) -> float:
    """Return the share of a tracker's values that could be used."""
    return float(rng.uniform(0.95, 1.0))


def heart_at_rest(rng: np.random.Generator, mover: Mover) -> dict[str, Any]:
    """Return the heart of a morning at the walk."""
    mean = mover.rest_bpm + float(rng.uniform(28.0, 40.0))
    return {"kept": kept_share(rng), "max": mean + 25.0, "mean": mean, "held": mean + 20.0}


def heart_of(rng: np.random.Generator, session: Session, mover: Mover, work: Piece) -> dict[str, Any]:
    """Return the heart of a morning: the line at the work's speed, and its fall by the two parts of recovery."""
    rise = max(work.rise_m / work.metres, 0.0)
    quickest = max((one.metres / one.seconds for one in work.furlongs), default=work.speed_ms)
    held = min(mover.line_bpm + mover.line_per_ms * quickest * (1.0 + RISE_COST * rise), mover.most_bpm)
    debt = OWED * (held - 100.0) * (1.0 - np.exp(-BORROWED * work.seconds))
    ridden = np.random.default_rng([session.seed, crc32(session.rider.encode())]).normal(0.0, _RIDER_SD)
    walking, after = float(line_bpm(mover, np.array([mover.walk_ms]), np.zeros(1))[0]), {}
    for seconds in (60.0, 120.0, 300.0):
        aim = max(mover.rest_bpm + 40.0 + debt * np.exp(-seconds / mover.slow_recovery_s), walking)
        bpm = (aim + (held - aim) * np.exp(-seconds / mover.fast_recovery_s)) * np.exp(ridden + rng.normal(0.0, 0.02))
        after[f"{seconds:.0f}"] = round(float(bpm), 1)
    hacked = session.pace not in {HALF, QUICK}
    highest = min(held + _DRIFTS_BPM, mover.most_bpm) if hacked else held - _LAGS_BPM
    told: dict[str, Any] = {"kept": kept_share(rng), "max": highest + 2.0, "mean": 100.0 + 0.1 * held, "held": highest}
    told["after"] = after
    return told | ({"speeds": _line(rng, mover)} if session.pace in {HALF, QUICK} else {})


def _line(rng: np.random.Generator, mover: Mover) -> dict[str, list[float]]:
    """Return the speeds at heart rates below the plateau, with the ends of their intervals."""
    found, ends = {}, (1.0, 1.0 - 1.645 * _LINE_SD, 1.0 + 1.645 * _LINE_SD)
    for bpm in READ_OFF:
        speed = (bpm - mover.line_bpm) / mover.line_per_ms * float(np.exp(rng.normal(0.0, _LINE_SD)))
        if bpm < mover.most_bpm - _PLATEAU_BPM and speed > mover.to_canter_ms:
            found[f"{bpm:.0f}"] = [round(speed * share, 3) for share in ends]
    return found
