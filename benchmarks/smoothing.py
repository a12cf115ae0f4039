"""Smoothing a track, against filterpy's Kalman filter and RTS smoother on the same fixes in the same run.

Wanted: at least 50 times faster a fix than filterpy used as its manual says, with four states and one call of
`rts_smoother` after `batch_filter`. One recording of 45 minutes at 5 Hz (13 500 fixes).
"""

import statistics
import time
import tracemalloc
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks._compiling import compile_seconds
from upsides.recordings import smoother
from upsides.recordings.plane import from_plane
from upsides.recordings.recording import Recording
from upsides.recordings.track import Plane
from upsides.recordings.tracking import track_of

Floats = NDArray[np.float64]

FIXES, STEP, Q, VARIANCE = 13_500, 0.2, 0.5, 1.0
REPEATS = 15


def run() -> None:
    """Print microseconds a fix, the ratio, the largest difference, memory, and the time of a whole track."""
    compiling = compile_seconds("upsides.recordings.tracking")
    print(f"compiling the kernels, once for each machine: {compiling:.1f} s")
    speed, east, north = fixes()
    step, first = np.r_[0.0, np.full(FIXES - 1, STEP)], np.arange(FIXES) == 0
    variance = np.full(FIXES, VARIANCE)

    def ours() -> smoother.Way:
        return smoother.by_places(step, first, east, north, variance, Q)

    def ours_with_speed() -> smoother.Way:
        return smoother.with_speed(step, first, (east, north), variance, Q, (speed, 0.01), alone)

    alone, took = timed(ours, REPEATS)
    print(f"ours, places alone:                  {took / FIXES * 1e6:8.3f} microseconds a fix")
    _, with_speed = timed(ours_with_speed, REPEATS)
    print(f"ours, with the receiver's own speed: {with_speed / FIXES * 1e6:8.3f} microseconds a fix")
    print(f"ours, memory at the most: {memory(ours):.0f} and {memory(ours_with_speed):.0f} bytes a fix")
    compare(np.column_stack([east, north]), np.column_stack([alone[2], alone[3]]), took, with_speed)
    whole(speed, east, north)


def fixes() -> tuple[Floats, Floats, Floats]:
    """Return the receiver's speed and noisy places of a horse on bends, between walk and gallop."""
    rng = np.random.default_rng(1)
    when = np.arange(FIXES) * STEP
    speed = 9 - 7.5 * np.cos(when / 200)
    heading = np.cumsum(speed) * STEP / 400
    east = np.cumsum(speed * np.sin(heading)) * STEP + rng.normal(0, 1, FIXES)
    north = np.cumsum(speed * np.cos(heading)) * STEP + rng.normal(0, 1, FIXES)
    return speed + rng.normal(0, 0.1, FIXES), east, north


def timed(work: Callable[[], Any], repeats: int) -> tuple[Any, float]:
    """Return what the work returns and the median seconds that it takes, after once to warm up."""
    found, seconds = work(), []
    for _ in range(repeats):
        began = time.perf_counter()
        found = work()
        seconds.append(time.perf_counter() - began)
    return found, statistics.median(seconds)


def memory(work: Callable[[], object]) -> float:
    """Return the most bytes a fix that the work holds at a time, its answer included."""
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / FIXES


def compare(places: Floats, velocity: Floats, took: float, with_speed: float) -> None:
    """Print filterpy's time, the ratios and the largest difference of a velocity."""
    try:
        from filterpy.kalman import KalmanFilter
    except ImportError:
        print("filterpy: skipped, it is not here; it is in the group `bench` of pyproject.toml")
        return
    move = np.array([[1.0, STEP], [0.0, 1.0]])
    spread = Q * np.array([[STEP**3 / 3, STEP**2 / 2], [STEP**2 / 2, STEP]])
    filter_ = KalmanFilter(dim_x=4, dim_z=2)
    filter_.x = np.array([places[0, 0], 0.0, places[0, 1], 0.0])
    filter_.P = np.diag([smoother.WIDE_PLACE, smoother.WIDE_SPEED] * 2)
    filter_.F, filter_.Q = np.kron(np.eye(2), move), np.kron(np.eye(2), spread)
    filter_.H, filter_.R = np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0]]), VARIANCE * np.eye(2)
    began = time.perf_counter()
    means, spreads, _, _ = filter_.batch_filter(list(places))
    smooth, _, _, _ = filter_.rts_smoother(means, spreads)
    other = time.perf_counter() - began
    print(f"filterpy, four states:               {other / FIXES * 1e6:8.3f} microseconds a fix")
    # its first step foretells before it measures, so the very first fixes differ by the prior
    apart = np.abs(smooth[50:, [1, 3]] - velocity[50:]).max()
    print(f"largest difference of a velocity after the first 50 fixes: {apart:.1e} m/s")
    print(f"ratio: {other / took:.0f} times as fast with places alone, {other / with_speed:.0f} with speed (50 wanted)")


def whole(speed: Floats, east: Floats, north: Floats) -> None:
    """Print the time of a whole track: cleaned, noise found, smoothed, height, heart."""
    latitude, longitude = from_plane(Plane(51.0, -1.5), east, north)
    rng = np.random.default_rng(2)
    recording = Recording.of_columns(
        "a.fit",
        "fit",
        FIXES,
        time_s=1.7e9 + np.arange(FIXES) * STEP,
        latitude=latitude,
        longitude=longitude,
        speed_ms=np.abs(speed),
        height_m=100 + rng.normal(0, 1, FIXES),
        heart_bpm=np.round(70 + 8 * speed),
    )
    _, took = timed(lambda: track_of(recording), REPEATS)
    print(
        f"a whole track of {FIXES} fixes: {took * 1e3:.1f} ms (15 wanted), {took / FIXES * 1e6:.2f} microseconds a fix"
    )
