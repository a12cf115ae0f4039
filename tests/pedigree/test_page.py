"""A printed pedigree, and the part of a library that one horse's pedigree needs."""

from collections.abc import Callable
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.pedigree import Own, Page, Pedigree, page, pedigree_of, read_pedigree, table_behind, table_of
from upsides.results.importing import add_frames
from upsides.results.library import Library

Write = Callable[..., Path]
WORDS = "Alder Birch Cédre Dogwood Elm Fir Gorse Hazel Ivy Juniper Larch Maple Oak Pine Quince Rowan Sloe Yew"


def names(printed: Page, pedigree: Pedigree) -> list[str]:
    return [pedigree.printed[place] if place >= 0 else "" for place in printed.places]


def test_places_are_read_from_top_to_bottom(write: Write) -> None:
    """Generation by generation, behind each its sire above its dam; unknown ones keep their place."""
    rows = "horse,sire,dam\nAlder,Birch,Cedar\nBirch,Dogwood,\nCedar,,Elm\nElm,Fir,Gorse\n"
    pedigree = read_pedigree(write(rows)).pedigree
    printed = page(pedigree, pedigree.place("Alder"), 3)
    assert names(printed, pedigree) == [
        *("Alder", "Birch", "Cedar", "Dogwood", "", "", "Elm"),
        *("", "", "", "", "", "", "Fir", "Gorse"),
    ]


def by(*line: str) -> list[str]:
    """Return rows in which each is by the next."""
    return [f"{child},{sire}," for child, sire in pairwise(line)]


def test_inbreeding_of_the_page_and_of_all(write: Write) -> None:
    """An ancestor 3x4 adds 1/2^6 to both, one that is 6x6 adds 1/2^11 to all that is known alone (Wright 1922)."""
    rows = ["horse,sire,dam", "H,S,D", "S,S2,SD", "D,DS,D2", "DS,,DSD", *by("SD", "X"), *by("DSD", "X")]
    rows += by("S2", "S3", "S4", "S5", "Y") + by("D2", "D3", "D4", "D5", "Y")
    pedigree = read_pedigree(write("\n".join(rows))).pedigree
    printed = page(pedigree, pedigree.place("H"))
    assert [(pedigree.printed[one.animal], one.notation) for one in printed.duplicates] == [("X", "3x4")]
    assert printed.within == 0.5**6
    assert printed.f == 0.5**6 + 0.5**11
    assert int(printed.depth.longest[0]) == 6


def test_no_line_is_longer_than_the_page(write: Write) -> None:
    """X is 2x4; Y stands twice in the sire's half, and behind X in the dam's, where the page does not reach: 4x6 counts
    for all that is known and not for five generations, although its links stand elsewhere on the page (Wright 1922).
    """
    rows = [
        "horse,sire,dam",
        "H,S,D",
        "S,X,M",
        "D,D2,D1",
        *by("X", "X1", "Y"),
        *by("M", "M1", "Y"),
        *by("D2", "D3", "X"),
    ]
    pedigree = read_pedigree(write("\n".join(rows))).pedigree
    printed = page(pedigree, pedigree.place("H"))
    assert [(pedigree.printed[one.animal], one.notation) for one in printed.duplicates] == [
        ("X", "2x4"),
        ("Y", "4S x 4S"),
    ]
    assert printed.within == 0.5**5
    assert printed.f == 0.5**5 + 0.5**9


def test_nothing_behind_the_last_generation_counts(write: Write) -> None:
    """Full sibs as parents make a quarter over two generations and over all; over one generation nothing is seen."""
    pedigree = read_pedigree(write("horse,sire,dam\nC,A,B\nA,F,G\nB,F,G\n")).pedigree
    place = pedigree.place("C")
    assert [page(pedigree, place, generations).within for generations in (1, 2, 3)] == [0.0, 0.25, 0.25]
    assert page(pedigree, place, 1).f == 0.25


