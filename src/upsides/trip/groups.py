"""How groups of a population differ in trip: fillies and mares from males, and by country of foaling.

Each group's shift is read from its horses' runs with every horse's own trip integrated out, and is drawn towards none:
a small group says little of itself.
"""

import numpy as np
from numpy.typing import NDArray

from upsides.trip.population import Evidence, Population, by_trip_log
from upsides.trip.runs import Runs
from upsides.trip.scale import GRID

Floats = NDArray[np.float64]

SHIFTS: Floats = np.linspace(-0.4, 0.4, 81)
SHIFT_SD = 0.06
"""Standard deviation of groups' shifts before they are looked at, octaves (4 %, a third of a furlong at a mile)."""

FEWEST = 40
"""Horses that a country needs for a shift of its own."""


def shifts(runs: Runs, e: Evidence, p: Population) -> dict[str, tuple[float, float, int]]:
    """Return the shift of each group's trip from the population's, octaves, its standard deviation, and its horses.

    Keys: `female`, `male`, and `foaled in X` for countries with horses enough; a horse's shifts add up.
    """
    said = _by_trip(runs, e, p)
    own = np.zeros(runs.size)
    found = {}
    for name, horses in _groups(runs):
        mean, sd = _shift(said[horses], own[horses], p)
        found[name] = (mean, sd, int(horses.sum()))
        own[horses] += mean
    return found


def shift_of(found: dict[str, tuple[float, float, int]], *, female: bool, foaled_in: str) -> float:
    """Return the shift of one horse, octaves."""
    names = ("female" if female else "male", f"foaled in {foaled_in}")
    return sum(found[name][0] for name in names if name in found)


def centres(runs: Runs, p: Population, found: dict[str, tuple[float, float, int]]) -> Floats:
    """Return the mean ability (lb) and trip (octaves) of each horse's group, (horses, 2)."""
    shift = [
        shift_of(found, female=bool(female), foaled_in=str(country))
        for female, country in zip(runs.female, runs.foaled_in, strict=True)
    ]
    return np.column_stack([np.full(runs.size, p.ability), p.trip + np.array(shift, dtype=np.float64)])


def _groups(runs: Runs) -> list[tuple[str, NDArray[np.bool_]]]:
    ran = runs.counts > 0
    groups = [(name, ran & mask) for name, mask in (("female", runs.female), ("male", ~runs.female))]
    if min(int(mask.sum()) for _, mask in groups) < FEWEST:
        groups = []
    countries = sorted(set(runs.foaled_in.tolist()) - {""})
    groups += [(f"foaled in {country}", ran & (runs.foaled_in == country)) for country in countries]
    return [(name, mask) for name, mask in groups if int(mask.sum()) >= FEWEST]


def _by_trip(runs: Runs, e: Evidence, p: Population) -> Floats:
    """Return each horse's likelihood of every trip, (horses, trips), its largest 1."""
    log = by_trip_log(runs, e, p)
    top = log.max(axis=(1, 2))
    return np.asarray(np.exp(log - top[:, None, None]).sum(axis=2))


def _shift(said: Floats, own: Floats, p: Population) -> tuple[float, float]:
    """Return mean and standard deviation of a group's shift."""
    log = -0.5 * (SHIFTS / SHIFT_SD) ** 2
    for k, shift in enumerate(SHIFTS):
        density = np.exp(-0.5 * ((GRID - p.trip - own[:, None] - shift) / p.trip_sd) ** 2)
        log[k] += np.log((density * said).sum(axis=1) + 1e-300).sum()
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = float(weight @ SHIFTS)
    return mean, float(np.sqrt(weight @ (SHIFTS - mean) ** 2))
