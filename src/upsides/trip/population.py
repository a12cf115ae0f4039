"""What a population is: how best trips and abilities lie, how wide curves are, how runs scatter, where horses are run.

`learning` estimates these values from a library.
"""

from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.trip import curve, kernel
from upsides.trip.runs import Runs
from upsides.trip.scale import GRID

Floats = NDArray[np.float64]

MATURE = 4.0
"""Age at which a horse's trip is stated; older horses' trips move no further than to `OLD`."""
OLD = 6.0

USUAL_RUNS = 6
"""Latest runs that show where a horse is run; what was tried on a young horse is forgotten."""


@dataclass(frozen=True, slots=True)
class Population:
    """The population's values.

    Attributes:
        trip, trip_sd: mean and standard deviation of best trips at four, octaves.
        ability, ability_sd: mean and standard deviation of abilities at a trip of `trip`, lb.
        ridge: lb of ability that go with an octave of trip.
        short, long: widths of the usual horse's curve, octaves that cost three pounds.
        versatility: standard deviation of the log of horses' widths.
        noise: what the figures' error variances are multiplied by once trip is accounted for.
        drift: octaves by which the best trip moves in a year of age.
        entered, entered_slope, entered_sd, entered_each: a horse of best trip d is usually run over
            trip + entered + entered_slope (d - trip), give or take entered_sd octaves, and a single race lies
            entered_each about that: where a horse is run is what people thought of its trip, and what races there are.
        late: standard normal scores that an octave of trip in hand adds to late speed.
        usual, usual_slope: best trip of the usual runner over a demand x: usual + usual_slope x.
        with_figure: scores that a pound of the figure adds to late speed.
        late_sd: standard deviation of late speed from run to run besides.
        style_sd: standard deviation of horses' own ways of running.
        passing, tau: variance (lb^2) and time constant (days) of form; the fit of figures found the latter.
    """

    trip: float = 3.0
    trip_sd: float = 0.35
    ability: float = 72.0
    ability_sd: float = 10.0
    ridge: float = 0.0
    short: float = 0.35
    long: float = 0.35
    versatility: float = 0.25
    noise: float = 0.8
    drift: float = 0.0
    entered: float = 0.0
    entered_slope: float = 0.7
    entered_sd: float = 0.2
    entered_each: float = 0.2
    late: float = 0.3
    usual: float = 0.0
    usual_slope: float = 1.0
    with_figure: float = 0.01
    late_sd: float = 0.8
    style_sd: float = 0.5
    passing: float = 40.0
    tau: float = 180.0

    @property
    def values(self) -> Floats:
        """What `kernel.evidence` reads."""
        return np.array(
            [self.passing, self.tau, self.noise, self.short, self.long, self.late, self.usual, self.usual_slope,
             self.with_figure, self.late_sd, self.style_sd]
        )  # fmt: skip

    @property
    def stretch(self) -> Floats:
        """Factors of the widths at the nodes of versatility."""
        return np.asarray(np.exp(self.versatility * curve.NODES))

    def as_dict(self) -> dict[str, float]:
        """Return the values by name."""
        return {name: float(value) for name, value in asdict(self).items()}


def usual_race(runs: Runs) -> tuple[Floats, NDArray[np.int64]]:
    """Return the mean demand of each horse's latest races, octaves, NaN without runs, and how many they are."""
    owner = np.repeat(np.arange(runs.size), runs.counts)
    late = (np.arange(runs.x.size) >= runs.start[1:][owner] - USUAL_RUNS).astype(np.float64)
    n = np.bincount(owner, late, runs.size).astype(np.int64)
    total = np.bincount(owner, runs.x * late, runs.size)
    return np.where(n > 0, total / np.maximum(n, 1), np.nan), n


def grown(runs: Runs, drift: float) -> Floats:
    """Return the demands as they stand to a best trip stated at four: less what age has moved it since."""
    age = np.where(np.isnan(runs.age), MATURE, np.clip(runs.age, 2.0, OLD))
    return runs.x - drift * (age - MATURE)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What runs say (see `kernel`): A (horses,), B, C and now (horses, trips, versatilities), about_now (horses, 2)."""

    A: Floats
    B: Floats
    C: Floats
    now: Floats
    about_now: Floats


def evidence(runs: Runs, p: Population, today: Floats, grid: Floats = GRID) -> Evidence:
    """Return what each horse's runs say at every trip of the grid and every versatility."""
    shape = (runs.size, grid.size, curve.NODES.size)
    found = Evidence(np.empty(runs.size), np.empty(shape), np.empty(shape), np.empty(shape), np.empty((runs.size, 2)))
    kernel.evidence(
        runs.start, runs.y, runs.variance, grown(runs, p.drift), runs.z, runs.day, today, p.values, grid, p.stretch,
        found.A, found.B, found.C, found.now, found.about_now,
    )  # fmt: skip
    return found


def integrated(e: Evidence, mean: Floats, variance: Floats | float) -> Floats:
    """Return the log-likelihood with the ability integrated out, shape of `e.B`.

    Args:
        e: the evidence.
        mean: prior mean of the ability, lb, broadcast over (horses, trips, versatilities).
        variance: its variance, lb^2, likewise.
    """
    A = e.A[:, None, None]
    precision = A + 1.0 / variance
    both = e.B + mean / variance
    return np.asarray(e.C + 0.5 * (both**2 / precision - mean**2 / variance - np.log(variance * precision)))


def by_trip_log(runs: Runs, e: Evidence, p: Population, grid: Floats = GRID) -> Floats:
    """Return the log-likelihood of runs and of where horses were run, with the usual share of each versatility.

    Shape (horses, trips, versatilities); the ability is integrated out, the population's prior of trips is not in it.
    """
    ability = (p.ability + p.ridge * (grid - p.trip))[None, :, None]
    log = integrated(e, ability, p.ability_sd**2) + entered_log(runs, p, grid)[:, :, None]
    return np.asarray(log + np.log(curve.WEIGHTS))


def entered_log(runs: Runs, p: Population, grid: Floats = GRID) -> Floats:
    """Return the log-likelihood of where each horse was run, given its best trip, shape (horses, trips)."""
    mean, n = usual_race(runs)
    variance = p.entered_sd**2 + p.entered_each**2 / np.maximum(n, 1)
    off = mean[:, None] - p.trip - p.entered - p.entered_slope * (grid[None, :] - p.trip)
    log = -0.5 * off**2 / variance[:, None] - 0.5 * np.log(variance)[:, None]
    return np.asarray(np.where(np.isnan(mean)[:, None], 0.0, log))
