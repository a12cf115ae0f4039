"""Compiled: what each horse's runs say of its best trip and ability, at every trip and versatility of the grid.

Given the best trip d and the widths, a run is linear in the ability a,

    y_i = a - c(x_i - d) + b(t_i) + e_i,    b an Ornstein-Uhlenbeck path,  e_i ~ N(0, m v_i)
    z_i = s (d - usual(x_i)) + k (y_i + c(x_i - d) - a) + f + h_i,    f ~ N(0, s_f^2),  h_i ~ N(0, s_z^2)

with z how it finished, late speed against the whole race, given its figure, so that figure and sections of one run are
taken together; f is the horse's own way of running, which says nothing of trip. The log-likelihood is then
C + B a - A a^2 / 2.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from upsides.trip.curve import MOST_LB, WIDTH_LB

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

PASSING, TAU, NOISE, SHORT, LONG, LATE, USUAL, USUAL_SLOPE, WITH_FIGURE, LATE_SD, STYLE_SD = range(11)
"""Places in `v`: lb^2, days, m, octaves (two), s, octaves, slope, k, s_z, s_f."""

SIGNATURE = (
    "void(i8[::1], f8[::1], f8[::1], f8[::1], f8[::1], f8[::1], f8[::1], f8[::1], f8[::1], f8[::1], "
    "f8[::1], f8[:,:,::1], f8[:,:,::1], f8[:,:,::1], f8[:,::1])"
)


@njit("f8[:,::1](f8[::1], f8[::1], f8[::1], f8, f8, f8, f8[::1], f8[::1])", cache=True, nogil=True)
def factor(
    day: Floats, variance: Floats, today: Floats, passing: float, tau: float, noise: float, ones: Floats, now: Floats
) -> Floats:
    """Return L with L L' = V; write L^-1 1 into `ones` and L^-1 cov(b, b(today)) into `now`."""
    n = day.size
    L = np.zeros((n, n))
    for i in range(n):
        for j in range(i + 1):
            total = passing * np.exp(-abs(day[i] - day[j]) / tau)
            if i == j:
                total += noise * variance[i]
            for k in range(j):
                total -= L[i, k] * L[j, k]
            L[i, j] = np.sqrt(total) if i == j else total / L[j, j]
        one, here = 1.0, passing * np.exp(-abs(day[i] - today[0]) / tau)
        for k in range(i):
            one -= L[i, k] * ones[k]
            here -= L[i, k] * now[k]
        ones[i], now[i] = one / L[i, i], here / L[i, i]
    return L


@njit("Tuple((f8, i8))(f8[:,::1], f8[::1], f8, f8)", cache=True, nogil=True)
def counted(L: Floats, z: Floats, late_sd: float, style_sd: float) -> tuple[float, int]:
    """Return what does not depend on the trip in the log-likelihood, and how many runs were timed within the race."""
    fixed, late = 0.0, 0
    for i in range(z.size):
        fixed -= np.log(L[i, i])
        if not np.isnan(z[i]):
            late += 1
    return fixed - late * np.log(late_sd) - 0.5 * np.log(1.0 + late * (style_sd / late_sd) ** 2), late


@njit(SIGNATURE, cache=True, nogil=True)
def evidence(
    start: Ints, y: Floats, variance: Floats, x: Floats, z: Floats, day: Floats, today: Floats,
    v: Floats, grid: Floats, stretch: Floats, A: Floats, B: Floats, C: Floats, now: Floats, about_now: Floats,
) -> None:  # fmt: skip
    """Write A (horses,), B and C (horses, trips, versatilities), and what the runs say of form today.

    Form today, given a, has mean `now` - a `about_now[:, 0]` and variance `about_now[:, 1]`.

    Args:
        start: (horses + 1,) where each horse's runs begin.
        y: (runs,) figures, lb.
        variance: (runs,) their error variance, lb^2.
        x: (runs,) demands, octaves.
        z: (runs,) how they finished, standard normal; NaN where not known.
        day: (runs,) days.
        today: (horses,) the day of the answer.
        v: the values named above.
        grid: (trips,) best trips.
        stretch: (versatilities,) factors of the widths.
        A: written.
        B: written.
        C: written.
        now: written, (horses, trips, versatilities).
        about_now: written, (horses, 2).
    """
    for h in range(start.size - 1):
        rows = slice(start[h], start[h + 1])
        n = start[h + 1] - start[h]
        ones, here, r = np.empty(n), np.empty(n), np.empty(n)
        L = factor(day[rows], variance[rows], today[h : h + 1], v[PASSING], v[TAU], v[NOISE], ones, here)
        fixed, late = counted(L, z[rows], v[LATE_SD], v[STYLE_SD])
        shared = v[STYLE_SD] ** 2 / (v[LATE_SD] ** 2 + late * v[STYLE_SD] ** 2)
        A[h] = (ones * ones).sum() + late * (1.0 - shared * late) * (v[WITH_FIGURE] / v[LATE_SD]) ** 2
        about_now[h, 0] = (here * ones).sum()
        about_now[h, 1] = v[PASSING] - (here * here).sum()
        for g in range(grid.size):
            for w in range(stretch.size):
                one, whole, form = 0.0, 0.0, 0.0
                z_one, z_whole = 0.0, 0.0
                for i in range(n):
                    at = start[h] + i
                    u = x[at] - grid[g]
                    q = u / ((v[SHORT] if u < 0.0 else v[LONG]) * stretch[w])
                    q = WIDTH_LB * q * q
                    total = y[at] + q / np.sqrt(1.0 + (q / MOST_LB) ** 2)
                    if not np.isnan(z[at]):
                        usual = v[USUAL] + v[USUAL_SLOPE] * x[at]
                        miss = z[at] - v[LATE] * (grid[g] - usual) - v[WITH_FIGURE] * total
                        z_one -= miss
                        z_whole += miss * miss
                    for k in range(i):
                        total -= L[i, k] * r[k]
                    r[i] = total / L[i, i]
                    one += r[i] * ones[i]
                    whole += r[i] * r[i]
                    form += r[i] * here[i]
                B[h, g, w] = one + z_one * (1.0 - shared * late) * v[WITH_FIGURE] / v[LATE_SD] ** 2
                C[h, g, w] = fixed - 0.5 * whole - 0.5 * (z_whole - shared * z_one**2) / v[LATE_SD] ** 2
                now[h, g, w] = form
