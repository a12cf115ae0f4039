"""From a library's model to the cases of horses: those that ran, those that have not, foals of two parents."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.pedigree.graph import graph_of
from upsides.results.naming import key_of, without_suffix
from upsides.trip import shape as shapes
from upsides.trip.case import Case, Known, Measure
from upsides.trip.defaults import GENOTYPES, Defaults
from upsides.trip.family import foal_of
from upsides.trip.from_word import Word
from upsides.trip.genotypes import GeneTests, genotype_chances
from upsides.trip.groups import shift_of
from upsides.trip.model import TripModel
from upsides.trip.prior import Relatives, genetic, relatives_from
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
        words: what riders said after races.
        unasked: days of runs in which it was not asked for all it had: they say less.
    """

    sire: str = ""
    dam: str = ""
    female: bool | None = None
    foaled: int | None = None
    genotype: tuple[float, float, float] | None = None
    traits: Mapping[str, float] = field(default_factory=dict)
    measures: tuple[Measure, ...] = ()
    words: tuple[Word, ...] = ()
    unasked: tuple[date, ...] = ()


NOTHING = Told()


def tested(genotype: str, given: Defaults) -> tuple[float, float, float]:
    """Return the chances of C/C, C/T, T/T after a test of the horse itself, which may be wrong."""
    alone, _ = graph_of(np.array([-1]), np.array([-1]))
    told = GeneTests(np.array([0]), np.array([GENOTYPES.index(genotype)]))
    short, middle, long = genotype_chances(alone, told, given.gene_share, given.gene_error)[0].tolist()
    return short, middle, long


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

    @cached_property
    def genetic(self) -> Floats:
        """Genetic covariance (2, 2) of ability and trip."""
        return genetic(self.model.population, self.model.given)

    def _of(self, what: str, row: int) -> Relatives:
        a, d, aa, ad, dd = (float(self.model.family[f"{what}_{part}"][row]) for part in ("a", "d", "aa", "ad", "dd"))
        kin = int(self.model.family["kin"][row])
        return relatives_from(np.array([a, d]), np.array([[aa, ad], [ad, dd]]), self.genetic, kin)

    def _foal(self, parents: Sequence[int | None]) -> Relatives:
        """Return what parents say of a foal that is not in the pedigree."""
        rows = [row for row in parents if row is not None]
        kin = sum(int(self.model.family["foals"][row]) for row in rows)
        return foal_of(self.genetic, [self._of("whole", row) for row in rows], kin)


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
            words=told.words,
        )
        mine = runs.of(np.array([row])).unasked([days(day) for day in told.unasked])
        return Case(p, model.given, (p.ability, p.trip + shift), known, mine, days(model.as_of), self.reading)


def learned_reading(cases: Sequence[Case]) -> shapes.Reading:
    """Return how much shape tells, from cases of horses that ran and whose shape was scored."""
    scored = [case for case in cases if case.known.shape is not None and case.runs.y.size]
    if not scored:
        raise ValueError("no horse that ran was scored")
    densities = [case.answer(set(case.available) - {"shape"}).density for case in scored]
    return shapes.learn(
        np.array([case.known.shape for case in scored]),
        np.array(densities),
        np.array([case.centre[1] for case in scored]),
        scored[0].p,
        scored[0].given,
    )
