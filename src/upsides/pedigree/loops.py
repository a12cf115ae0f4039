"""Animals that are their own ancestors: the shortest loop of each knot."""

from collections import deque

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from upsides.pedigree.graph import generations_of

Codes = NDArray[np.int32]
ROUNDS = 50
Links = dict[int, list[int]]


def find_loops(sire: Codes, dam: Codes) -> tuple[list[list[int]], bool]:
    """Find the loops of a pedigree in any order; an animal that is its own parent is one of length 1.

    Of every knot (animals that are all ancestors of each other) the shortest loop is taken, its links are set
    aside, and what is left is looked at again. A longer loop that shares a link with a shorter one goes with it.

    Returns:
        The loops, each from offspring to parent, to its parent and so on (a parent of the last is the first); and
        whether there may be more, which is so after ROUNDS rounds.
    """
    sire, dam = sire.copy(), dam.copy()
    loops: list[list[int]] = []
    for _ in range(ROUNDS):
        knots = _knots(sire, dam)
        if not knots:
            return loops, False
        for knot in knots:
            loop = _shortest(knot)
            loops.append(loop)
            _set_aside(loop, sire, dam)
    return loops, bool(_knots(sire, dam))


def links_of(loop: list[int]) -> list[tuple[int, int]]:
    """Return the (offspring, parent) pairs of a loop."""
    return list(zip(loop, [*loop[1:], loop[0]], strict=True))


def in_knots(sire: Codes, dam: Codes) -> list[set[int]]:
    """Return the sets of animals that are all ancestors of each other."""
    return [set(knot) for knot in _knots(sire, dam)]


def _set_aside(loop: list[int], sire: Codes, dam: Codes) -> None:
    for child, parent in links_of(loop):
        for parents in (sire, dam):
            if parents[child] == parent:
                parents[child] = -1


def _knots(sire: Codes, dam: Codes) -> list[Links]:
    """Return the links inside each knot."""
    held = np.flatnonzero(generations_of(sire, dam) < 0)
    if held.size == 0:
        return []
    code = np.full(sire.size + 1, -1)
    code[held] = np.arange(held.size)
    children = np.tile(np.arange(held.size), 2)
    parents = np.concatenate([code[sire[held]], code[dam[held]]])
    inside = parents >= 0
    children, parents = children[inside], parents[inside]
    ones = np.ones(children.size, dtype=np.int8)
    count, label = connected_components(
        csr_array((ones, (children, parents)), shape=(held.size, held.size)), connection="strong"
    )
    same = label[children] == label[parents]
    knots: list[Links] = [{} for _ in range(count)]
    for child, parent in zip(children[same], parents[same], strict=True):
        knots[label[child]].setdefault(int(held[child]), []).append(int(held[parent]))
    return [knot for knot in knots if knot]


def _shortest(knot: Links) -> list[int]:
    """Return the shortest loop, the first found of several; at each animal only shorter ones are looked for."""
    best: list[int] = []
    left = {child: list(parents) for child, parents in knot.items()}
    for start in sorted(knot):
        found = _through(start, left, len(best) - 1 if best else len(knot))
        best = found or best
        if len(best) in (1, 2):
            break
        left.pop(start, None)
    return best


def _through(start: int, links: Links, longest: int) -> list[int]:
    """Return the shortest loop through an animal that has at most so many animals, empty for none."""
    came: dict[int, int] = {start: -1}
    queue = deque([(start, 1)])
    while queue:
        animal, length = queue.popleft()
        if length > longest:
            return []
        for parent in links.get(animal, ()):
            if parent == start:
                return _back(animal, came)
            if parent not in came:
                came[parent] = animal
                queue.append((parent, length + 1))
    return []


def _back(animal: int, came: dict[int, int]) -> list[int]:
    path = []
    while animal >= 0:
        path.append(animal)
        animal = came[animal]
    return path[::-1]
