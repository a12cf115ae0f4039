"""From a library's model to the cases of horses: those that ran, those that have not, foals of two parents."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.results.naming import key_of, without_suffix
from upsides.trip import shape as shapes
from upsides.trip.case import Case, Known, Measure
from upsides.trip.defaults import GENOTYPES, Defaults
from upsides.trip.groups import shift_of
from upsides.trip.model import TripModel
from upsides.trip.prior import Relatives, genetic
from upsides.trip.runs import Runs, days, runs_of

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Told:
    """What the yard knows of a horse beyond results: all of it may be missing.

    Attributes:
        sire, dam: names, for a horse that the library's pedigree does not hold.
        female: filly or mare, where the library does not say.
        foaled: year.
        genotype: (3,) chances by tests.
        traits: mean scores of its shape.
        measures: further pieces.
    """

    sire: str = ""
    dam: str = ""
    female: bool | None = None
    foaled: int | None = None
    genotype: tuple[float, float, float] | None = None
    traits: Mapping[str, float] = field(default_factory=dict)
    measures: tuple[Measure, ...] = ()


NOTHING = Told()


def tested(genotype: str, given: Defaults) -> tuple[float, float, float]:
    """Return the chances of C/C, C/T, T/T after a test of the horse itself, which may be wrong."""
    share = given.gene_share
    before = np.array([share**2, 2.0 * share * (1.0 - share), (1.0 - share) ** 2])
    said = np.full(3, given.gene_error / 2.0)
    said[GENOTYPES.index(genotype)] = 1.0 - given.gene_error
    after = before * said / (before @ said)
    return float(after[0]), float(after[1]), float(after[2])


@dataclass(frozen=True)
class Relations:
    """The family table of a model, looked up by key or name."""

    model: TripModel

    @cached_property
    def rows(self) -> dict[str, int]:
        """Row of each key."""
        return {key: row for row, key in enumerate(self.model.family["key"].to_list())}

    @cached_property
    def bare(self) -> dict[str, int]:
        """Row of each name without its country, where one animal bears it."""
        found: dict[str, int] = {}
        for row, name in enumerate(self.model.family["name"].to_list()):
            key = without_suffix(key_of(name))
            found[key] = -1 if key in found else row
        return {key: row for key, row in found.items() if row >= 0 and key}

    def row(self, text: str) -> int | None:
        """Return the row of an animal by its key or its name, None where none or several answer."""
        key = key_of(text)
        for exactly in (text, key):
            if exactly in self.rows:
                return self.rows[exactly]
        return self.bare.get(without_suffix(key)) if key else None

    def relatives(self, key: str, told: Told) -> Relatives | None:
        """Return what relatives say: of an animal of the pedigree, else of a foal of its parents."""
        if self.model.family.is_empty():
            return None
        if (row := self.rows.get(key, self.rows.get(key_of(key)))) is not None:
            return self._of("others", row)
        parents = [self.row(name) if name else None for name in (told.sire, told.dam)]
        return None if parents == [None, None] else self._foal(parents)

    def _of(self, what: str, row: int) -> Relatives:
        a, d, aa, ad, dd = (float(self.model.family[f"{what}_{part}"][row]) for part in ("a", "d", "aa", "ad", "dd"))
        error = np.array([[aa, ad], [ad, dd]])
        return Relatives(np.array([a, d]), error, self._reliability(error), int(self.model.family["kin"][row]))

    def _foal(self, parents: Sequence[int | None]) -> Relatives:
        """Return what parents say of a foal: half of each, and Mendel's chance."""
        G = genetic(self.model.population, self.model.given)
        value, error, kin = np.zeros(2), G.copy(), 0
        for parent in parents:
            if parent is not None:
                own = self._of("whole", parent)
                value, error, kin = value + own.mean / 2.0, error - (G - own.covariance) / 4.0, kin + own.records
        return Relatives(value, error, self._reliability(error), kin)

    def _reliability(self, error: Floats) -> Floats:
        G = genetic(self.model.population, self.model.given)
        return np.clip(1.0 - np.diag(error) / np.diag(G), 0.0, 1.0)


@lru_cache(maxsize=4)
def relations_of(model: TripModel) -> Relations:
    """Return the family table of a model, looked up."""
    return Relations(model)


@dataclass(frozen=True)
class Cases:
    """Makes the cases of horses as of the day of a model.

    Attributes:
        model: the model.
        figures: of the fit that the model was made from; a lazy frame is read for the horses asked only.
        reading: how much shape tells.
    """

    model: TripModel
    figures: pl.LazyFrame
    reading: shapes.Reading

    @property
    def relations(self) -> Relations:
        """The family table, looked up; kept as long as the model is asked."""
        return relations_of(self.model)

    def of(self, horses: pl.DataFrame, told: Mapping[str, Told] | None = None) -> list[Case]:
        """Return the cases of horses, in the order given.

        Args:
            horses: horse_key, sex, suffix, foaled; one without figures has not run.
            told: what the yard knows of some of them, by horse_key.
        """
        keys = horses["horse_key"].to_list()
        mine = self.figures.filter(pl.col("horse_key").is_in(pl.Series(keys).implode())).collect()
        runs = runs_of(mine, self.model.demand, horses)
        place = {key: row for row, key in enumerate(runs.keys)}
        year = dict(zip(horses["horse_key"], horses["foaled"], strict=True))
        return [self._case(runs, place[key], year[key], (told or {}).get(key, NOTHING)) for key in keys]

    def _case(self, runs: Runs, row: int, foaled: int | None, told: Told) -> Case:
        model, key = self.model, runs.keys[row]
        female = bool(runs.female[row]) if told.female is None else told.female
        foaled_in, born = str(runs.foaled_in[row]), foaled or told.foaled
        p = model.population
        shift = shift_of(model.groups, female=female, foaled_in=foaled_in)
        known = Known(
            female=female,
            foaled_in=foaled_in,
            age=None if born is None else (model.as_of.year - born) + model.as_of.timetuple().tm_yday / 365.25,
            relatives=self.relations.relatives(key, told),
            genotype=None if told.genotype is None else np.array(told.genotype),
            shape=shapes.score(told.traits),
            measures=told.measures,
        )
        mine = runs.of(np.array([row]))
        return Case(p, model.given, (p.ability, p.trip + shift), known, mine, days(model.as_of), self.reading)


def learned_reading(cases: Sequence[Case]) -> shapes.Reading:
    """Return how much shape tells, from cases of horses that ran and whose shape was scored."""
    scored = [case for case in cases if case.known.shape is not None and case.runs.y.size]
    if not scored:
        raise ValueError("no horse that ran was scored")
    densities = [replace(case).answer(set(case.available) - {"shape"}).density for case in scored]
    return shapes.learn(
        np.array([case.known.shape for case in scored]),
        np.array(densities),
        np.array([case.centre[1] for case in scored]),
        scored[0].p,
        scored[0].given,
    )
