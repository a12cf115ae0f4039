"""A horse as far as it moves: how fast at each gait, how it strides, how its heart answers."""

from dataclasses import dataclass

import numpy as np

WALK_MS, WALK_SD = 1.75, 0.12
"""1.9 m/s (Williams et al. 2009) and 1.7 m/s (Ohmura et al. 2025) on treadmills; the spread is common practice."""

TROT_MS, TROT_SD = 3.7, 0.3
"""3.5 m/s (Williams et al. 2009); the spread is common practice, no source."""

HACK_MS, HACK_SD = 8.4, 0.7
"""A hack canter, common practice, no source; 10.0 m/s is a warm-up canter in Ohmura et al. 2025."""

HALF_MS, HALF_SD = 11.4, 0.5
"""Half-speed: 10 to 12.5 m/s, the speeds recommended for tests in the field (D. Evans, University of Sydney, 2011)."""

FAST_MS, FAST_SD = 16.7, 0.5
"""Fast work on level ground: 15.5 to 16.7 m/s is work near race pace (Morrice-West et al. 2023), race pace 16.63
(Morrice-West et al. 2021)."""

TO_TROT_MS, TO_CANTER_MS = 2.3, 5.0
"""Where the gait changes: trot to canter about 5.0 m/s (Wickler et al. 2002); walk to trot is common practice."""

LINE_BPM, LINE_PER_MS = 116.7, 6.083
"""Heart against speed: the line through the means of V140, V180 and V200 of eleven Thoroughbreds (Korea, 2019)."""

MOST_BPM, MOST_SD = 214.0, 8.0
"""Highest heart rate in the field 214 (SD 11), the same study."""

REST_BPM = 36.0
"""At rest 28 to 44, common veterinary figure."""


@dataclass(frozen=True, slots=True)
class Mover:
    """One horse of a simulated morning.

    Attributes:
        name: what it is called.
        walk_ms: its speed at the walk, m/s, and so on for trot, hack canter, half-speed and fast work on the level.
        to_trot_ms: the speed at which it breaks from walk into trot, m/s.
        to_canter_ms: from trot into canter.
        stride: its stride's length against the published line.
        rest_bpm: heart rate at rest.
        line_bpm: intercept of its heart-speed line, beats a minute.
        line_per_ms: the line's slope, beats a minute per m/s.
        most_bpm: its highest heart rate.
        rise_s: time constant with which its heart rises to the line, s.
        fast_recovery_s: time constant of the first part of recovery, s.
        slow_recovery_s: of the rest.
        excitement_bpm: beats by which it is excited when it comes out, dying away in some minutes.
        uneven_g: what of the trunk's rise and fall at trot comes once a stride and not twice, g.
    """

    name: str
    walk_ms: float = WALK_MS
    trot_ms: float = TROT_MS
    hack_ms: float = HACK_MS
    half_ms: float = HALF_MS
    fast_ms: float = FAST_MS
    to_trot_ms: float = TO_TROT_MS
    to_canter_ms: float = TO_CANTER_MS
    stride: float = 1.0
    rest_bpm: float = REST_BPM
    line_bpm: float = LINE_BPM
    line_per_ms: float = LINE_PER_MS
    most_bpm: float = MOST_BPM
    rise_s: float = 18.0
    fast_recovery_s: float = 45.0
    slow_recovery_s: float = 420.0
    excitement_bpm: float = 12.0
    uneven_g: float = 0.05


def draw_mover(rng: np.random.Generator, name: str) -> Mover:
    """Draw a horse. Time constants of the heart and their spread are common practice, no source."""

    def about(mean: float, sd: float) -> float:
        return float(mean + sd * np.clip(rng.standard_normal(), -2.0, 2.0))

    return Mover(
        name,
        walk_ms=about(WALK_MS, WALK_SD),
        trot_ms=about(TROT_MS, TROT_SD),
        hack_ms=about(HACK_MS, HACK_SD),
        half_ms=about(HALF_MS, HALF_SD),
        fast_ms=about(FAST_MS, FAST_SD),
        to_trot_ms=about(TO_TROT_MS, 0.1),
        to_canter_ms=about(TO_CANTER_MS, 0.2),
        stride=about(1.0, 0.04),
        rest_bpm=about(REST_BPM, 4.0),
        line_bpm=about(LINE_BPM, 6.0),
        line_per_ms=about(LINE_PER_MS, 0.35),
        most_bpm=about(MOST_BPM, MOST_SD),
        rise_s=about(18.0, 3.0),
        fast_recovery_s=about(45.0, 8.0),
        slow_recovery_s=about(420.0, 60.0),
        excitement_bpm=about(12.0, 6.0),
    )
