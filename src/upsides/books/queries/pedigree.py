"""Reads of one horse's printed pedigree. It is public knowledge: who may see the horse may see it whole."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from upsides.books.models import Horse
from upsides.books.queries.horse import seen
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import State, state_of
from upsides.books.queries.visitors import Visitor
from upsides.errors import UpsidesError

GENERATIONS = 5
"""What the trade prints: 62 ancestors."""


@dataclass(frozen=True, slots=True)
class Ancestor:
    """A horse at a place of the page.

    Args:
        name: as the library or the books have it, with its country where that is known.
        born: year of foaling, None where it is not known.
        again: for one that stands on the page more than once its place in `Printed.twice`, None for others.
    """

    name: str
    born: int | None
    again: int | None


@dataclass(frozen=True, slots=True)
class Twice:
    """An ancestor that stands on the page more than once.

    Args:
        name: its name.
        places: where, from the page's top to its bottom: the generation, and whether it is in the sire's half.
        f: what these places add to the inbreeding.
    """

    name: str
    places: tuple[tuple[int, bool], ...]
    f: float


@dataclass(frozen=True, slots=True)
class Printed:
    """A pedigree as it is printed.

    Args:
        places: the horse and its ancestors, None where not known; behind place i its sire, 2i + 1, and its dam, 2i + 2.
        known: how many ancestors are known in each generation, parents first.
        twice: those that stand more than once, what adds most to the inbreeding first.
        f: inbreeding over these generations: what those that stand more than once add.
        f_of_all: inbreeding from all that is known.
        longest: generations along the longest line that is known.
        equivalent: how many complete generations all that is known is worth.
    """

    places: tuple[Ancestor | None, ...]
    known: tuple[int, ...]
    twice: tuple[Twice, ...]
    f: float
    f_of_all: float
    longest: int
    equivalent: float

    @property
    def full(self) -> int:
        """Return in how many generations every ancestor is known, from the parents on without a gap."""
        filled = [count == 2**g for g, count in enumerate(self.known, start=1)]
        return next((g for g, whole in enumerate(filled) if not whole), len(filled))


@dataclass(frozen=True, slots=True)
class Shown:
    """A horse with its pedigree.

    Args:
        horse: its row of the books.
        printed: its pedigree.
    """

    horse: Horse
    printed: Printed


def pedigree(library: Path, who: Visitor, moment: Moment, number: int) -> Shown | None:
    """Return the pedigree of a horse by its number in the books, None where the visitor may see no such horse.

    The horse is as the books had it at the moment. Its ancestors have no date: who was out of whom was always so.
    """
    horse = seen(who, moment, number)
    if horse is None:
        return None
    try:
        state = state_of(library)
    except UpsidesError:
        state = None
    described = (horse.horse_key, horse.name, horse.foaled, horse.sex, horse.sire, horse.dam)
    return Shown(horse, _printed(state, described))


@lru_cache(maxsize=512)
def _printed(state: State | None, described: tuple[str, str, int, str, str, str]) -> Printed:
    """Print a pedigree, once for each state of the library; compiled code is loaded with the first."""
    from upsides.pedigree import Own, page, pedigree_of, table_behind

    own = Own(*described)
    known = pedigree_of(table_behind(state.library() if state else None, own)).pedigree
    found = page(known, known.place(own.key), GENERATIONS)
    again = {one.animal: i for i, one in enumerate(found.duplicates)}
    printed, born = known.printed, known.born
    return Printed(
        tuple(Ancestor(printed[i], int(born[i]) or None, again.get(i)) if i >= 0 else None for i in found.places),
        tuple(round(share * 2**g) for g, share in enumerate(found.completeness.tolist(), start=1)),
        tuple(
            Twice(printed[one.animal], tuple((line.generation, line.through_sire) for line in one.lines), one.f)
            for one in found.duplicates
        ),
        found.within,
        found.f,
        int(found.depth.longest[0]),
        float(found.depth.equivalent[0]),
    )
