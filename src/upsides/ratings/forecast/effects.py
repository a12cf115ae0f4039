"""One sequential filter for many crossed effects: each race is seen once, in order of time.

The value of run i in race r is `y_i = a_r + sum_k x_ik b_{s_ik} + e_i`: a race effect, a sum of effects
(horse, form, horse on this surface, rider, trainer, stall and so on), each scaled by x, and error. Every
effect returns towards zero with its own time constant and regains its prior variance (an Ornstein-Uhlenbeck
process; an infinite constant keeps it fixed). Inside a race the joint update is exact, the race effect
integrated out; between races effects are kept as independent normals (assumed-density filtering). Priors
are stated as of the racing day: nothing from the same day enters them.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit

from upsides.ratings.forecast.starters import Floats, Ints


@dataclass(frozen=True, slots=True)
class Effect:
    """One kind of effect.

    Attributes:
        name: what to call it.
        code: who has it, shape (runs,); -1 for none.
        variance: prior variance.
        days: time constant of the return towards zero.
        scale: what the effect is multiplied by in each run, shape (runs,); 1 when None.
    """

    name: str
    code: Ints
    variance: float
    days: float = np.inf
    scale: Floats | None = None


@dataclass(frozen=True, slots=True)
class Filtered:
    """Effects as known before each run: mean and variance, shape (runs, kinds), and one-step errors (runs,)."""

    names: tuple[str, ...]
    mean: Floats
    variance: Floats
    error: Floats

    def of(self, name: str) -> Floats:
        """Return the prior mean of the effect `name`, shape (runs,)."""
        return self.mean[:, self.names.index(name)].copy()

    def variance_of(self, name: str) -> Floats:
        """Return the prior variance of the effect `name`, shape (runs,)."""
        return self.variance[:, self.names.index(name)].copy()

    def total(self, names: tuple[str, ...]) -> Floats:
        """Return the sum of the prior means of `names`, shape (runs,)."""
        columns = [self.names.index(name) for name in names]
        return np.asarray(self.mean[:, columns].sum(axis=1))


_STATE = "i8[::1], f8[::1], f8[::1]"
"""Day last seen, mean and variance (below 0 when never seen) of every effect."""


@njit(
    f"void(i8, i8, i8, i8[:, ::1], f8[::1], f8[::1], {_STATE}, f8[:, ::1], f8[:, ::1])",
    cache=True,
)
def _foresee(
    today: int,
    a: int,
    b: int,
    slot: Ints,
    var0: Floats,
    days: Floats,
    seen: Ints,
    m: Floats,
    p: Floats,
    mean: Floats,
    var: Floats,
) -> None:
    """Write the effects of runs a..b as expected today."""
    for i in range(a, b):
        for k in range(slot.shape[1]):
            s = slot[i, k]
            if s < 0:
                mean[i, k], var[i, k] = 0.0, 0.0
            elif p[s] < 0.0:
                mean[i, k], var[i, k] = 0.0, var0[k]
            else:
                keep = np.exp(-(today - seen[s]) / days[k])
                mean[i, k] = m[s] * keep
                var[i, k] = var0[k] - (var0[k] - p[s]) * keep * keep


@njit("void(i8, i8, i8, i8[:, ::1], f8[::1], f8[:, ::1], f8[:, ::1])", cache=True)
def _welcome(a: int, b: int, kind: int, slot: Ints, p: Floats, mean: Floats, var: Floats) -> None:
    """Start newcomers of a race at the mean level of its known runners, the surer counting for more."""
    known, total = 0.0, 0.0
    for i in range(a, b):
        if slot[i, kind] >= 0 and p[slot[i, kind]] >= 0.0:
            w = 1.0 / (1.0 + var[i, kind])
            known += w
            total += w * mean[i, kind]
    if known == 0.0:
        return
    for i in range(a, b):
        if slot[i, kind] >= 0 and p[slot[i, kind]] < 0.0:
            mean[i, kind] = total / known


@njit(f"f8[:, ::1](i8, i8[::1], i8[:, ::1], {_STATE}, f8[:, ::1], f8[:, ::1])", cache=True)
def _held(today: int, run: Ints, slot: Ints, seen: Ints, m: Floats, p: Floats, mean: Floats, var: Floats) -> Floats:
    """Bring the effects of a race's runs to today; return their variances now, after earlier races of the day."""
    held = np.zeros((run.size, slot.shape[1]))
    for a in range(run.size):
        for k in range(slot.shape[1]):
            s = slot[run[a], k]
            if s >= 0:
                if p[s] < 0.0 or seen[s] != today:
                    m[s], p[s], seen[s] = mean[run[a], k], var[run[a], k], today
                held[a, k] = p[s]
    return held


