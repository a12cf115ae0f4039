"""Tables of pedigrees: how they may be written, who is meant, and what is refused."""

import gzip
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import (
    AnimalAmbiguousError,
    AnimalUnknownError,
    FileUnreadableError,
    PedigreeTableError,
)
from upsides.pedigree import Columns, Pedigree, Table, about, inbreeding, pedigree_of, read_pedigree, read_table
from upsides.pedigree.register import sexes_of, years_of
from upsides.results.naming import key_of, may_be_one

Write = Callable[..., Path]


def parents(pedigree: Pedigree) -> dict[str, tuple[str, str]]:
    """Return each animal's sire and dam, as printed; - for unknown."""
    graph, printed = pedigree.graph, (*pedigree.printed, "-")
    return {printed[i]: (printed[s], printed[d]) for i, (s, d) in enumerate(zip(graph.sire, graph.dam, strict=True))}


FAMILY = {"Alder": ("-", "-"), "Birch": ("-", "-"), "Cedar": ("Alder", "Birch"), "Dogwood": ("Cedar", "Birch")}
ROWS = [("Dogwood", "Cedar", "Birch"), ("Cedar", "Alder", "Birch"), ("Alder", "", ""), ("Birch", "", "")]


@pytest.mark.parametrize(
    "header", ["animal;sire;dam", "ID;Sire;Dam", "Ind;pa;ma", "Indiv;Father;Mother", "horse;SIRE;DAM"]
)
@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_usual_headers(write: Write, header: str, sign: str) -> None:
    """Usual headers and separators are understood, offspring before parents too."""
    text = "\n".join([header, *(";".join(row) for row in ROWS)]).replace(";", sign)
    assert parents(read_pedigree(write(text)).pedigree) == FAMILY


def test_other_kinds_of_files(write: Write, tmp_path: Path) -> None:
    """Gzipped text, JSON lines, Parquet and XLSX say the same."""
    frame = pl.DataFrame(ROWS, schema=["animal", "sire", "dam"], orient="row")
    text = frame.write_csv()
    frame.write_parquet(tmp_path / "p.parquet")
    frame.write_ndjson(tmp_path / "p.jsonl")
    import openpyxl

    book = openpyxl.Workbook()
    for row in (frame.columns, *frame.rows()):
        book.worksheets[0].append(row)
    book.save(tmp_path / "p.xlsx")
    files = [
        write(gzip.compress(text.encode()), "p.csv.gz"),
        *(tmp_path / f"p.{x}" for x in ("parquet", "jsonl", "xlsx")),
    ]
    assert [parents(read_pedigree(file).pedigree) for file in files] == [FAMILY] * 4


def test_columns_that_are_told(write: Write) -> None:
    """Headers of no usual name are read where they are told, and what they hold is not guessed again."""
    path = write("wer,vonwem,ausder\nCedar,Alder,Birch\n")
    told = Columns(animal="wer", sire="vonwem", dam="ausder")
    assert parents(read_pedigree(path, told).pedigree)["Cedar"] == ("Alder", "Birch")
    with pytest.raises(PedigreeTableError, match="no column 'sire'; it has wer, vonwem, ausder"):
        read_pedigree(path, Columns(sire="sire"))
    with pytest.raises(PedigreeTableError, match="known to hold the animal; say which one does: --animal COLUMN"):
        read_pedigree(path)


def test_names_in_any_case_with_suffixes(write: Write) -> None:
    """Case, accents and apostrophes do not make two animals; a country suffix does, in any of its forms."""
    text = "horse,sire,dam\nCedar (IRE),ALDER (GB),Béla's Song\nDogwood,Cedar (ire),BELAS SONG\nElm,Alder (USA),Birch\n"
    read = read_pedigree(write(text))
    assert read.pedigree.graph.size == 7
    graph = read.pedigree.graph
    place = read.pedigree.place
    assert graph.sire[place("dogwood")] == place("Cedar (IRE)")
    assert graph.dam[place("dogwood")] == graph.dam[place("CEDAR (IE)")] == place("Bela's song")
    with pytest.raises(AnimalAmbiguousError, match=r"2 animals answer to 'alder': ALDER \(GB\), Alder \(USA\)"):
        place("alder")


def test_a_bare_name_means_the_one_animal_called_so(write: Write) -> None:
    """A parent without a suffix is the one horse so called, where there is one only, and that is counted."""
    text = (
        "horse,sire,dam,year\nAlder (IRE),,,2000\nBirch,Alder,,2010\nElm (GB),,,2000\nElm (FR),,,2001\nFir,Elm,,2010\n"
    )
    read = read_pedigree(write(text))
    place, graph = read.pedigree.place, read.pedigree.graph
    assert graph.sire[place("birch")] == place("alder (ire)")
    assert read.register.joined == 1
    assert read.pedigree.line[graph.sire[place("fir")]] == 0


