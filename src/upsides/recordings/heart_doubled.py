"""Heart rates counted twice or by half on one side of a jump that does not come back.

A rate that jumps by a factor of two and stays there was miscounted on one side. On which, the rest of the recording
tells, by how the heart beat at the same speed. Where it does not tell, nothing is put right: the rates on the shorter
side are doubtful, and nothing is concluded from them. What may be the horse's own, a startle, is kept. All limits here
are our own choice.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.int64]

LEAST_BPM, MOST_BPM = 20.0, 250.0
"""No horse's heart beats more slowly, or faster."""
TWICE = (1.8, 2.2)
"""A step by a factor between these, up or down, is a rate counted twice or by half."""
LEVEL_S, GAP_S, BRIDGED_S = 5.0, 10.0, 120.0
"""A level is the median of so many seconds. A jump over a gap longer than the second, up to the last, counts where the
horse went as fast before as after it."""
STEP_BPM = 30.0
"""A jump is at least so many beats within three seconds."""
WITHIN_S = 3.0
MEAN_S, SAME_MS, LEAST_MEANS = 5.0, 1.0, 6
"""Means over so many seconds are held against those of the rest within so much speed, if there are so many."""
SETTLED_S, NEAR_S = 30.0, 300.0
"""A startled heart has come down much of its way after the first; what is nearer than the second is held apart."""
NEAR: Final = (0.8, 1.25)
"""Of two rates at the same speed within some minutes."""
MOSTLY, ASIDE = 0.75, 0.1
"""So large a share of what can be compared must agree; rates within so much of the rest's range do."""
CANTER_MS, CANTER_BPM, CANTER_S = 8.0, 100.0, 30.0
"""No horse that goes so fast for so long beats more slowly."""
OWN_BPM = 90.0
"""From more than this no heart doubles within seconds, and to less than half of it none halves."""


@dataclass(frozen=True, slots=True)
class Miscounted:
    """Rates on the wrong side of a jump.

    Attributes:
        told: (m,) those that the rest tells to be counted twice or by half.
        doubtful: (m,) those of which nothing tells.
    """

    told: Flags
    doubtful: Flags


@dataclass(frozen=True, slots=True)
class _Run:
    """Rates between two jumps.

    Attributes:
        rows: which.
        level: how often they were doubled against the first run.
        at: when it was jumped at their ends.
        before: the levels from which it was.
        rose: whether a rate jumped up there.
        sharp: whether no jump was over a gap.
    """

    rows: Rows
    level: int
    at: tuple[float, ...]
    before: tuple[float, ...]
    rose: bool
    sharp: bool


@dataclass(frozen=True, slots=True)
class _Cut:
    """A jump: the first row after it, up or down, the level before it, how high it was, and whether it was no gap."""

    row: int
    way: int
    before: float
    height: float
    sharp: bool


def by_two(factor: float) -> bool:
    """Return whether a factor is about two, or a half."""
    return factor > 0 and TWICE[0] <= max(factor, 1 / factor) <= TWICE[1]


def miscounted(time: Floats, bpm: Floats, speed: Floats, left: Flags) -> Miscounted:
    """Find rates on the wrong side of a jump by two.

    Args:
        time: (m,) seconds, rising.
        bpm: (m,) as recorded; those above what a heart can do tell that their side was doubled.
        speed: (m,) m/s, NaN where not known.
        left: (m,) which were not left out before.
    """
    nothing = np.zeros(bpm.size, dtype=np.bool_)
    found = Miscounted(nothing, nothing.copy())
    rows = np.flatnonzero(left | ((bpm > MOST_BPM) & (bpm <= 2 * MOST_BPM) & (bpm != 255)))
    runs = _runs(rows, time, bpm, speed)
    if len(runs) < 2:
        return found
    true = _true_level(runs, time, bpm, speed)
    rest = np.concatenate([run.rows for run in runs if run.level == true])
    even = sum(_lasted(run, time) for run in runs if run.level != true) > _lasted_of(rest, time) / 2
    for run in runs:
        if run.level == true:
            continue
        doubled = run.level - true
        if _cannot_be(run.rows, time, bpm, speed) or _other_side_right(run, doubled, rest, time, bpm, speed):
            word = "told"
        else:
            word = _against(run, doubled, rest, time, bpm, speed)
        if word == "told":
            found.told[run.rows] = True
        elif word == "doubtful":
            found.doubtful[run.rows] = True
            found.doubtful[rest] |= even
    found.doubtful[found.told] = False
    return Miscounted(found.told & left, found.doubtful & left)


