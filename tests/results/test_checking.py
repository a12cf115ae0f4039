from pathlib import Path

from upsides.results import importing
from upsides.results.checking import check
from upsides.results.library import Library

HEAD = "race,number,horse,age,place,behind,weight,draw,time\n"


def test_findings_are_counted_by_source(library: Library, shape: Path, pair: list[Path]) -> None:
    """Odd fields, contradicting values and refusals are counted with examples; sound races give none."""
    pair[0].write_text(pair[0].read_text() + "3,2001-05-02,Moor Top,1200,GOOD\n4,2001-05-02,Moor Top,1200,GOOD\n")
    pair[1].write_text(
        HEAD
        + "1,11,Alder,3,1,-,9-7,2,2.40.00\n1,12,Birch,3,3,nk,9-0,1,2.40.05\n"
        + "2,11,Alder,3,1,-,9-7,1,1.40.00\n"
        + "3,11,Alder,3,WD,-,9-7,1,---\n3,12,Birch,3,PU,-,9-7,1,---\n3,13,Birch,3,PU,-,zz,2,---\n"
    )
    importing.add(library, pair, shape)
    done = check(library)
    found = {finding.kind: (finding.count, finding.of) for finding in done.findings}
    assert found == {
        "races without runs": (1, 4),
        "races with one starter": (1, 4),
        "races without a winner": (1, 4),
        "positions that skip or repeat without a dead heat": (1, 4),
        "times that do not belong to the distance": (1, 4),
        "cells left empty: carried_lb, cannot be read": (1, 0),
        "horses of one name under different numbers": (2, 3),
    }
    assert "home: races without runs: 1 of 4 (home:4)" in [str(finding) for finding in done.findings]
    assert done.years.rows() == [("home", 2001, 4, 6)]
    shares = {(table, column): share for _, table, column, share in done.missing.iter_rows()}
    assert shares["runs", "jockey"] == 1.0
    assert ("races", "date") not in shares


def test_an_empty_library_has_nothing_odd(library: Library) -> None:
    """A library without results gives no findings."""
    assert check(library).findings == []
