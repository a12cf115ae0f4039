"""Stride rate and length: out of the swing of the speed or of acceleration within each stride, or as published.

The swing is looked for in the recording as it is, never in a smoothed track, which has lost it. A device that writes
once or five times a second cannot hold it: strides of a gallop come about 2 to 2.5 times a second.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.recording import Recording

Floats = NDArray[np.float64]

LEAST_HZ = 8.0
"""Fixes a second below which stride rate is not looked for: above three a stride, the Nyquist limit with slack."""

SLOWEST_HZ, FASTEST_HZ = 1.4, 2.9
"""Where stride rates of canter and gallop lie: 2.02 Hz at 9 m/s and 2.39 at 17 (Witte et al. 2006), with room."""

WINDOW_S = 6.0
"""About a hundred metres of a gallop, over which Pfau et al. 2022 state their error."""

NOISE_HZ = (1.0, 5.0)
"""Where the noise is looked for, apart from the peak and twice its frequency."""

SHOWS = 14.0
"""A peak of power must stand so many times above the median of the noise; engineering choice."""

WITHIN_HZ = 0.006
"""How far off a window's rate is by what it changes within; held by simulated mornings."""

PADDED = 8

AT_9_M, AT_17_M = 4.455, 7.123
"""Length of a stride at 9 and 17 m/s (Witte et al. 2006: 0.495 and 0.419 s a stride)."""

SPREAD = 0.055
"""Horses differ: a standard deviation of 0.39 m of 7.08 in racing (Morrice-West et al. 2021)."""

CANTERS_MS = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class Striding:
    """Stride rate by windows of `WINDOW_S`, n of them, overlapping by half.

    Attributes:
        time_s: (n,) middles of the windows, seconds since 1970.
        rate_hz: (n,) strides a second; NaN where none shows.
        sd_hz: (n,) standard deviation.
    """

    time_s: Floats
    rate_hz: Floats
    sd_hz: Floats

    def rate_at(self, moments: Floats) -> Floats:
        """Return the rate at moments, from the windows around; NaN where the nearest window has none."""
        shows = np.isfinite(self.rate_hz)
        if not shows.any():
            return np.full(moments.size, np.nan)
        nearest = np.searchsorted(0.5 * (self.time_s[1:] + self.time_s[:-1]), moments)
        near = shows[nearest] & (np.abs(self.time_s[nearest] - moments) <= 0.5 * WINDOW_S)
        return np.where(near, np.interp(moments, self.time_s[shows], self.rate_hz[shows]), np.nan)


NONE = Striding(np.empty(0), np.empty(0), np.empty(0))


def stride_length(speed_ms: Floats) -> Floats:
    """Return metres a stride at a speed, by the line through the published two; NaN below the canter.

    A horse's own length differs by about `SPREAD`.
    """
    length = AT_9_M + (AT_17_M - AT_9_M) / 8.0 * (speed_ms - 9.0)
    return np.where(speed_ms >= CANTERS_MS, length, np.nan)


def strides_of(recording: Recording, start_s: float, end_s: float) -> Striding:
    """Look for the strides of a canter or gallop between two moments: by acceleration first, else by speed.

    Speed that was written more often than fixes is asked before that of the fixes.

    In a trot the beat that shows is half a stride, so that what is looked for is not there: ask for canter and fast
    work only.
    """
    if recording.motion is not None:
        found = _windows(recording.motion.time_s, _swing(recording.motion.g), start_s, end_s)
        if np.isfinite(found.rate_hz).any():
            return found
    if recording.speeds is not None:
        found = _windows(recording.speeds.time_s, recording.speeds.ms[:, None], start_s, end_s)
        if np.isfinite(found.rate_hz).any():
            return found
    known = np.isfinite(recording.speed_ms) & np.isfinite(recording.time_s)
    return _windows(recording.time_s[known], recording.speed_ms[known, None], start_s, end_s)


def _swing(g: Floats) -> Floats:
    """Return acceleration without gravity's steady part; all three axes are used, however the device lies."""
    return np.asarray(g - np.nanmean(g, axis=0))


