"""Gaits by speed: where one ends and the next begins, how sure that is, and how long each lasts.

Speed is evidence, not proof: a bicycle at 12 m/s looks like a canter and at 15 m/s like a gallop, and a person who runs
at 6 m/s looks like a horse that hardly canters. Whoever reads a bout of a device that was on no horse reads nonsense.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

Kind = Literal["stand", "walk", "trot", "canter", "fast"]

KINDS: Final[tuple[Kind, ...]] = ("stand", "walk", "trot", "canter", "fast")
"""Slowest first; a bout's kind is one of them, and bouts are told apart by their places here."""


@dataclass(frozen=True, slots=True)
class Split:
    """Where two neighbouring gaits part.

    Attributes:
        up_ms: above this speed a horse is no longer in the slower gait, m/s.
        down_ms: below this it is no longer in the faster one; in between it stays in whichever it was in.
        vague_ms: how blurred both are, one standard deviation, m/s.
        source: who says so.
    """

    up_ms: float
    down_ms: float
    vague_ms: float
    source: str


STAND_WALK: Final = Split(0.7, 0.4, 0.15, "common practice, no source")

WALK_TROT: Final = Split(
    2.7, 2.2, 0.2, "between walks of 1.7 to 1.9 m/s and a trot of 3.5 (Williams et al. 2009; Ohmura et al. 2025)"
)

TROT_CANTER: Final = Split(
    6.2, 4.8, 0.3, "about 5.0 m/s (Wickler et al. 2002, Arabians), up with slack for a fast trot"
)

CANTER_FAST: Final = Split(
    14.0, 13.0, 0.25, "14 m/s: British fracture work (Verheyen et al. 2006); not agreed elsewhere"
)
"""There is no agreed split: 13 and 15 m/s stand in Queensland, 13.3 in Victoria. A yard may set its own."""


@dataclass(frozen=True, slots=True)
class Lasting:
    """How long a gait lasts: at least so long, and then as likely to end in any second as in the next.

    Attributes:
        least_s: the least number of seconds.
        usual_s: the mean.
    """

    least_s: int
    usual_s: float


@dataclass(frozen=True, slots=True)
class Settings:
    """What the gaits are told by.

    Attributes:
        splits: the places where neighbours part, slowest first: one fewer than `KINDS`.
        lasting: for each kind, how long it lasts. Fast work counts from 3 s on, and a gap in it of under 5 s does not
            end it (exercise-science 10, engineering choice); the rest is common practice, no source.
        evidence: what a second of speed counts for, 0 to 1: seconds in a row tell less than as many apart.
        stray: probability that a second's speed says nothing of the gait.
    """

    splits: tuple[Split, ...] = (STAND_WALK, WALK_TROT, TROT_CANTER, CANTER_FAST)
    lasting: tuple[Lasting, ...] = (
        Lasting(5, 60.0),
        Lasting(5, 240.0),
        Lasting(5, 90.0),
        Lasting(5, 90.0),
        Lasting(3, 45.0),
    )
    evidence: float = 0.5
    stray: float = 1e-3


USUAL: Final = Settings()


def faster_than(fast_ms: float, source: str) -> Settings:
    """Return the usual settings with another split between canter and fast work, a metre a second of slack below it."""
    return Settings(splits=(*USUAL.splits[:3], Split(fast_ms, fast_ms - 1.0, CANTER_FAST.vague_ms, source)))


def weights(speed_ms: Floats, speed_sd_ms: Floats, settings: Settings) -> Floats:
    """Return how well each kind agrees with each speed, as logarithms.

    Of an ordered probit: with s the split's vagueness and the speed's own error together,

        Phi((v - down_below) / s) Phi((up_above - v) / s),

    so that a speed with a wide error says little, and one in the slack between two gaits nothing about which of them.
    Where a horse crosses the slack, the change comes out in its middle: fast work begins at about 13.5 m/s on the way
    to 14, half a second early, and ends at 13.5 on the way to 13.

    Args:
        speed_ms: (n,) m/s.
        speed_sd_ms: (n,) their standard deviations, m/s.
        settings: where gaits part.

    Returns:
        (n, kinds) natural logarithms, 0 for full agreement.
    """
    from scipy.special import ndtr

    out = np.ones((speed_ms.size, len(settings.splits) + 1))
    for place, split in enumerate(settings.splits):
        spread = np.hypot(speed_sd_ms, split.vague_ms)
        out[:, place] *= ndtr((split.up_ms - speed_ms) / spread)
        out[:, place + 1] *= ndtr((speed_ms - split.down_ms) / spread)
    return np.asarray(np.log(settings.stray + (1.0 - settings.stray) * out), dtype=np.float64)
