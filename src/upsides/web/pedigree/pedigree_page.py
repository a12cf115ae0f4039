"""A pedigree's page, ready for its template."""

from dataclasses import dataclass
from typing import Any

from upsides.books.queries.pedigree import Ancestor, Shown
from upsides.web.pedigree.sentences import about_known, about_page, about_pedigree, about_rest, letter, percent, where

ABREAST = 3
"""Generations that stand abreast on a phone; those behind them stand below, one piece for each of the third."""


@dataclass(frozen=True, slots=True)
class Node:
    """A place of the page with what stands behind it.

    Args:
        ancestor: who, None where it is not known.
        mark: the letter of one that stands on the page more than once, "" for others.
        generation: 0 for the horse itself.
        parents: its sire and its dam; nothing where neither is known, or behind the last generation.
        is_sire: whether it stands there as a sire.
    """

    ancestor: Ancestor | None
    mark: str
    generation: int
    parents: tuple["Node", ...]
    is_sire: bool


def pedigree_page(shown: Shown) -> dict[str, Any]:
    """Return what the template needs."""
    printed = shown.printed
    tree = _node(printed.places, 0, 0)
    return {
        "horse": shown.horse,
        "sentence": about_pedigree(printed),
        "tree": tree,
        "below": [node for node in _at(tree, ABREAST) if node.parents],
        "known": about_known(printed),
        "rest": about_rest(printed),
        "inbreeding": about_page(printed),
        "twice": [
            {"mark": letter(i), "name": one.name, "where": where(one.places), "adds": percent(one.f) if one.f else "–"}
            for i, one in enumerate(printed.twice)
        ],
    }


def _node(places: tuple[Ancestor | None, ...], i: int, generation: int) -> Node:
    behind = (2 * i + 1, 2 * i + 2)
    known = behind[1] < len(places) and any(places[place] for place in behind)
    parents = tuple(_node(places, place, generation + 1) for place in behind) if known else ()
    ancestor = places[i]
    mark = letter(ancestor.again) if ancestor and ancestor.again is not None else ""
    return Node(ancestor, mark, generation, parents, is_sire=i % 2 == 1)


def _at(node: Node, generation: int) -> list[Node]:
    """Return the nodes of one generation, from the page's top to its bottom."""
    if node.generation == generation:
        return [node]
    return [found for parent in node.parents for found in _at(parent, generation)]
