"""How even strides are: what the trunk does, held against itself half a stride and a whole stride later.

The unbiased autocorrelation of acceleration along gravity (Moe-Nilssen and Helbostad 2004, Journal of Biomechanics
37:121), x less its mean over a window of n moments:

    A(k) = sum x_i x_(i+k) / (n - k),   taken as a share of A(0)

With a stride of T seconds A(T) says how regular strides are. At trot two diagonal pairs of legs take turns, so the
trunk should do the same again after T / 2, and A(T / 2) / A(T) says how even the two halves are: of a swing with even
parts of power p and odd parts of power q it is (p - q) / (p + q), whatever the device's noise from moment to moment
adds, which is in neither. At canter and gallop the feet come one after another and no half of a stride is the other's
like: there only the regularity is told.

It says that something is uneven, never on which side, in which leg or why. That is for a vet.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import nan
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.strides import FASTEST_HZ, SLOWEST_HZ, windows_of
from upsides.recordings.recording import Motion, Recording

Floats = NDArray[np.float64]
Spans = Iterable[tuple[float, float]]
Why = Literal["", "slow device", "no gravity", "too short", "unsteady"]

LEAST_HZ: Final = 49.0
"""Acceleration must be written so often, 50 times a second with slack."""
TROT_STEPS_HZ: Final = (2.2, 3.6)
"""Steps a second at trot, two a stride; common practice, no source."""
GRAVITY: Final = (0.7, 1.3)
"""The mean of acceleration over a window must be as long as gravity, g, else which way is up is not known."""
REGULAR: Final = 0.5
"""A window with a smaller A(T) is no steady gait; our own choice."""
WINDOWS: Final = 5
"""Fewer steady windows of six seconds tell nothing. In people walking steadily 2.2 strides settle the half and 3.5 the
whole (Tura et al. 2012, Journal of NeuroEngineering and Rehabilitation 9:11); five windows are some forty strides."""
SHARE: Final = 0.5
"""So many of the windows at a gait must be steady; our own choice."""
LEAST_SD: Final = 0.01
"""No mean is surer than this; our own choice."""


@dataclass(frozen=True, slots=True)
class Evenness:
    """How even the strides of a morning were.

    Attributes:
        half: at trot, half a stride against a whole one: 1 where both halves are alike; NaN where refused.
        half_sd: standard deviation of that, from how windows differ.
        trot: regularity of the strides at trot, 1 where each is like the next; NaN where refused.
        work: the same at canter and faster; NaN where refused.
        windows: steady windows at trot.
        why_not: why `half` is refused, "" where it is not.
    """

    half: float = nan
    half_sd: float = nan
    trot: float = nan
    work: float = nan
    windows: int = 0
    why_not: Why = ""


def evenness(recording: Recording, trots: Spans, works: Spans) -> Evenness | None:
    """Measure how even the strides of a recording are.

    Args:
        recording: as read.
        trots: when it trotted, begin and end, seconds since 1970.
        works: when it cantered or went faster, likewise.

    Returns:
        It; None of a recording without acceleration.
    """
    motion = recording.motion
    if motion is None or motion.time_s.size < 2:
        return None
    found = [_of_window(window, step, TROT_STEPS_HZ, 2.0) for window, step in _windows(motion, trots)]
    fast = [_of_window(window, step, (SLOWEST_HZ, FASTEST_HZ), 1.0) for window, step in _windows(motion, works)]
    half, trot = _steady(found)
    work = _steady(fast)[1]
    if why_not := _why_not(motion, found, half):
        return Evenness(work=_mean(work, fast), windows=half.size, why_not=why_not)
    sd = max(float(half.std(ddof=1)) / half.size**0.5, LEAST_SD)
    return Evenness(float(half.mean()), sd, float(trot.mean()), _mean(work, fast), half.size)


def _why_not(motion: Motion, found: list[tuple[float, float]], steady: Floats) -> Why:
    if float(np.median(np.diff(np.sort(motion.time_s)))) > 1.0 / LEAST_HZ:
        return "slow device"
    if len(found) < WINDOWS:
        return "too short"
    if all(np.isnan(whole) for _, whole in found):
        return "no gravity"
    return "unsteady" if steady.size < max(WINDOWS, SHARE * len(found)) else ""


def _mean(values: Floats, found: list[tuple[float, float]]) -> float:
    return float(values.mean()) if values.size >= max(WINDOWS, SHARE * len(found)) else nan


def _steady(found: list[tuple[float, float]]) -> tuple[Floats, Floats]:
    """Return the halves against wholes, and the wholes, of the windows that are steady."""
    half, whole = np.array(found).reshape(-1, 2).T
    steady = whole >= REGULAR
    return half[steady] / whole[steady], whole[steady]


def _windows(motion: Motion, spans: Spans) -> list[tuple[Floats, float]]:
    """Return windows that do not overlap, (n, 3) g each, and the seconds between moments."""
    return [
        (window, step)
        for begin, end in spans
        for _, window, step in list(windows_of(motion.time_s, motion.g, begin, end, LEAST_HZ))[::2]
        if window is not None
    ]


def _of_window(g: Floats, step_s: float, band_hz: tuple[float, float], beats: float) -> tuple[float, float]:
    """Return the autocorrelation half a stride and a whole stride later; NaN where up is not known or nothing swings.

    Args:
        g: (n, 3) acceleration.
        step_s: seconds between moments.
        band_hz: where the beat is looked for.
        beats: how many beats a stride has.
    """
    mean = g.mean(axis=0)
    length = float(np.linalg.norm(mean))
    if not GRAVITY[0] <= length <= GRAVITY[1]:
        return nan, nan
    up = (g - mean) @ mean / length
    frequency = np.fft.rfftfreq(8 * up.size, step_s)
    power = np.abs(np.fft.rfft(up * np.hanning(up.size), 8 * up.size)) ** 2
    inside = (frequency >= band_hz[0]) & (frequency <= band_hz[1])
    if not inside.any() or power[inside].max() == 0.0:
        return nan, nan
    stride = beats / frequency[inside][int(np.argmax(power[inside]))] / step_s
    A = autocorrelation(up)
    near = np.arange(int(0.9 * stride), min(int(1.1 * stride) + 2, up.size - 1))
    top = near[int(np.argmax(A[near]))]
    below, at, above = A[top - 1 : top + 2]
    bend = below - 2.0 * at + above
    stride = float(top) if bend >= 0.0 else top + 0.5 * (below - above) / bend
    return _between(A, stride / 2.0), _between(A, stride)


def autocorrelation(x: Floats) -> Floats:
    """Return the unbiased autocorrelation (n,) of a signal (n,) of mean 0, as a share of that without a lag."""
    n = x.size
    power = np.abs(np.fft.rfft(x, 2 * n)) ** 2
    sums = np.fft.irfft(power, 2 * n)[:n] / np.arange(n, 0, -1)
    return np.asarray(sums / sums[0])


def _between(A: Floats, lag: float) -> float:
    """Return a value between lags, by the parabola through the three nearest."""
    at = int(np.clip(round(lag), 1, A.size - 2))
    off = lag - at
    below, here, above = A[at - 1 : at + 2]
    return float(here + 0.5 * off * (above - below) + 0.5 * off**2 * (below - 2.0 * here + above))