def _runs(rows: Rows, time: Floats, bpm: Floats, speed: Floats) -> list[_Run]:
    cuts = _cuts(time[rows], bpm[rows], speed[rows])
    bounds = [0, *(cut.row for cut in cuts), rows.size]
    levels = np.cumsum([0, *(cut.way for cut in cuts)])
    found = []
    for number in range(len(bounds) - 1):
        beside = cuts[max(number - 1, 0) : number + 1]
        one = _Run(
            rows=rows[bounds[number] : bounds[number + 1]],
            level=int(levels[number]),
            at=tuple(float(time[rows[cut.row]]) for cut in beside),
            before=tuple(cut.before for cut in beside),
            rose=any(cut.way > 0 for cut in beside),
            sharp=all(cut.sharp for cut in beside),
        )
        found.append(one)
    return found


def _cuts(t: Floats, h: Floats, v: Floats) -> list[_Cut]:
    """Return where rates jump by two; of a jump over some rows its steepest one."""
    if t.size < 2 * LEAST_MEANS:
        return []
    step = np.diff(t)
    ahead = np.minimum(np.searchsorted(t, t[:-1] + WITHIN_S, side="right") - 1, t.size - 1)
    leapt = np.maximum(np.abs(np.diff(h)), np.abs(h[ahead] - h[:-1]))
    gap = (step > GAP_S) & (step <= BRIDGED_S) & (np.abs(np.diff(v)) <= SAME_MS)
    found: list[_Cut] = []
    for row in (np.flatnonzero(((leapt >= STEP_BPM) & (step <= GAP_S)) | gap) + 1).tolist():
        before = h[np.searchsorted(t, t[row - 1] - LEVEL_S) : row]
        after = h[row : np.searchsorted(t, t[row] + LEVEL_S, side="right")]
        level = float(np.median(before))
        factor = float(np.median(after)) / level
        if min(before.size, after.size) < 2 or not by_two(factor):
            continue
        cut = _Cut(row, 1 if factor > 1 else -1, level, float(abs(h[row] - h[row - 1])), bool(step[row - 1] <= GAP_S))
        if not found or found[-1].way != cut.way or t[row] - t[found[-1].row] > GAP_S:
            found.append(cut)
        elif cut.height > found[-1].height:
            found[-1] = cut
    return found


def _lasted(run: _Run, time: Floats) -> float:
    return _lasted_of(run.rows, time)


def _lasted_of(rows: Rows, time: Floats) -> float:
    """Return for how long there were rates, gaps left out."""
    return float(np.minimum(np.diff(time[rows]), GAP_S).sum())


def _true_level(runs: list[_Run], time: Floats, bpm: Floats, speed: Floats) -> int:
    """Return the level at which most rates stand, of those that can be."""
    lasted: dict[int, float] = {}
    for run in runs:
        can = not _cannot_be(run.rows, time, bpm, speed)
        lasted[run.level] = lasted.get(run.level, 0.0) + (_lasted(run, time) + 1e-3 if can else 0.0)
    return max(lasted, key=lambda level: lasted[level])


def _cannot_be(rows: Rows, time: Floats, bpm: Floats, speed: Floats) -> bool:
    """Return whether some rates are more than any heart beats, or far too few at a canter."""
    h, v = bpm[rows], speed[rows]
    if _lasted_of(rows[h > MOST_BPM], time) >= MEAN_S:
        return True
    fast = rows[v > CANTER_MS]
    return _lasted_of(fast, time) >= CANTER_S and float(np.median(bpm[fast])) < CANTER_BPM


def _other_side_right(run: _Run, doubled: int, rest: Rows, time: Floats, bpm: Floats, speed: Floats) -> bool:
    """Return whether the jump cannot be the horse's own, and the rest cannot be what was miscounted."""
    if not run.sharp or min(run.before) < OWN_BPM:
        return False
    return _cannot_be(rest, time, bpm * 2.0**doubled, speed)