@njit("f8[:, ::1](i8[::1], f8[::1], i8[:, ::1], f8[:, ::1], f8[:, ::1])", cache=True)
def _covariance(run: Ints, noise: Floats, slot: Ints, scale: Floats, held: Floats) -> Floats:
    """Return the covariance of a race's runs: shared effects and error."""
    cov = np.zeros((run.size, run.size))
    for a in range(run.size):
        cov[a, a] = noise[run[a]]
        for k in range(slot.shape[1]):
            for b in range(run.size):
                if slot[run[a], k] >= 0 and slot[run[b], k] == slot[run[a], k]:
                    cov[a, b] += scale[run[a], k] * scale[run[b], k] * held[a, k]
    return cov


@njit("void(i8[::1], i8[:, ::1], f8[:, ::1], f8[:, ::1], f8[::1], f8[:, ::1], f8[::1], f8[::1], f8[::1])", cache=True)
def _move(
    run: Ints,
    slot: Ints,
    scale: Floats,
    held: Floats,
    pull: Floats,
    project: Floats,
    var0: Floats,
    m: Floats,
    p: Floats,
) -> None:
    """Move every effect of a race's runs by what it is pulled, and take from its variance what was learned."""
    for a in range(run.size):
        for k in range(slot.shape[1]):
            s = slot[run[a], k]
            if s >= 0:
                gain = held[a, k] * scale[run[a], k]
                m[s] += gain * pull[a]
                for b in range(run.size):
                    if slot[run[b], k] == s:
                        p[s] -= gain * held[a, k] * scale[run[b], k] * project[a, b]
    for a in range(run.size):
        for k in range(slot.shape[1]):
            if slot[run[a], k] >= 0:
                p[slot[run[a], k]] = max(p[slot[run[a], k]], 1e-6 * var0[k])


@njit(
    f"void(i8, i8[::1], f8[::1], f8[::1], i8[:, ::1], f8[:, ::1], f8[::1], f8, f8, {_STATE}, "
    "f8[:, ::1], f8[:, ::1], f8[::1])",
    cache=True,
)
def _learn(
    today: int, run: Ints, y: Floats, noise: Floats, slot: Ints, scale: Floats, var0: Floats, race_var: float,
    clip: float, seen: Ints, m: Floats, p: Floats, mean: Floats, var: Floats, error: Floats,
) -> None:  # fmt: skip
    """Update the effects of the runs `run` of one race from their values, the race's own effect integrated out."""
    held = _held(today, run, slot, seen, m, p, mean, var)
    cov = _covariance(run, noise, slot, scale, held)
    inverse = np.linalg.inv(cov)
    w = inverse.sum(axis=1)
    bottom = 1.0 / race_var + w.sum()
    gap, missed = y[run], y[run]
    for a in range(run.size):
        for k in range(slot.shape[1]):
            if slot[run[a], k] >= 0:
                gap[a] -= scale[run[a], k] * m[slot[run[a], k]]
                missed[a] -= scale[run[a], k] * mean[run[a], k]
    ours = (w * gap).sum() / bottom
    error[run] = missed - (w * missed).sum() / bottom
    limit = clip * np.sqrt(np.diag(cov))
    gap = ours + np.minimum(np.maximum(gap - ours, -limit), limit)
    project = np.empty((run.size, run.size))
    for a in range(run.size):
        for b in range(run.size):
            project[a, b] = inverse[a, b] - w[a] * w[b] / bottom
    _move(run, slot, scale, held, project @ gap, project, var0, m, p)


