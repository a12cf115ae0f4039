"""What a device on the horse writes down: position and speed with errors that last, gaps, spikes, and a heart strap.

Sizes of errors are common practice, no source; that of speed is near what race tracking by radio is held to, 0.15 m/s
(Spence et al. 2008).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.ground import PLANE
from upsides.demo.morning_sim.noise import drifting
from upsides.demo.morning_sim.striding import felt, surge
from upsides.demo.morning_sim.truth import Truth
from upsides.recordings.recording import Device, FormatName, Recording

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Receiver:
    """A device and its faults.

    Attributes:
        rate_hz: fixes a second.
        slow_m: standard deviation east and north of the error of position that lasts, m.
        slow_s: how long it lasts, s.
        white_m: of the error of position that does not last, m.
        slow_ms: standard deviation of the error of speed that lasts, m/s.
        speed_s: how long that lasts, s.
        white_ms: of the error of speed that does not last, m/s.
        lag_s: how long after the horse came out the first fix is written, s.
        trees: how often it loses sight of the sky, for 3 to 15 s each.
        spikes: how often a reflection throws the position by 15 to 60 m, for 1 to 3 s each.
        clock_s: by how much its clock is ahead, s.
        says_accuracy: whether it writes its own error.
        says_speed: whether it writes its own speed.
        heart: whether a heart strap is worn.
        heart_faults: whether the strap misses at the start, freezes and doubles.
        motion_hz: how often it measures acceleration; 0 for never.
    """

    rate_hz: float = 5.0
    slow_m: float = 1.8
    slow_s: float = 45.0
    white_m: float = 0.4
    slow_ms: float = 0.08
    speed_s: float = 2.0
    white_ms: float = 0.1
    lag_s: float = 8.0
    trees: int = 1
    spikes: int = 2
    clock_s: float = 0.0
    says_accuracy: bool = True
    says_speed: bool = True
    heart: bool = True
    heart_faults: bool = True
    motion_hz: float = 0.0


PERFECT = Receiver(slow_m=0.0, white_m=0.0, slow_ms=0.0, white_ms=0.0, lag_s=0.0, trees=0, spikes=0, heart_faults=False)
"""A device without faults."""


def recorded(
    rng: np.random.Generator, truth: Truth, receiver: Receiver, *, file: str = "", made: FormatName = "fit"
) -> Recording:
    """Write down a horse's morning as a device would.

    Args:
        rng: source of chance.
        truth: what happened.
        receiver: the device.
        file: the name of the file.
        made: the format that it stands for.
    """
    from upsides.recordings.plane import from_plane

    time = np.arange(truth.time_s[0] + receiver.lag_s, truth.time_s[-1], 1.0 / receiver.rate_hz)
    time = time[_seen(rng, time, receiver.trees)]
    east, north = _placed(rng, truth, time, receiver)
    latitude, longitude = from_plane(PLANE, east, north)
    height = np.interp(time, truth.time_s, truth.height_m) + drifting(rng, time.size, 3.0, 60.0 * receiver.rate_hz)
    nothing = np.full(time.size, np.nan)
    told = Recording.of_columns(
        file,
        made,
        time.size,
        device=Device("", "", truth.mover.name),
        time_s=time + receiver.clock_s,
        latitude=np.round(latitude, 7),
        longitude=np.round(longitude, 7),
        height_m=np.round(height, 1),
        speed_ms=_clocked(rng, truth, time, receiver) if receiver.says_speed else nothing,
        accuracy_m=_own_error(rng, time.size, receiver) if receiver.says_accuracy else nothing,
        heart_bpm=_strapped(rng, truth, time, faults=receiver.heart_faults) if receiver.heart else nothing,
    )
    if receiver.motion_hz <= 0.0:
        return told
    moments, uneven = truth.time_s + receiver.clock_s, truth.mover.uneven_g
    return replace(
        told, motion=felt(rng, moments, truth.strides, truth.gait, truth.speed_ms, receiver.motion_hz, uneven)
    )


def _seen(rng: np.random.Generator, time: Floats, trees: int) -> NDArray[np.bool_]:
    """Say which fixes are written: none while the sky is hidden."""
    seen = np.ones(time.size, dtype=np.bool_)
    for begin in rng.uniform(time[0], time[-1], trees):
        seen &= (time < begin) | (time > begin + rng.uniform(3.0, 15.0))
    return seen


def _placed(rng: np.random.Generator, truth: Truth, time: Floats, receiver: Receiver) -> tuple[Floats, Floats]:
    """Return positions with their errors, metres east and north."""
    memory = receiver.slow_s * receiver.rate_hz
    out = []
    for true in (truth.east_m, truth.north_m):
        error = drifting(rng, time.size, receiver.slow_m, memory) + receiver.white_m * rng.standard_normal(time.size)
        out.append(np.interp(time, truth.time_s, true) + error)
    for begin in rng.uniform(time[0], time[-1], receiver.spikes):
        during = (time >= begin) & (time <= begin + rng.uniform(1.0, 3.0))
        angle, far = rng.uniform(0.0, 2.0 * np.pi), rng.uniform(15.0, 60.0)
        out[0][during] += far * np.cos(angle)
        out[1][during] += far * np.sin(angle)
    return out[0], out[1]


def _own_error(rng: np.random.Generator, count: int, receiver: Receiver) -> Floats:
    """Return what the device says of its horizontal error, m: about right, and slowly changing."""
    error = np.hypot(receiver.slow_m, receiver.white_m) * np.sqrt(2.0)
    return np.asarray(np.round(error * np.exp(drifting(rng, count, 0.15, 30.0 * receiver.rate_hz)), 1))


def _clocked(rng: np.random.Generator, truth: Truth, time: Floats, receiver: Receiver) -> Floats:
    """Return the device's own speed: truth, the swing of the stride, and errors; millimetres a second, not below 0."""
    swinging = truth.speed_ms + surge(truth.strides, truth.gait)
    error = drifting(rng, time.size, receiver.slow_ms, receiver.speed_s * receiver.rate_hz)
    error += receiver.white_ms * rng.standard_normal(time.size)
    return np.asarray(np.round(np.maximum(np.interp(time, truth.time_s, swinging) + error, 0.0), 3))


def _strapped(rng: np.random.Generator, truth: Truth, time: Floats, *, faults: bool) -> Floats:
    """Return the heart rates of a strap: whole beats; with faults it is dry at the start, freezes and doubles."""
    beats = np.asarray(np.round(np.interp(time, truth.time_s, truth.heart_bpm) + rng.normal(0.0, 1.0, time.size)))
    if not faults:
        return beats
    beats[time < time[0] + rng.uniform(0.0, 60.0)] = np.nan
    begin = rng.uniform(time[0], time[-1])
    frozen = (time >= begin) & (time < begin + rng.uniform(8.0, 30.0))
    beats[frozen] = beats[frozen][0] if frozen.any() else np.nan
    begin = rng.uniform(time[0], time[-1])
    doubled = (time >= begin) & (time < begin + rng.uniform(5.0, 20.0)) & (beats < 115.0)
    beats[doubled] *= 2.0
    return beats
