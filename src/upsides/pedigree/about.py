"""One animal of a pedigree: its inbreeding, with how much of the pedigree it rests on, and what is in it twice."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.pedigree.completeness import Depth, completeness, depth
from upsides.pedigree.graph import lineage, progeny
from upsides.pedigree.inbreeding import inbreeding
from upsides.pedigree.notation import Duplicate, duplicates
from upsides.pedigree.pedigree import Pedigree
from upsides.pedigree.relationship import contributions

Floats = NDArray[np.float64]
MOST = 10
"""Most generations that are looked through for ancestors that stand twice: 2,046 places."""


@dataclass(frozen=True, slots=True)
class Founder:
    """A founder, and the share of an animal's genes expected from it."""

    animal: int
    share: float


@dataclass(frozen=True, slots=True)
class About:
    """What a pedigree says of one animal; animals are places in that pedigree.

    Args:
        animal: which.
        f: inbreeding coefficient, over the whole pedigree.
        depth: how far back its pedigree goes, arrays of length 1.
        completeness: share of ancestors known in each generation, parents first.
        duplicates: ancestors that stand more than once within these generations.
        ancestors: how many different ancestors are known.
        progeny: how many offspring it has here.
        founders: its heaviest founders, the heaviest first.
        unknown: share of its genes from parents that are not known of animals one of whose parents is.
    """

    animal: int
    f: float
    depth: Depth
    completeness: Floats
    duplicates: tuple[Duplicate, ...]
    ancestors: int
    progeny: int
    founders: tuple[Founder, ...]
    unknown: float


def about(pedigree: Pedigree, animal: int, generations: int = 5, founders: int = 10) -> About:
    """Say what a pedigree holds of one animal, from its own ancestors alone.

    Args:
        pedigree: the pedigree.
        animal: its place in it.
        generations: how many are looked through for duplicates and completeness, at most MOST.
        founders: how many of the heaviest founders are named.
    """
    small, places = lineage(pedigree.graph, np.array([animal]))
    own, generations = small.size - 1, min(generations, MOST)
    f, reach = inbreeding(small), depth(small)
    given = contributions(small, np.array([own]))
    heaviest = [i for i in np.argsort(-given.share, kind="stable") if small.founders[i] and i != own][:founders]
    there = {line: int(place) for line, place in enumerate(places)}
    return About(
        animal,
        float(f[own]),
        Depth(reach.longest[own:], reach.full[own:], reach.equivalent[own:]),
        completeness(small, np.array([own]), generations)[0],
        tuple(one.placed(there) for one in duplicates(small, f, own, generations)),
        small.size - 1,
        int(progeny(pedigree.graph, animal).size),
        tuple(Founder(there[int(i)], float(given.share[i])) for i in heaviest),
        given.unknown,
    )
