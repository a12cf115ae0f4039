"""A simulated morning from end to end: who went where, and the recordings of it."""

from dataclasses import dataclass

import numpy as np

from upsides.demo.morning_sim.company import Company, draw_company, pair
from upsides.demo.morning_sim.ground import yard_gallops
from upsides.demo.morning_sim.mover import Mover, draw_mover
from upsides.demo.morning_sim.programme import usual_morning
from upsides.demo.morning_sim.receiver import Receiver, recorded
from upsides.demo.morning_sim.truth import Truth, ridden
from upsides.recordings.recording import Recording

START_S = 1_767_250_800.0
"""Seven in the morning UTC on 1 January 2026, unless another start is given."""


@dataclass(frozen=True, slots=True, eq=False)
class Morning:
    """What one horse did and what was written down of it."""

    truth: Truth
    recording: Recording


def alone(
    seed: int, receiver: Receiver, *, mover: Mover | None = None, fast: bool = True, start_s: float = START_S
) -> Morning:
    """Simulate a horse's morning alone.

    Args:
        seed: of everything drawn.
        receiver: the device that it carries.
        mover: the horse; drawn where none is given.
        fast: whether it works fast, on the hill or the long gallop; otherwise it canters only.
        start_s: when it comes out, seconds since 1970.
    """
    rng = np.random.default_rng(seed)
    horse = mover or draw_mover(rng, f"horse {seed}")
    hill, round_, long_ = yard_gallops()
    where = (hill, long_)[int(rng.integers(2))] if fast else None
    truth = ridden(rng, horse, usual_morning(rng, horse, round_, where), start_s)
    return Morning(truth, recorded(rng, truth, receiver, file=f"{horse.name}.fit"))


def together(
    seed: int, receivers: tuple[Receiver, Receiver], *, company: Company | None = None, start_s: float = START_S
) -> tuple[Morning, Morning]:
    """Simulate the morning of two horses that work upsides."""
    rng = np.random.default_rng(seed)
    movers = draw_mover(rng, f"horse {seed}a"), draw_mover(rng, f"horse {seed}b")
    hill, round_, long_ = yard_gallops()
    legs = usual_morning(rng, movers[0], round_, (hill, long_)[int(rng.integers(2))])
    truths = pair(rng, *movers, legs, company or draw_company(rng), start_s)
    first, second = (
        Morning(truth, recorded(rng, truth, receiver, file=f"{truth.mover.name}.fit"))
        for truth, receiver in zip(truths, receivers, strict=True)
    )
    return first, second
