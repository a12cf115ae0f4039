"""The population of a library, learned from its horses' runs.

The likelihood of the runs, with every horse's own trip, ability and versatility integrated out, is maximised beside
weak priors (`PRIOR`) that carry a library too small to say.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from upsides.trip.population import Evidence, Population, by_trip_log, evidence
from upsides.trip.runs import Runs

Floats = NDArray[np.float64]
Progress = Callable[[float, str], None]

LEARNING_GRID: Floats = np.linspace(1.9, 4.4, 26)
"""Best trips considered while a population is learned, octaves: what one horse's runs say is wider than a step."""


PRIOR: dict[str, tuple[float, float]] = {
    "trip": (3.0, 0.4),
    "trip_sd": (0.37, 0.35),
    "ability": (72.0, 8.0),
    "ability_sd": (10.0, 0.5),
    "ridge": (0.0, 6.0),
    "short": (0.35, 0.4),
    "long": (0.35, 0.4),
    "versatility": (0.25, 0.4),
    "noise": (0.9, 0.3),
    "drift": (0.0, 0.03),
    "entered": (0.0, 0.15),
    "entered_slope": (0.7, 0.3),
    "entered_sd": (0.2, 0.35),
    "entered_each": (0.2, 0.4),
    "late": (0.5, 1.0),
    "usual": (0.0, 1.0),
    "usual_slope": (1.0, 0.5),
    "with_figure": (0.0, 0.03),
    "late_sd": (0.8, 0.2),
    "style_sd": (0.5, 0.4),
    "passing": (30.0, 0.5),
}
"""Centre and standard deviation before a library speaks; of the logarithm for those in LOGS. Our own choice, wide."""

LOGS = frozenset({
    "trip_sd", "ability_sd", "short", "long", "versatility", "noise", "entered_sd", "entered_each", "late_sd",
    "style_sd", "passing",
})  # fmt: skip
MOST_STEPS, HALVINGS = 40, 8
BY_SCORES = 4
NEARLY = 0.2
"""Where no step leads up, the search has ended well if the slope promised less than this."""
SETTLED = 1e-2
"""The search ends where another step would gain less than this in log-likelihood."""

OF_SECTIONS = ("late", "usual", "usual_slope", "with_figure", "late_sd", "style_sd")


@dataclass(frozen=True, slots=True)
class Learned:
    """A population estimated.

    Attributes:
        population: its values.
        se: standard errors of what was estimated, of the logarithm for widths, variances and the like.
        names: what was estimated.
        horses, runs: from how many.
        log_likelihood: where the search ended.
        converged: whether it ended where it should.
    """

    population: Population
    se: dict[str, float]
    names: tuple[str, ...]
    horses: int
    runs: int
    log_likelihood: float
    converged: bool


def normal_log(x: Floats, mean: float, sd: float) -> Floats:
    """Return the log of a normal density."""
    return np.asarray(-0.5 * ((x - mean) / sd) ** 2 - np.log(sd) - 0.5 * np.log(2.0 * np.pi))


def log_likelihood(runs: Runs, p: Population, grid: Floats, e: Evidence) -> Floats:
    """Return each horse's log-likelihood at the population's values, (horses,)."""
    log = by_trip_log(runs, e, p, grid) + normal_log(grid, p.trip, p.trip_sd)[None, :, None]
    top = log.max(axis=(1, 2))
    return np.asarray(top + np.log(np.exp(log - top[:, None, None]).sum(axis=(1, 2)) * (grid[1] - grid[0])))


