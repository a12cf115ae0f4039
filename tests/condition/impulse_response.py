"""Impulse and response: one curve that rises with work and one that falls, each fading with a time constant of its own.

    p(n) = p0 + k1 sum_{i < n} w_i exp(-(n - i) / tau1) - k2 sum_{i < n} w_i exp(-(n - i) / tau2)

(Banister and others 1975; the sum is printed in Imbach and others 2022, Sports Medicine - Open 8:29.) It stands among
the tests because it is never drawn beside a horse: docs/condition.md says why.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Constants:
    """p0, the two gains, and the two time constants in days."""

    p0: float
    k1: float
    k2: float
    tau1: float
    tau2: float

    @property
    def _c(self) -> float:
        return self.tau1 * self.tau2 / (self.tau1 - self.tau2)

    @property
    def harmful_days(self) -> float:
        """Return the lead below which a bout lowers the response on the day: c log(k2 / k1)."""
        return float(self._c * np.log(self.k2 / self.k1))

    @property
    def most_useful_days(self) -> float:
        """Return the lead at which it raises it most: c log(k2 tau1 / (k1 tau2))."""
        return float(self._c * np.log(self.k2 * self.tau1 / (self.k1 * self.tau2)))


def faded(load: Floats, tau: float) -> Floats:
    """Return (n + 1,) what is left of all earlier loads on each day and the one after: g <- (g + w) e^(-1/tau)."""
    left = np.zeros(load.size + 1)
    for day, amount in enumerate(load):
        left[day + 1] = (left[day] + amount) * np.exp(-1.0 / tau)
    return left


def response(load: Floats, c: Constants) -> Floats:
    """Return (n + 1,) the response on each day and the day after the last, each day's own load not counted."""
    return c.p0 + c.k1 * faded(load, c.tau1) - c.k2 * faded(load, c.tau2)