def test_numbers_keep_their_signs(write: Write) -> None:
    """Numbers of a register differ by their punctuation: 1-12 is not 11-2, and 0 and blank are unknown."""
    read = read_pedigree(write("id,sire,dam\n1-12,0,\n11-2,1-12,NA\nH 7,11-2,---\n"))
    assert parents(read.pedigree) == {"1-12": ("-", "-"), "11-2": ("1-12", "-"), "H 7": ("11-2", "-")}


def test_parents_told_by_names(write: Write) -> None:
    """Where animals are numbered and parents named, a name means the horse of fitting sex and year that bears it."""
    rows = [
        "horse_id,horse_name,sire,dam,sex,foaled",
        "A1,Alder,,,Horse,1995",
        "A2,Birch,,,Mare,1996",
        "A3,Cedar,ALDER,Birch,Gelding,2003",
        "A4,Dogwood,Cedar,Birch,Filly,2009",  # the Cedar here is a gelding: another of the name
        "A5,Elm,Alder,,Colt,1996",  # this Alder would be one year old
        "A6,Cedar,Alder,Birch,Colt,2012",
    ]
    read = read_pedigree(write("\n".join(rows)))
    graph, place = read.pedigree.graph, read.pedigree.place
    assert (graph.sire[place("A3")], graph.dam[place("A3")]) == (place("A1"), place("A2"))
    assert read.pedigree.keys[graph.sire[place("A4")]] == "cedar|sire"
    assert read.pedigree.keys[graph.sire[place("A5")]] == "alder|sire"
    assert graph.sire[place("A6")] == place("A1")
    with pytest.raises(AnimalAmbiguousError, match=r"Cedar \[a3\], born 2003"):
        place("Cedar")


def test_other_encodings(write: Write) -> None:
    """UTF-8 with and without a mark, Western European, and Japanese when it is named, give the same names."""
    text = "animal,sire,dam\nChêne,Érable,Aulne\n"
    for data in (text.encode(), b"\xef\xbb\xbf" + text.encode(), text.encode("cp1252")):
        assert parents(read_pedigree(write(data)).pedigree)["Chêne"] == ("Érable", "Aulne")
    japanese = "animal,sire,dam\n桜,松,梅\n".encode("shift_jis")
    assert parents(read_pedigree(write(japanese), encoding="shift_jis").pedigree)["桜"] == ("松", "梅")
    with pytest.raises(PedigreeTableError, match="no encoding 'klingon'"):
        read_pedigree(write(text), encoding="klingon")


@pytest.mark.parametrize(
    ("content", "error", "words"),
    [
        (b"", FileUnreadableError, "empty"),
        (b"animal,sire,dam\n", PedigreeTableError, "a header but no row"),
        (b"animal,sire\nA,B\n", PedigreeTableError, "known to hold the dam"),
        (b"\x1f\x8b\x08\x00cut off", FileUnreadableError, "fetch"),
        (b'[{"animal": "A"}]', FileUnreadableError, "one object a line"),
    ],
)
def test_malformed_files_are_refused(write: Write, content: bytes, error: type[Exception], words: str) -> None:
    """A file that is no table of animals, sires and dams is refused with the reason and a remedy."""
    with pytest.raises(error, match=words):
        read_pedigree(write(content))


def test_broken_lines_are_told(write: Write) -> None:
    """A line with too few cells is left out and told by its number; the others are read."""
    table = read_table(write("animal,sire,dam\nA,B,C\nD,E\nF,A,C\n"))
    assert [(fault.line, fault.kept) for fault in table.faults] == [(3, False)]
    assert table.rows["line"].to_list() == [2, 4]


def test_unnamed_foals_are_kept_apart(write: Write) -> None:
    """Lots without a name are animals of their own, one a line; a row that says nothing is none."""
    read = read_pedigree(write("horse,sire,dam\nunnamed,Alder,Birch\nunnamed (gb),Alder,Birch\n,,\n"))
    found = parents(read.pedigree)
    assert found["unnamed, line 2"] == found["unnamed, line 3"] == ("Alder", "Birch")
    assert len(found) == 4


def test_unknown_animals_are_told_what_is_near(write: Write) -> None:
    """A name that nobody bears is refused with those like it."""
    pedigree = read_pedigree(write("horse,sire,dam\nDogwood,Cedar,Birch\n")).pedigree
    with pytest.raises(AnimalUnknownError, match="near to it: Dogwood"):
        pedigree.place("Dogwod")


def test_sexes_in_any_words() -> None:
    """M beside F is male; M beside C and G is a mare; 1 and 2 are male and female; a colour is no sex."""
    assert sexes_of(["M", "F", None, "M"]) == [1, 2, 0, 1]
    assert sexes_of(["c", "m", "g", "f", "h"]) == [1, 2, 3, 2, 1]
    assert sexes_of(["1", "2", "0"]) == [1, 2, 0]
    assert sexes_of(["male", "Female", "Gelding", "Brown", "Rig"]) == [1, 2, 3, 0, 1]


