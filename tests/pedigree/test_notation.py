"""The trade's notation, depth and completeness."""

import numpy as np
import pytest

from pedigree_worlds import random_graph
from upsides.pedigree import Graph, Pedigree, about, completeness, depth, duplicates, inbreeding, lines_of


def world(text: str) -> tuple[Graph, dict[str, int]]:
    """Read `animal sire dam` triples, parents first; - is unknown and who has no row is a founder."""
    rows = [row.split() for row in text.strip().splitlines()]
    names = dict.fromkeys(name for row in rows for name in row[1:] if name != "-")
    names = {name: None for name in names if name not in {row[0] for row in rows}} | {row[0]: None for row in rows}
    at = {name: i for i, name in enumerate(names)} | {"-": -1}
    sire, dam = np.full(len(names), -1, dtype=np.int32), np.full(len(names), -1, dtype=np.int32)
    for animal, father, mother in rows:
        sire[at[animal]], dam[at[animal]] = at[father], at[mother]
    return Graph(sire, dam), at


def noted(text: str, generations: int = 5) -> dict[str, str]:
    """Return what the last animal has twice, by name."""
    graph, at = world(text)
    names = {place: name for name, place in at.items()}
    animal = graph.size - 1
    return {names[one.animal]: one.notation for one in duplicates(graph, inbreeding(graph), animal, generations)}


THREE_BY_FOUR = """
GS X m1
S GS m2
GGD X m3
GD GGD m4
D GD m5
H S D
"""


def test_one_place_in_each_half() -> None:
    """X in the third generation of the sire's half and the fourth of the dam's is 3x4, worth 1/64."""
    assert noted(THREE_BY_FOUR) == {"X": "3x4"}
    graph, _ = world(THREE_BY_FOUR)
    (one,) = duplicates(graph, inbreeding(graph), graph.size - 1)
    assert one.f == inbreeding(graph)[-1] == 1 / 64


def test_places_are_read_from_top_to_bottom() -> None:
    """Two places in the sire's half and one in the dam's come as they stand on the page: 3S x 2S x 2D, lettered."""
    text = "A X m1\nB X m3\nS A B\nD X m4\nH S D"
    assert noted(text) == {"X": "3S x 3S x 2D"}
    assert noted("A X m1\nB A m2\nX2 X m9\nS B X2\nX3 X m5\nD m4 X3\nH S D")["X"] == "4S x 3S x 3D"


def test_one_half_alone_adds_nothing() -> None:
    """An ancestor twice in the dam's half is listed, with letters, and adds nothing to the inbreeding."""
    text = "A X m1\nB m2 X\nC B m6\nD A C\nH s D"
    graph, _ = world(text)
    (one,) = duplicates(graph, inbreeding(graph), graph.size - 1)
    assert (one.notation, one.f, inbreeding(graph)[-1]) == ("3D x 4D", 0.0, 0.0)


def test_shadows_are_left_out() -> None:
    """The parents of a duplicated ancestor, met only behind it, are not listed."""
    assert noted("X XS XD\nS X m1\nD X m2\nH S D") == {"X": "2x2"}


def test_ancestors_of_an_inbred_ancestor_are_shadows() -> None:
    """An ancestor to which the duplicated one is itself inbred is met only behind it, so it is not listed."""
    assert noted("A Y m1\nB Y m2\nX A B\nS X m3\nD X m4\nH S D") == {"X": "2x2"}


def test_met_behind_two_others_is_listed() -> None:
    """An ancestor met behind two different animals, both twice there, stands for a relation of its own."""
    text = "P Y m1\nQ Y m2\nS P Q\nD P Q\nH S D"
    assert noted(text) == {"P": "2x2", "Q": "2x2", "Y": "3S x 3S x 3D x 3D"}
    graph, _ = world(text)
    f = inbreeding(graph)
    assert sum(one.f for one in duplicates(graph, f, graph.size - 1)) == pytest.approx(f[-1], abs=1e-15)


def test_also_met_elsewhere_is_listed() -> None:
    """A sire of the duplicated ancestor that stands once more beside it is listed with all its places."""
    assert noted("X Y m1\nS X m2\nE X m3\nY2 Y m4\nD E Y2\nH S D") == {"X": "2x3", "Y": "3S x 4D x 3D"}


def test_parent_and_offspring() -> None:
    """A sire mated to his own daughter is 1x2, a quarter (textbook)."""
    graph, _ = world("D X m\nH X D")
    (one,) = duplicates(graph, inbreeding(graph), graph.size - 1)
    assert (one.notation, one.f) == ("1x2", 0.25)


def test_generations_are_counted() -> None:
    """What lies beyond the generations asked for is not seen."""
    assert noted(THREE_BY_FOUR, 3) == {}
    assert noted(THREE_BY_FOUR, 4) == {"X": "3x4"}


@pytest.mark.parametrize("seed", range(6))
def test_duplicates_explain_the_inbreeding(seed: int) -> None:
    """Over all generations of a small pedigree, what the duplicates add is Wright's F to the last digit."""
    graph = random_graph(np.random.default_rng(seed), 24, recent=8)
    f = inbreeding(graph)
    reach = int(depth(graph).longest.max())
    for animal in range(graph.size):
        assert sum(one.f for one in duplicates(graph, f, animal, reach)) == pytest.approx(f[animal], abs=1e-12)


def test_full_page_has_62_names() -> None:
    """Five generations without a gap fill 2 + 4 + 8 + 16 + 32 places, the top line of sires first."""
    rows = [f"a{i} a{2 * i + 1} a{2 * i + 2}" for i in range(31)][::-1]
    graph, at = world("\n".join(rows))
    lines = list(lines_of(graph, at["a0"], 5))
    assert len(lines) == 62
    assert lines[0].path == tuple(at[f"a{i}"] for i in (1, 3, 7, 15, 31))
    assert lines[-1].path == tuple(at[f"a{i}"] for i in (2, 6, 14, 30, 62))


def test_depth_and_completeness() -> None:
    """With a dam's sire unknown: two lines of two, one full generation, 1.75 equivalent, three of four known."""
    graph, at = world("S a b\nD - c\nH S D")
    found = depth(graph)
    animal = at["H"]
    assert (found.longest[animal], found.full[animal], found.equivalent[animal]) == (2, 1, 1.75)
    assert completeness(graph, np.array([animal, at["D"]]), 3).tolist() == [[1, 0.75, 0], [0.5, 0, 0]]


def test_about_one_animal() -> None:
    """One animal's page is worked out from its own ancestors and names them by their places in the whole."""
    graph, at = world("other o1 o2\n" + THREE_BY_FOUR.strip() + "\nfoal H o3")
    names = tuple(sorted((name for name in at if name != "-"), key=lambda name: at[name]))
    none = np.zeros(graph.size, dtype=np.int32)
    pedigree = Pedigree(graph, tuple(n.lower() for n in names), names, none.astype(np.int8), none, none.astype(int))
    told = about(pedigree, at["H"])
    assert [(names[one.animal], one.notation) for one in told.duplicates] == [("X", "3x4")]
    assert told.f == inbreeding(graph)[at["H"]] == 1 / 64
    assert (told.ancestors, told.progeny) == (11, 1)
    assert {names[one.animal]: one.share for one in told.founders}["X"] == 1 / 8 + 1 / 16
    assert sum(one.share for one in told.founders) + told.unknown == 1.0
