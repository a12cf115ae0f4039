"""Height along the way and its gradient: from the device, or from the ground under it.

Height is smoothed over the distance gone, not over time, so that standing neither makes nor takes a slope: means over
cells of `CELL_M`, then the smoother of the track with metres for seconds, whose state is height and gradient and whose
gradient changes at random by about 1 % in 50 m.

Receivers reckon height over the ellipsoid; maps and tiles give it over the geoid, about mean sea level, and the two
differ by up to about 100 m, steadily over any yard. A steady offset of the device from the tile is therefore taken off.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings import axes_kernel
from upsides.recordings.recording import Message

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]

CELL_M = 10.0
BEND = 2e-6
"""Spectral density of the gradient's change, 1/m: (1 %)^2 in 50 m. Our own."""
LOWEST_M, HIGHEST_M = -450.0, 9000.0
"""Below the lowest and above the highest land, with room."""
LEAST_SD_M, TILE_SD_M = 0.3, 3.0
"""Error of a cell's height: the least for a device, and that of a tile, but for what its posts share. Our own."""
STEEPEST = 0.5
"""A gradient above this is not one that a horse is worked on, and counts as not known. Our own limit."""
OFFSET_M, STEADY, LEAST_COMPARED = 10.0, 0.5, 20
"""The device stands over the ellipsoid if its median offset from the tile is more than the first, its robust standard
deviation less than so large a share of it, and so many fixes at least were compared. Our own limits."""


@dataclass(frozen=True, slots=True, eq=False)
class Heights:
    """Height and gradient of m moments.

    Attributes:
        height_m: (m,) metres, NaN where not known.
        gradient: (m,) rise over run, NaN where not known.
        source: "device", "tile", or "" for none.
        messages: what was mended.
    """

    height_m: Floats
    gradient: Floats
    source: str
    messages: tuple[Message, ...]


def heights_of(along: Floats, stretch: Whole, device: Floats, ground: Floats | None) -> Heights:
    """Return height and gradient along the way.

    Args:
        along: (m,) distance gone, m; NaN where not known.
        stretch: (m,) number of the unbroken stretch.
        device: (m,) the device's heights, NaN where there are none.
        ground: (m,) the tile's heights under the track; None without a tile.
    """
    said: list[Message] = []
    device = _possible(device, said)
    if np.isfinite(device).any():
        if ground is not None:
            device = _over_the_sea(device, ground, said)
        return Heights(*_smoothed(along, stretch, device, None), "device", tuple(said))
    if ground is not None and np.isfinite(ground).any():
        return Heights(*_smoothed(along, stretch, ground, TILE_SD_M), "tile", tuple(said))
    nothing = np.full(along.size, np.nan)
    return Heights(nothing, nothing.copy(), "", tuple(said))


def _possible(device: Floats, said: list[Message]) -> Floats:
    """Leave out heights that no land has, and all of them where each is 0."""
    known = np.isfinite(device)
    if known.any() and not device[known].any():
        said.append(Message("heights_zero", {"count": int(known.sum())}))
        return np.full(device.size, np.nan)
    wrong = known & ((device < LOWEST_M) | (device > HIGHEST_M))
    if wrong.any():
        said.append(Message("heights_impossible", {"count": int(wrong.sum())}))
    return np.where(wrong, np.nan, device)


def _over_the_sea(device: Floats, ground: Floats, said: list[Message]) -> Floats:
    """Take off what a device stands above the tile, where that is steady."""
    off = device - ground
    off = off[np.isfinite(off)]
    if off.size < LEAST_COMPARED:
        return device
    offset = float(np.median(off))
    spread = 1.4826 * float(np.median(np.abs(off - offset)))
    if abs(offset) <= OFFSET_M or spread > STEADY * abs(offset):
        return device
    code = "ellipsoid" if offset > 0 else "ellipsoid_below"
    said.append(Message(code, {"count": off.size, "metres": f"{abs(offset):.1f}"}))
    return device - offset


def _smoothed(along: Floats, stretch: Whole, height: Floats, sd: float | None) -> tuple[Floats, Floats]:
    """Return height and gradient (m,), smoothed over distance in each stretch."""
    smooth, gradient = np.full(along.size, np.nan), np.full(along.size, np.nan)
    known = np.flatnonzero(np.isfinite(along) & np.isfinite(height))
    if not known.size:
        return smooth, gradient
    key = stretch[known] * (int(along[known].max() / CELL_M) + 2) + (along[known] / CELL_M).astype(np.int64)
    cell = np.cumsum(np.r_[0, np.diff(key) != 0])
    count = np.bincount(cell)
    place, level = np.bincount(cell, along[known]) / count, np.bincount(cell, height[known]) / count
    number = stretch[known][np.r_[0, np.flatnonzero(np.diff(cell)) + 1]]
    first = np.r_[True, np.diff(number) != 0]
    state = _passes(place, first, level, sd if sd is not None else _error(level, first))
    inside = np.isfinite(along)
    for one in np.unique(number):
        here, cells = np.flatnonzero(inside & (stretch == one)), np.flatnonzero(number == one)
        if np.ptp(place[cells]) < 2 * CELL_M:  # too short for a slope
            smooth[here] = level[cells].mean()
            continue
        smooth[here] = np.interp(along[here], place[cells], state[cells, 0])
        gradient[here] = np.interp(along[here], place[cells], state[cells, 1])
    gradient[np.abs(gradient) > STEEPEST] = np.nan
    return smooth, gradient


def _passes(place: Floats, first: Flags, level: Floats, sd: float) -> Floats:
    """Return (k, 4) smoothed states of k cells: height, gradient, and two that say nothing."""
    k = place.size
    state, covariance, used = np.empty((k, 4)), np.empty((k, 4)), np.empty(k, dtype=np.bool_)
    step = np.r_[0.0, np.diff(place)]
    prior = np.array([1e4, 0.01, 0.0, 0.0])
    variance = np.full(k, sd * sd)
    axes_kernel.smooth(step, first, level, np.zeros(k), variance, BEND, prior, np.inf, state, covariance, used)
    return state


def _error(level: Floats, first: Flags) -> float:
    """Return the error of a cell's height, m, from second differences (variance six times that of one)."""
    bend = np.diff(level, 2)[~(first[2:] | first[1:-1])]
    return max(float(np.median(np.abs(bend))) / 0.6745 / np.sqrt(6), LEAST_SD_M) if bend.size else LEAST_SD_M