def _windows(time_s: Floats, values: Floats, start_s: float, end_s: float) -> Striding:
    """Find the rate of each window of evenly written values (n, channels)."""
    middles, rates, errors = [], [], []
    for middle, window, step in windows_of(time_s, values, start_s, end_s, LEAST_HZ):
        rate, error = (np.nan, np.nan) if window is None else _rate(window, step)
        middles.append(middle)
        rates.append(rate)
        errors.append(error)
    return Striding(np.array(middles), np.array(rates), np.array(errors)) if middles else NONE


def windows_of(
    time_s: Floats, values: Floats, start_s: float, end_s: float, least_hz: float
) -> Iterator[tuple[float, Floats | None, float]]:
    """Yield the windows of `WINDOW_S` between two moments, overlapping by half; none of values written too seldom.

    Args:
        time_s: (n,) seconds since 1970, in any order.
        values: (n, channels) what was written then.
        start_s: the first moment.
        end_s: the last.
        least_hz: how often it must be written.

    Yields:
        The middle of a window, its values (size, channels), None where some are missing, and the seconds between two.
    """
    order = np.argsort(time_s, kind="stable")
    time, signal = time_s[order], values[order]
    inside = (time >= start_s) & (time <= end_s) & np.isfinite(signal).all(axis=1)
    time, signal = time[inside], signal[inside]
    step = float(np.median(np.diff(time))) if time.size > 2 else np.inf
    if step <= 0.0 or step > 1.0 / least_hz:
        return
    size = round(WINDOW_S / step)
    for first in range(0, time.size - size + 1, size // 2):
        span = time[first + size - 1] - time[first]
        whole = abs(span - (size - 1) * step) < 2.0 * step
        middle = 0.5 * float(time[first] + time[first + size - 1])
        yield middle, signal[first : first + size] if whole else None, step


def _rate(signal: Floats, step_s: float) -> tuple[float, float]:
    """Return the frequency of the strongest swing of a window (n, channels), and its standard deviation; NaN for none.

    A line is taken out, a Hann window laid on, and the power of all channels summed; the peak is placed by the parabola
    through the logarithms of the three highest. The error is the least that a sinusoid's frequency can have in white
    noise (Rife and Boorstyn 1974, IEEE Transactions on Information Theory 20:591), 6 / (r (n^2 - 1)) square radians a
    step with r the peak of power against the noise, times 1.5 for the Hann window, and what the rate changes within it.
    """
    size = signal.shape[0]
    place = np.arange(size)[:, None] - 0.5 * (size - 1)
    level = signal - signal.mean(axis=0)
    level = level - place * (place * level).sum(axis=0) / (place**2).sum()
    power = (np.abs(np.fft.rfft(level * np.hanning(size)[:, None], PADDED * size, axis=0)) ** 2).sum(axis=1)
    frequency = np.fft.rfftfreq(PADDED * size, step_s)
    band = np.flatnonzero((frequency >= SLOWEST_HZ) & (frequency <= FASTEST_HZ))
    top = band[int(np.argmax(power[band]))]
    around = (frequency >= NOISE_HZ[0]) & (frequency <= NOISE_HZ[1])
    for beat in (1.0, 2.0):
        around &= np.abs(frequency - beat * frequency[top]) > 2.5 / (size * step_s)
    floor = float(np.median(power[around])) if around.any() else 0.0
    if top in {band[0], band[-1]} or floor <= 0.0 or power[top] < SHOWS * floor:
        return np.nan, np.nan
    below, at, above = np.log(power[top - 1 : top + 2])
    moved = 0.5 * (below - above) / (below - 2.0 * at + above)
    against_noise = power[top] / floor * np.log(2.0)  # a median of power is log 2 of its mean
    sd = 1.5 * np.sqrt(6.0 / (against_noise * (size**2 - 1))) / (2.0 * np.pi * step_s)
    return float(frequency[top] + moved * (frequency[1] - frequency[0])), float(np.hypot(sd, WITHIN_HZ))