def _against(run: _Run, doubled: int, rest: Rows, time: Floats, bpm: Floats, speed: Floats) -> str:
    """Return "told" where the rest tells that a run is miscounted, "kept" that it is not, else "doubtful"."""
    t, h, v = _means(run.rows, time, bpm, speed)
    others = _means(rest, time, bpm, speed)
    right = h / 2.0**doubled
    like = np.abs(v[:, None] - others[2][None, :]) <= SAME_MS
    known = np.flatnonzero(like.sum(axis=1) >= LEAST_MEANS)
    if known.size < max(LEAST_MEANS, h.size / 2):
        return "doubtful"
    low, high = np.array([np.percentile(others[1][like[k]], [5, 95]) for k in known]).T
    as_is = _within(h[known], low, high)
    put_right = _within(right[known], low, high)
    cut = min(run.at, key=lambda one: float(np.abs(t - one).min()))
    if run.rose and max(run.before) < OWN_BPM and _came_down(t, h, v, others, cut):
        return "kept"
    near = _near(t, h, like, others, cut)
    if NEAR[0] <= near <= NEAR[1] or np.mean(as_is & ~put_right) >= MOSTLY:
        return "kept"
    sure = not np.isfinite(near) or NEAR[0] <= near / 2.0**doubled <= NEAR[1]
    return "told" if sure and np.mean(put_right & ~as_is) >= MOSTLY else "doubtful"


def _within(h: Floats, low: Floats, high: Floats) -> Flags:
    return (h >= (1 - ASIDE) * low) & (h <= (1 + ASIDE) * high)


def _near(t: Floats, h: Floats, like: Flags, others: tuple[Floats, Floats, Floats], cut: float) -> float:
    """Return the rates of a run over the rest's at the same speed, both nearest the jump; NaN without any.

    What came right after it is left out: a startle of the horse's own would still be coming down.
    """
    own, theirs = _beside(t, cut), _beside(others[0], cut)
    pairs = like & own[:, None] & theirs[None, :]
    mine, rest = np.flatnonzero(pairs.any(axis=1)), np.flatnonzero(pairs.any(axis=0))
    if min(mine.size, rest.size) < 2:
        return float("nan")
    mine = mine[np.argsort(np.abs(t[mine] - cut))[:LEAST_MEANS]]
    rest = rest[np.argsort(np.abs(others[0][rest] - cut))[:LEAST_MEANS]]
    return float(np.median(h[mine])) / float(np.median(others[1][rest]))


def _came_down(t: Floats, h: Floats, v: Floats, others: tuple[Floats, Floats, Floats], cut: float) -> bool:
    """Return whether the rate came back within minutes to what it was before it went up, at the same speed."""
    all_t, all_h, all_v = (np.concatenate(both) for both in zip((t, h, v), others, strict=True))
    before = np.flatnonzero((all_t < cut) & (all_t >= cut - 2 * SETTLED_S))
    after = np.flatnonzero((all_t >= cut + SETTLED_S) & (all_t <= cut + NEAR_S))
    if not before.size or not after.size:
        return False
    level, pace = float(np.median(all_h[before])), float(np.median(all_v[before]))
    back = (all_h[after] <= NEAR[1] * level) & (np.abs(all_v[after] - pace) <= SAME_MS)
    return int(np.count_nonzero(back)) >= LEAST_MEANS


def _beside(t: Floats, cut: float) -> Flags:
    return ((t <= cut) & (t >= cut - NEAR_S)) | ((t >= cut + SETTLED_S) & (t <= cut + NEAR_S))


def _means(rows: Rows, time: Floats, bpm: Floats, speed: Floats) -> tuple[Floats, Floats, Floats]:
    """Return time, heart and speed as means over five seconds."""
    rows = rows[(bpm[rows] <= 2 * MOST_BPM)]
    block = np.unique(np.floor(time[rows] / MEAN_S), return_inverse=True)[1]
    count = np.maximum(np.bincount(block), 1)
    return tuple(np.bincount(block, of[rows]) / count for of in (time, bpm, speed))  # type: ignore[return-value]