@njit(
    "void(i8[::1], i8[::1], f8[::1], f8[::1], i8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8[::1], f8, i8, i8, "
    "f8[:, ::1], f8[:, ::1], f8[::1])",
    cache=True,
)
def _filter(
    day: Ints,
    start: Ints,
    y: Floats,
    noise: Floats,
    slot: Ints,
    scale: Floats,
    var0: Floats,
    days: Floats,
    race_var: Floats,
    clip: float,
    heir: int,
    states: int,
    mean: Floats,
    var: Floats,
    error: Floats,
) -> None:
    """Go through the racing days: state the priors of all races of the day, then learn from each."""
    seen = np.zeros(states, dtype=np.int64)
    m = np.zeros(states)
    p = np.full(states, -1.0)
    first = 0
    while first < day.size:
        last = first
        while last < day.size and day[last] == day[first]:
            last += 1
        _foresee(day[first], start[first], start[last], slot, var0, days, seen, m, p, mean, var)
        if heir >= 0:
            for r in range(first, last):
                _welcome(start[r], start[r + 1], heir, slot, p, mean, var)
        for r in range(first, last):
            error[start[r] : start[r + 1]] = np.nan
            run = start[r] + np.flatnonzero(~np.isnan(y[start[r] : start[r + 1]]))
            if run.size >= 2:
                _learn(day[first], run, y, noise, slot, scale, var0, race_var[r], clip, seen, m, p, mean, var, error)
        first = last


def filter_effects(
    day: Ints,
    start: Ints,
    y: Floats,
    noise: Floats,
    effects: list[Effect],
    race_variance: float | Floats = 1e6,
    clip: float = 2.5,
    newcomers: str = "",
) -> Filtered:
    """Return every effect as known before each run.

    Args:
        day: racing day of each race as a whole number of days, ascending, shape (races,).
        start: first run of each race and the total, shape (races + 1,).
        y: value of each run, NaN when unknown, shape (runs,).
        noise: variance of the error of each run, shape (runs,).
        effects: the kinds of effect.
        race_variance: prior variance of the race effect, one or shape (races,); large values leave it free.
        clip: innovations beyond this many standard deviations count as that many.
        newcomers: kind of effect whose first mean is that of the known runners of the race ("" for none).
    """
    runs, kinds = y.size, len(effects)
    slot = np.empty((runs, kinds), dtype=np.int64)
    scale = np.ones((runs, kinds))
    states = 0
    for k, effect in enumerate(effects):
        slot[:, k] = np.where(effect.code >= 0, effect.code + states, -1)
        states += int(effect.code.max(initial=-1)) + 1
        if effect.scale is not None:
            scale[:, k] = effect.scale
    names = tuple(e.name for e in effects)
    out = Filtered(names, np.zeros((runs, kinds)), np.zeros((runs, kinds)), np.zeros(runs))
    variance = np.array([e.variance for e in effects], dtype=np.float64)
    constant = np.array([e.days for e in effects], dtype=np.float64)
    heir = names.index(newcomers) if newcomers else -1
    y, noise = np.ascontiguousarray(y), np.ascontiguousarray(noise)
    free = np.array(np.broadcast_to(race_variance, day.shape), dtype=np.float64)
    _filter(
        day, start, y, noise, slot, scale, variance, constant, free, clip, heir, states,
        out.mean, out.variance, out.error,
    )  # fmt: skip
    return out