def learn(runs: Runs, base: Population, *, ages: bool, progress: Progress = lambda _done, _what: None) -> Learned:
    """Estimate a population from horses' runs.

    The first steps go by the outer product of horses' own scores, the information of the likelihood where the model
    holds (Berndt, Hall, Hall and Hausman 1974, Annals of Economic and Social Measurement 3:653); from then on that
    curvature is corrected by what the slope did (Broyden, Fletcher, Goldfarb and Shanno 1970).

    Args:
        runs: the runs, of as many horses as the search shall read.
        base: where to start, with `tau` of the fit of figures.
        ages: whether ages advance, so that drift can be asked for.
        progress: told the share done.
    """
    search = _Search(runs, base, _names(runs, ages=ages))
    at, before, converged = search.begin, None, False
    value = search.value(at)
    for turn in range(MOST_STEPS):
        progress(0.9 * turn / (turn + 6.0), f"trips of the population, step {turn + 1}")
        scores = search.scores(at)
        slope = scores.sum(axis=0) - at
        if turn < BY_SCORES or before is None:
            curvature = scores.T @ scores + np.eye(at.size)
        else:
            curvature = _corrected(curvature, at - before[0], before[1] - slope)
        step = np.linalg.solve(curvature, slope)
        if slope @ step < SETTLED:
            converged = True
            break
        before = at, slope
        at, value, moved = search.climb(at, value, step)
        if not moved:
            converged = bool(slope @ step < NEARLY)
            break
    se = np.sqrt(np.diag(np.linalg.inv(scores.T @ scores + np.eye(at.size)))) * search.width
    return Learned(
        search.typed(at), {n: float(e) for n, e in zip(search.names, se, strict=True)}, search.names, runs.size,
        int(runs.start[-1]), value, converged,
    )  # fmt: skip


def _corrected(curvature: Floats, moved: Floats, bent: Floats) -> Floats:
    """Return the curvature corrected so that it explains by how much the slope fell along the last step."""
    along = curvature @ moved
    if bent @ moved <= 0.0:
        return curvature
    return np.asarray(curvature + np.outer(bent, bent) / (bent @ moved) - np.outer(along, along) / (moved @ along))


def _names(runs: Runs, *, ages: bool) -> tuple[str, ...]:
    sections = bool(np.isfinite(runs.z).any())
    return tuple(
        f.name for f in fields(Population)
        if f.name in PRIOR and (sections or f.name not in OF_SECTIONS) and (ages or f.name != "drift")
    )  # fmt: skip


class _Search:
    """The log-posterior over values on a scale of prior standard deviations from the prior's centre."""

    def __init__(self, runs: Runs, base: Population, names: tuple[str, ...]) -> None:
        self.runs, self.base, self.names = runs, base, names
        self.centre = np.array([np.log(PRIOR[n][0]) if n in LOGS else PRIOR[n][0] for n in names])
        self.width = np.array([PRIOR[n][1] for n in names])
        start = np.array([np.log(getattr(base, n)) if n in LOGS else getattr(base, n) for n in names])
        self.begin: Floats = (start - self.centre) / self.width
        self.kept: tuple[tuple[float, ...], Evidence] | None = None

    def typed(self, at: Floats) -> Population:
        """Return the population at a point."""
        values = self.centre + self.width * at
        raw = {n: float(np.exp(v)) if n in LOGS else float(v) for n, v in zip(self.names, values, strict=True)}
        return replace(self.base, **raw)

    def each(self, at: Floats) -> Floats:
        """Return every horse's log-likelihood, (horses,)."""
        p = self.typed(at)
        key = (*p.values, p.versatility, p.drift)
        if self.kept is None or self.kept[0] != key:  # most values do not touch what the runs say
            self.kept = (key, evidence(self.runs, p, np.zeros(self.runs.size), LEARNING_GRID))
        return log_likelihood(self.runs, p, LEARNING_GRID, self.kept[1])

    def value(self, at: Floats) -> float:
        """Return the log-posterior."""
        return float(self.each(at).sum() - 0.5 * (at @ at))

    def scores(self, at: Floats, move: float = 1e-3) -> Floats:
        """Return the slope of every horse's log-likelihood, (horses, values)."""
        base, out = self.each(at), np.empty((self.runs.size, at.size))
        for k in range(at.size):
            there = at.copy()
            there[k] += move
            out[:, k] = (self.each(there) - base) / move
        return out

    def climb(self, at: Floats, value: float, step: Floats) -> tuple[Floats, float, bool]:
        """Return where a step leads, halved until it leads up; False where it does not."""
        for halved in range(HALVINGS):
            there = at + step / 2.0**halved
            if (new := self.value(there)) > value:
                return there, new, True
        return at, value, False
