"""The register of the invented country: every horse with its parents, and these with their ancestors.

Ancestors come from few stallions and mares a year, some of them much used, so that pedigrees meet. Nothing here is
drawn from the generator of the races, which are the same with a register and without.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from upsides.demo.horses import Floats, Horses, Ints
from upsides.demo.names import every_horse_name
from upsides.demo.writing import SOURCE, source_horse

GENERATIONS = 4
"""Generations behind sires and dams that are known, but for the mares of unknown breeding."""
_SIRE_AGE, _DAM_AGE = (5, 14), (4, 13)
"""Youngest and oldest that an ancestor had a foal."""
_LATE_FOALS = 7, 17
"""Years after its first possible foal within which a sire was born, and age at which a dam no longer has one."""
_SIRES_A_STALLION, _SIRES_A_MARE = 15, 5
"""Of so many sires of today one ancestor a year stood at stud, or was covered: fewer ancestors meet more often."""
_NOT_KNOWN = 0.04
"""Share of the ancestors' mares that came from abroad with no pedigree."""
_USED_SD = 0.7
"""Of the logarithm of how much an ancestor is used."""

REGISTER = {
    "source_horse": pl.String,
    "name": pl.String,
    "foaled": pl.Int16,
    "sex": pl.String,
    "sire": pl.String,
    "dam": pl.String,
}


@dataclass(frozen=True, slots=True)
class _Breeders:
    """Animals that can be parents, one entry each.

    Args:
        names: names.
        born: years.
        used: how much each is used, relative.
        sire: name of each one's sire, filled as parents are found; "" where it is not known.
        dam: of its dam.
    """

    names: list[str]
    born: Ints
    used: Floats
    sire: list[str]
    dam: list[str]


def register(rng: np.random.Generator, horses: Horses) -> pl.DataFrame:
    """Return the register.

    Args:
        rng: source of chance.
        horses: the population.

    Returns:
        source_horse, name, foaled, sex (male or female: what it was born), sire and dam (names, "" where not known):
        the country's horses in their order, then their ancestors, numbered A0001 and on.
    """
    sires, dams = _sires(rng, horses), _dams(rng, horses)
    oldest = int(min(sires.min(), dams.min()))
    years = np.arange(oldest - GENERATIONS * _SIRE_AGE[1], int(dams.max()) - _DAM_AGE[0] + 1)
    free = sorted(set(every_horse_name()) - {*horses.names, *horses.sires, *horses.dams})
    names = [free[i] for i in rng.permutation(len(free))]
    males = _breeders(rng, np.repeat(years, len(horses.sires) // _SIRES_A_STALLION), names, horses.sires, sires)
    females = _breeders(
        rng, np.repeat(years, len(horses.sires) // _SIRES_A_MARE), names[len(males.names) :], horses.dams, dams
    )
    foals_sire = {dam: horses.sires[horses.sire[i]] for i, dam in enumerate(horses.dams)}
    bred = sorted([(int(year), 0, i) for i, year in enumerate(males.born)]
                  + [(int(year), 1, i) for i, year in enumerate(females.born)])  # fmt: skip
    mares = len(females.names) - len(horses.dams)
    for year, side, i in bred:
        animal = (males, females)[side]
        if side == 0 or i >= mares or rng.random() >= _NOT_KNOWN:
            animal.sire[i], animal.dam[i] = _parents(rng, year, males, females, mares, foals_sire.get(animal.names[i]))
    return _rows(horses, males, females)


def _sires(rng: np.random.Generator, horses: Horses) -> Ints:
    """Return the year of foaling of each sire: old enough for its first foal."""
    first = np.full(len(horses.sires), int(horses.foaled.min()))
    for i in range(first.size):
        own = horses.foaled[horses.sire == i]
        first[i] = own.min() if own.size else first[i]
    return first - _SIRE_AGE[0] - rng.integers(0, _LATE_FOALS[0], first.size)


def _dams(rng: np.random.Generator, horses: Horses) -> Ints:
    return horses.foaled - rng.integers(_DAM_AGE[0], _LATE_FOALS[1], horses.foaled.size)


def _breeders(rng: np.random.Generator, born: Ints, names: list[str], known: list[str], known_born: Ints) -> _Breeders:
    """Return ancestors born in given years, and after them those that the population names already."""
    count = born.size + len(known)
    used = rng.lognormal(0, _USED_SD, count)
    called = [*names[: born.size], *known]
    return _Breeders(called, np.concatenate([born, known_born]), used, [""] * count, [""] * count)


def _parents(
    rng: np.random.Generator, year: int, males: _Breeders, females: _Breeders, mares: int, foals_sire: str | None
) -> tuple[str, str]:
    """Draw parents for an animal born in a year, "" for founders; never sire and daughter, nor the foal's own sire."""
    able = np.flatnonzero((males.born >= year - _SIRE_AGE[1]) & (males.born <= year - _SIRE_AGE[0]))
    able = np.array([i for i in able if males.names[i] != foals_sire], dtype=np.int64)
    own = np.flatnonzero((females.born[:mares] >= year - _DAM_AGE[1]) & (females.born[:mares] <= year - _DAM_AGE[0]))
    if not able.size or not own.size:
        return "", ""
    sire = males.names[rng.choice(able, p=males.used[able] / males.used[able].sum())]
    fit = np.array([i for i in own if females.sire[i] != sire], dtype=np.int64)
    dam = females.names[rng.choice(fit, p=females.used[fit] / females.used[fit].sum())] if fit.size else ""
    return sire, dam


def _rows(horses: Horses, males: _Breeders, females: _Breeders) -> pl.DataFrame:
    own = [
        (
            source_horse(i),
            name,
            int(horses.foaled[i]),
            "female" if horses.sex[i] == "filly" else "male",
            horses.sires[horses.sire[i]],
            horses.dams[i],
        )
        for i, name in enumerate(horses.names)
    ]
    bred = [
        (name, int(animals.born[i]), sex, animals.sire[i], animals.dam[i])
        for animals, sex in ((males, "male"), (females, "female"))
        for i, name in enumerate(animals.names)
    ]
    ancestors = [(f"{SOURCE}:A{number:04d}", *row) for number, row in enumerate(bred, start=1)]
    return pl.DataFrame([*own, *ancestors], schema=REGISTER, orient="row")