@pytest.fixture
def library(tmp_path: Path) -> Library:
    """Return horses bred at random, with names borne twice, years and parents missing, and dams of two sires."""
    rng = np.random.default_rng(11)
    words = WORDS.split()
    rows = []
    for i in range(400):
        name, born = f"{words[rng.integers(18)]} {words[rng.integers(18)]}", 1950 + i // 6
        older = [row for row in rows if row["foaled"] is None or row["foaled"] < born - 2][-60:]
        by, out = (older[rng.integers(len(older))] if older and rng.random() < 0.9 else None for _ in "sd")
        abroad = i // 30 * 3 + rng.integers(3) if out and rng.random() < 0.4 else None
        dam_sire = out and (out["sire"] if abroad is None else rows[2 * abroad]["name"])
        rows.append({
            "source_horse": f"here:{i}", "name": name, "suffix": "IRE" if rng.random() < 0.2 else None,
            "foaled": born if rng.random() < 0.9 else None, "sex": ["male", "female", None][rng.integers(3)],
            "sire": by and by["name"].upper(), "dam": out and (out["name"] if abroad is None else f"Abroad {abroad}th"),
            "dam_sire": dam_sire if rng.random() < 0.4 else None,
        })  # fmt: skip
    found = Library.create(tmp_path / "library")
    races = pl.DataFrame({"race_id": ["1"], "date": [date(2020, 1, 1)]})
    runs = pl.DataFrame({"race_key": ["here:1"], "source_horse": ["here:399"], "horse_name": [rows[399]["name"]]})
    add_frames(found, races, runs, "here", pl.DataFrame(rows, infer_schema_length=None))
    return found


def test_a_part_of_the_library_is_enough(library: Library) -> None:
    """The horses that can stand behind one give the pedigree that the whole library gives, place for place."""
    whole = pedigree_of(table_of(library)).pedigree
    deepest = 0
    for row in library.horses().filter(pl.col("foaled") > 1990).collect().to_dicts():
        own = Own(
            row["source_horse"], row["name"], row["foaled"], row["sex"] or "", row["sire"] or "", row["dam"] or ""
        )
        part = pedigree_of(table_behind(library, own)).pedigree
        printed, wanted = page(part, part.place(own.key)), page(whole, whole.place(own.key))
        found, meant = (" | ".join(names(one, of)[1:]).casefold() for one, of in ((printed, part), (wanted, whole)))
        assert found == meant, own
        assert (printed.f, printed.within) == (pytest.approx(wanted.f), pytest.approx(wanted.within))
        deepest = max(deepest, int(printed.depth.longest[0]))
    assert deepest > 5


def test_the_yard_goes_before_the_library(library: Library) -> None:
    """Parents are those of the yard's own entry, and the library's where the yard names none; a dam's sire is hers."""
    told = pl.all_horizontal(pl.col("sire", "dam", "dam_sire", "foaled").is_not_null())
    row = library.horses().filter(told).sort("foaled", "source_horse").collect().row(-1, named=True)

    def first(sire: str, dam: str) -> dict[str, object]:
        own = Own(row["source_horse"], "Renamed", row["foaled"], "filly", sire, dam)
        return table_behind(library, own).rows.row(0, named=True)

    bare = first("", "")
    assert (bare["name"], bare["sire"], bare["dam"], bare["dam_sire"]) == (
        "Renamed",
        row["sire"],
        row["dam"],
        row["dam_sire"],
    )
    other = first("Oak", "Willow")
    assert (other["sire"], other["dam"], other["dam_sire"]) == ("Oak", "Willow", None)
    assert first("Oak", str(row["dam"]).upper())["dam_sire"] == row["dam_sire"]


def test_without_a_library_the_yard_is_all(library: Library) -> None:
    """Where there is no library, and where it knows nothing of the horse, its own parents stand alone."""
    own = Own("yard:oak-2024", "Oak", 2024, "colt", "Nobody's Sire", "")
    for store in (None, library):
        known = pedigree_of(table_behind(store, own)).pedigree
        assert names(page(known, known.place(own.key), 2), known) == ["Oak", "Nobody's Sire", "", "", "", "", ""]