def test_years_out_of_dates() -> None:
    """A year is read out of a year or a date in any order; nought and nonsense are no year."""
    written = ["1999", "2001-04-30", "30.4.2001", "0", "", None, "99", "19991", "2500"]
    assert years_of(written) == [1999, 2001, 2001, 0, 0, 0, 0, 0, 0]


@given(st.text())
def test_any_text_has_a_key(text: str) -> None:
    """Whatever stands in a cell has a key, the key of a key is itself a key, and it may be itself."""
    key = key_of(text)
    assert key == key_of(text.upper().lower()) or text.upper().lower() != text
    assert may_be_one(key, key)


def test_a_large_table(write: Write) -> None:
    """A table of 60,000 animals over ten generations is read in full, each parent where it belongs."""
    rng = np.random.default_rng(1)
    rows = [f"h{i},,," for i in range(6000)]
    for i in range(6000, 60000):
        low = i // 6000 * 6000 - 6000
        rows.append(f"h{i},h{low + 2 * rng.integers(3000)},h{low + 2 * rng.integers(3000) + 1},{1950 + i // 6000 * 5}")
    read = pedigree_of(read_table(write("\n".join(["id,sire,dam,yob", *rows]))))
    assert (read.pedigree.graph.size, len(read.faults.wrong)) == (60000, 0)
    at = read.pedigree.places
    for row in (rows[7000], rows[59999]):
        name, sire, dam, _ = row.split(",")
        assert read.pedigree.graph.sire[at[name]] == at[sire]
        assert read.pedigree.graph.dam[at[name]] == at[dam]
    assert 0 < inbreeding(read.pedigree.graph).max() < 0.5


def test_sires_of_dams_without_a_row(write: Write) -> None:
    """A dam without a row is a daughter of the sire that her foals' rows name; by two sires there are two mares."""
    rows = [
        "horse_id,horse_name,sire,dam,dam_sire",
        "1,Alder,Oak,Birch,Elm",
        "2,Cedar,Elm,BIRCH,elm",
        "3,Dogwood,Oak,Birch,",
        "4,Fir,Oak,Hazel,Elm",
        "5,Gorse,Oak,Hazel,Rowan",
        "6,Holly,Oak,Hazel,",
        "7,Oak,,,",
    ]
    read = read_pedigree(write("\n".join(rows)))
    graph, place, printed = read.pedigree.graph, read.pedigree.place, read.pedigree.printed
    birch = graph.dam[place("1")]
    assert (graph.dam[place("2")], graph.dam[place("3")]) == (birch, birch)
    assert graph.sire[birch] == graph.sire[place("2")] == place("Elm")
    hazels = [int(graph.dam[place(number)]) for number in "456"]
    assert [printed[hazel] for hazel in hazels] == ["Hazel (by Elm)", "Hazel (by Rowan)", "Hazel"]
    assert [int(graph.sire[hazel]) for hazel in hazels] == [place("Elm"), place("Rowan"), -1]
    # A sire mated to his daughter (Wright 1922, Am Nat 56:330).
    assert about(read.pedigree, place("2")).f == 0.25


def test_a_dam_with_a_row_keeps_her_own_sire(write: Write) -> None:
    """What a foal's row says of its dam's sire counts only where the dam has no row."""
    read = read_pedigree(write("horse,sire,dam,dam_sire\nBirch,Oak,Ash,\nCedar,Elm,Birch,Rowan\nFir,Elm,Beech,Rowan\n"))
    graph, place, printed = read.pedigree.graph, read.pedigree.place, read.pedigree.printed
    assert printed[graph.sire[place("Birch")]] == "Oak"
    assert printed[graph.sire[place("Beech")]] == "Rowan"


def test_undated_namesakes_in_a_dated_table() -> None:
    """Where names mean animals of the table only by their years, one without a year is nobody's parent."""
    rows = [("k1", None, "Alder", None), ("k2", "1990", "Birch", None), ("k3", "2000", "Cedar", "Birch")]
    rows += [("k4", None, "Dogwood", "Birch"), ("k5", "2000", "Elm", "Alder")]
    columns = ("animal", "born", "name", "sire")
    frame = pl.DataFrame(rows, schema=columns, orient="row").with_columns(
        pl.lit(None, pl.String).alias("dam"), sex=pl.lit("male"), dam_sire=pl.lit(None, pl.String),
        line=pl.int_range(1, 6, dtype=pl.Int64),
    )  # fmt: skip
    for dated, sires in ((True, ("k2", "birch|sire", "alder|sire")), (False, ("k2", "k2", "k1"))):
        read = pedigree_of(Table(frame, by_name=True, dated=dated)).pedigree
        assert tuple(read.keys[read.graph.sire[read.places[key]]] for key in ("k3", "k4", "k5")) == sires
