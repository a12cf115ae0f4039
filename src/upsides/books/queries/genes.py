"""What gene tests say of the yard's horses: own tests and, by Mendel, those of their kin."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from upsides.books.diary.gene import GENOTYPES, WHOM, GeneTest
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment

if TYPE_CHECKING:
    from upsides.books.queries.gene_animals import Animal, Animals

Chances = tuple[float, float, float]
"""Of C/C, C/T and T/T."""

TELLS: Final = 0.01
"""Tests that move no chance of a horse by as much say nothing of it: our own choice."""


@dataclass(frozen=True, slots=True)
class GeneFound:
    """A gene test that stands.

    Args:
        entry: number of its row in the diary.
        horse: number of the horse that it was entered with.
        test: what was found.
        when: when that was.
    """

    entry: int
    horse: int
    test: GeneTest
    when: datetime


@dataclass(frozen=True, slots=True)
class Bred:
    """A horse of the yard with the names of its parents.

    Args:
        pk: its number.
        name: its name.
        sire: its sire's, empty where it is not known.
        dam: its dam's.
        foaled: year.
        sex: the trade's word.
    """

    pk: int
    name: str
    sire: str
    dam: str
    foaled: int
    sex: str


@dataclass(frozen=True, slots=True)
class OfAnimal:
    """The tests of one animal.

    Args:
        whom: "horse", "sire" or "dam".
        name: of the animal.
        tests: the earliest first.
    """

    whom: str
    name: str
    tests: tuple[GeneFound, ...]

    @property
    def disagree(self) -> bool:
        """Return whether two tests say different things."""
        return len({one.test.genotype for one in self.tests}) > 1


def gene_tests(moment: Moment) -> list[GeneFound]:
    """Return every gene test that stood, the earliest first."""
    found = moments.entries(moment).filter(kind=GeneTest.name, horse__isnull=False).order_by("happened_at", "pk")
    return [GeneFound(row.pk, row.horse_id or 0, GeneTest.kept_as(row.values), row.happened_at) for row in found]


def gene_tests_of(horse: Horse, found: Sequence[GeneFound], string: Iterable[Horse]) -> list[OfAnimal]:
    """Return the tests of a horse, its sire and its dam, those entered with other foals of theirs too.

    Args:
        horse: the horse.
        found: all tests.
        string: all horses of the yard.
    """
    if not found:
        return []
    from upsides.books.queries.gene_animals import Animals

    known, own = Animals([*map(_bred, string), _bred(horse)]), _bred(horse)
    by_animal = _by_animal(found, known)
    names = {"horse": horse.name, "sire": horse.sire, "dam": horse.dam}
    animals = {whom: known.of(own, whom) for whom in WHOM}
    return [
        OfAnimal(whom, names[whom], tuple(by_animal[animal]))
        for whom, animal in animals.items()
        if animal and animal in by_animal
    ]


def chances(found: Sequence[GeneFound], string: Iterable[Horse], share: float, error: float) -> Mapping[int, Chances]:
    """Return the chances of each horse of which tests say something, by its number.

    Args:
        found: the tests.
        string: all horses of the yard, with the names of their parents.
        share: share of C among alleles.
        error: share of wrong tests.
    """
    return _chances(tuple(found), tuple(map(_bred, string)), share, error) if found else {}


def _bred(horse: Horse) -> Bred:
    return Bred(horse.pk, horse.name, horse.sire, horse.dam, horse.foaled, horse.sex)


@lru_cache(maxsize=16)
def _chances(
    found: tuple[GeneFound, ...], string: tuple[Bred, ...], share: float, error: float
) -> Mapping[int, Chances]:
    """Work the chances out, once as long as neither tests nor horses change."""
    from upsides.books.queries.gene_animals import Animals
    from upsides.trip import genotypes

    known = Animals(string)
    graph, place = known.graph()
    by_animal = _by_animal(found, known)
    said = [(place[animal], GENOTYPES.index(one.test.genotype)) for animal, own in by_animal.items() for one in own]
    tested = genotypes.GeneTests(*np.array(said, dtype=np.int64).reshape(-1, 2).T)
    peeled = genotypes.genotype_chances(graph, tested, share, error)
    founder = np.array([share**2, 2.0 * share * (1.0 - share), (1.0 - share) ** 2])
    rows = {number: peeled[place["horse", number]] for number in known.horses}
    return {
        number: (float(row[0]), float(row[1]), float(row[2]))
        for number, row in rows.items()
        if np.abs(row - founder).max() > TELLS
    }


def _by_animal(found: Iterable[GeneFound], known: "Animals") -> "dict[Animal, list[GeneFound]]":
    by_animal: dict[Animal, list[GeneFound]] = defaultdict(list)
    for one in found:
        horse = known.horses.get(one.horse)
        if horse and (animal := known.of(horse, one.test.whom)):
            by_animal[animal].append(one)
    return by_animal
