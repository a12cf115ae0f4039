from collections.abc import Callable
from pathlib import Path

from upsides.results import importing
from upsides.results.checking import check
from upsides.results.library import Library
from upsides.results.shape import read_shape

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


DAMS = """
format = 1
source = "dams"
[[table]]
has = ["race", "horse"]
[table.race]
race_id = "race"
date = "day"
[table.run]
horse_name = "horse"
dam = "mother"
position = "place"
beaten_lengths = "behind"
"""


def test_one_name_and_two_dams(library: Library, table: Callable[..., Path]) -> None:
    """Where neither number nor year tells two horses of one name apart, the dam does, and both are told."""
    rows = [
        "1,2001-05-01,Alder,Sedge,1,0",
        "1,2001-05-01,Alder,Rush,2,1.5",
        "1,2001-05-01,Birch,Rush,3,70",
        "2,2001-05-08,Alder,SEDGE,1,0",
        "2,2001-05-08,Birch,Rush,2,60",
    ]
    path = table("race,day,horse,mother,place,behind\n" + "\n".join(rows) + "\n")
    done = importing.add(library, [path], read_shape(DAMS, "test"))
    assert (done.runs, done.refused_rows) == (5, 0)
    horses = library.horses().sort("source_horse").select("source_horse", "runs").collect().rows()
    assert horses == [("dams:alder out of rush", 1), ("dams:alder out of sedge", 2), ("dams:birch out of rush", 2)]
    found = {finding.kind: (finding.count, finding.of) for finding in check(library).findings}
    assert found["one name, two dams"] == (2, 3)
    assert found["runs beaten further than 60 lengths"] == (1, 5)
