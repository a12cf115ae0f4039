"""What cannot be right in a pedigree: found with its lines, and left out only on request."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from upsides.errors import PedigreeLoopError
from upsides.pedigree import Faults, Read, find_faults, inbreeding, pedigree_of, read_pedigree, read_table, register_of
from upsides.pedigree.loops import find_loops

Write = Callable[..., Path]


def found(path: Path) -> Faults:
    return find_faults(register_of(read_table(path)))


def test_planted_errors_are_all_found(studbooks: Path) -> None:
    """In the herd book with planted errors (R package optiSel 2.1.0, PedigWithErrors): 1 own parent, 2 loops (it and
    one of four), 5 not younger than a parent, 6 rows whose sire is absent, 1 sire recorded as female.
    """
    faults = found(studbooks / "hinterwald_cattle_with_errors.csv.gz")
    assert [fault.animals for fault in faults.own_parent] == [("276000811476506",)]
    assert sorted(len(fault.animals) for fault in faults.loops) == [1, 4]
    assert len(faults.date_conflicts) == 5
    assert len(faults.missing_parents) == 6
    assert {fault.animals[0] for fault in faults.missing_parents} == {"276000800000608", "276000808337358", "0"}
    assert [fault.animals for fault in faults.sex_conflicts] == [("276000810087663",)]
    assert (faults.duplicates, faults.more_loops) == ((), False)


def test_planted_errors_are_left_out_on_request(studbooks: Path) -> None:
    """Without a repair the herd book is refused; with one it is read, each link left out is told, and none is wrong
    any more.
    """
    path = studbooks / "hinterwald_cattle_with_errors.csv.gz"
    with pytest.raises(PedigreeLoopError, match="is given as its own dam"):
        read_pedigree(path)
    read = read_pedigree(path, repair=True)
    assert [cut.role for cut in read.cuts].count("sex") == 1
    assert len(read.cuts) == 6
    assert inbreeding(read.pedigree.graph).max() < 0.5


def test_the_shortest_loop_is_told(write: Write) -> None:
    """Of two loops through one animal the shorter one is told first, offspring to parent, with its lines."""
    faults = found(write("id,sire,dam\nA,B,\nB,C,\nC,A,E\nE,D,\nD,B,\n"))
    assert [fault.animals for fault in faults.loops] == [("A", "B", "C")]
    assert faults.loops[0].said == "A is out of B is out of C is out of A (lines 2, 3, 4)"
    assert [(link.child, link.parent) for link in faults.loops[0].links] == [(0, 1), (1, 2), (2, 0)]


def test_loops_apart_are_both_told(write: Write) -> None:
    """Loops that share no link are told one by one, the shortest first, even in one knot."""
    faults = found(write("id,sire,dam\nA,B,\nB,A,C\nC,D,\nD,E,\nE,B,\nX,Y,\nY,X,\n"))
    assert [fault.animals for fault in faults.loops] == [("A", "B"), ("X", "Y"), ("B", "C", "D", "E")]


def test_a_loop_against_the_dates_names_one_link(write: Write) -> None:
    """Where years tell which link of a loop is wrong, a repair leaves out that one alone."""
    path = write("id,sire,dam,yob\nA,B,,2010\nB,C,,2000\nC,A,,1990\n")
    read = read_pedigree(path, repair=True)
    assert [(cut.animal, cut.parent, cut.role) for cut in read.cuts] == [("C", "A", "sire")]
    assert int((read.pedigree.graph.sire >= 0).sum()) == 2


def test_own_parent(write: Write) -> None:
    """An animal in both columns of its own row is told once, with both roles."""
    faults = found(write("id,sire,dam\nA,A,A\n"))
    assert [fault.said for fault in faults.own_parent] == ["A is given as its own sire and dam (line 2)"]
    assert len(faults.wrong) == 2  # it is sire and dam at once, too


def test_sexes_that_do_not_agree(write: Write) -> None:
    """A sire recorded as mare, a dam recorded as colt and an animal used as both are told; a gelding that was a sire
    first is not.
    """
    rows = ["id,sire,dam,sex", "A,,,mare", "B,,,colt", "C,A,B,", "D,E,F,", "G,F,H,", "I,J,H,", "J,,,gelding"]
    faults = found(write("\n".join(rows)))
    assert [(fault.animals[0], fault.lines) for fault in faults.sex_conflicts] == [
        ("A", (2, 4)),
        ("B", (3, 4)),
        ("F", (5, 6)),
    ]
    assert "recorded as female, is sire of 1" in faults.sex_conflicts[0].said
    assert "of no recorded sex, is sire of 1 and dam of 1" in faults.sex_conflicts[2].said


def test_repair_of_sexes(write: Write) -> None:
    """The recorded sex of an animal used one way is left out; of one used both ways the rarer use is."""
    rows = ["id,sire,dam,sex", "A,,,mare", "C,A,,", "D,E,F,", "G,F,H,", "I,F,H,"]
    read = read_pedigree(write("\n".join(rows)), repair=True)
    assert [(cut.animal, cut.parent, cut.role) for cut in read.cuts] == [("D", "F", "dam"), ("A", "", "sex")]
    place, graph = read.pedigree.place, read.pedigree.graph
    assert read.pedigree.sex[place("A")] == 0
    assert graph.sire[place("C")] == place("A")


def test_dates(write: Write) -> None:
    """A foal born before its parent or in its year is told, with both years; unknown years say nothing."""
    rows = ["id,sire,dam,yob", "A,,,2000", "B,A,,1999", "C,A,,2000", "D,A,,2001", "E,A,B,0"]
    faults = found(write("\n".join(rows)))
    assert [fault.animals for fault in faults.date_conflicts] == [("B", "A"), ("C", "A")]
    assert faults.date_conflicts[0].said == "B, born 1999, is not younger than its sire A, born 2000 (lines 2, 3)"


def test_rows_said_twice(write: Write) -> None:
    """Equal rows are one animal, a row fills what another leaves open, and rows that differ are told with lines."""
    rows = ["id,sire,dam", "A,B,", "a,B,C", "A,B,C", "D,B,C", "D,E,C"]
    read: Read = pedigree_of(read_table(write("\n".join(rows))))
    place, graph = read.pedigree.place, read.pedigree.graph
    assert graph.dam[place("A")] == place("C")
    assert {read.register.printed[i]: lines for i, lines in read.register.repeated.items()} == {
        "A": [2, 3, 4],
        "D": [5, 6],
    }
    assert [fault.said for fault in read.faults.duplicates] == [
        "the rows of D name different sires (lines 5, 6); B is taken"
    ]
    repaired = read_pedigree(write("\n".join(rows)), repair=True).pedigree
    assert repaired.graph.sire[repaired.place("D")] == -1


def test_missing_parents_become_founders(write: Write) -> None:
    """Parents without a row are founders, told with every row that names them; that is no error."""
    read = read_pedigree(write("id,sire,dam\nA,X,Y\nB,X,\n"))
    assert [(fault.animals, fault.lines) for fault in read.faults.missing_parents] == [
        (("X", "A"), (2,)),
        (("Y", "A"), (2,)),
        (("X", "B"), (3,)),
    ]
    assert read.faults.wrong == ()
    assert read.pedigree.graph.sire[read.pedigree.place("A")] == read.pedigree.graph.sire[read.pedigree.place("B")]


def test_a_stray_nought_is_told(write: Write) -> None:
    """0 in a table of blanks is told as a parent without a row; where noughts are the rule they mean unknown."""
    stray = found(write("id,sire,dam\nA,,\nB,A,\nC,0,\n"))
    assert [(fault.animals, fault.lines) for fault in stray.missing_parents] == [(("0", "C"), (4,))]
    assert found(write("id,sire,dam\nA,0,0\nB,A,0\nC,0,\n")).missing_parents == ()


@pytest.mark.parametrize("seed", range(5))
def test_nonsense_is_made_usable(seed: int) -> None:
    """Whatever links are drawn at random, leaving the loops out leaves none, and every loop is one."""
    rng = np.random.default_rng(seed)
    sire, dam = rng.integers(-1, 60, (2, 60)).astype(np.int32)
    loops, _ = find_loops(sire, dam)
    assert loops
    for loop in loops:
        for child, parent in zip(loop, [*loop[1:], loop[0]], strict=True):
            assert parent in (sire[child], dam[child])
            for parents in (sire, dam):
                if parents[child] == parent:
                    parents[child] = -1
    assert find_loops(sire, dam) == ([], False)


def test_a_knot_of_many_loops_is_cut(write: Write) -> None:
    """A thousand animals in one knot of loops are read with a repair, and what was left out is told."""
    rng = np.random.default_rng(0)
    rows = [f"n{i},n{rng.integers(1000)},n{rng.integers(1000)}" for i in range(1000)]
    read = read_pedigree(write("\n".join(["id,sire,dam", *rows])), repair=True)
    assert read.pedigree.graph.size == 1000
    assert read.cuts
