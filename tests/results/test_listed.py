"""Tables of horses: parents, for horses that have run and for those that have not."""

import json
from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest
from deltalake import write_deltalake

from upsides.errors import FileUnreadableError, LibraryNewerError, ShapeError
from upsides.pedigree import about, pedigree_of, table_of
from upsides.results import importing, tables
from upsides.results.identity import find
from upsides.results.library import Library
from upsides.results.shape import load_shape

Write = Callable[..., Path]
HORSES_TABLE = """
[[table]]
name = "horses"
has = ["number", "father", "mother"]

[[table.leave_out]]
column = "horse"
matches = "^TEST"
reason = "no horse"

[table.horse]
horse_id = "number"
horse_name = "horse"
foaled = "born"
sire = "father"
dam = "mother"
dam_sire = "mothers_father"

[table.horse.sex]
from = "sex"
codes = { Gelding = "male", Horse = "male", Mare = "female" }
"""
HEAD = "number,horse,born,sex,father,mother,mothers_father,rating\n"
REGISTER = (
    HEAD
    + """11,Alder (IRE),1998,Gelding,Oak,Maple,Elm,80
12,Birch,1998,Mare,Oak,Willow,Elm,70
13,Cedar,,,Oak,Maple,Elm,60
21,Fir,1999,Horse,Oak,Maple,Elm,
22,Gorse,,,,,,
"""
)


@pytest.fixture
def shape(shape: Path) -> Path:
    """Return a shape that knows a table of horses besides."""
    shape.write_text(shape.read_text(encoding="utf-8") + HORSES_TABLE, encoding="utf-8")
    return shape


@pytest.fixture
def register(table: Write) -> Path:
    """Return a table of five horses, three of which run in `pair`."""
    return table(REGISTER, "horses.csv")


def rows(library: Library) -> dict[str, dict[str, object]]:
    """Return the library's horses by number."""
    return {str(row["source_horse"]).removeprefix("home:"): row for row in library.horses().collect().to_dicts()}


def told(done: importing.Imported) -> list[tuple[int, str, str]]:
    """Return what was refused as line, field and reason."""
    return [
        row[1:] for row in done.refused.sort("file", "line", "field").select("file", "line", "field", "reason").rows()
    ]


def test_parents_join_the_horses_that_ran(library: Library, shape: Path, pair: list[Path], register: Path) -> None:
    """In one step with races and runs, every row becomes a horse: those that ran get parents, the others are kept."""
    done = importing.add(library, [register, *pair], shape)
    assert (done.races, done.runs, done.horses, done.horses_changed, done.horses_raced) == (2, 6, 5, 5, 3)
    assert (done.refused_rows, done.unused["horses.csv"]) == (0, {"rating": ""})
    found = rows(library)
    assert set(found) == {"11", "12", "13", "14", "21", "22"}
    alder, dogwood, fir, gorse = (found[number] for number in ("11", "14", "21", "22"))
    assert (alder["sire"], alder["dam"], alder["dam_sire"], alder["runs"]) == ("Oak", "Maple", "Elm", 2)
    assert (alder["name"], alder["suffix"], alder["sex"], alder["listed_in"]) == ("Alder", "IRE", "male", "horses.csv")
    assert (dogwood["sire"], dogwood["listed_in"], dogwood["runs"]) == (None, None, 1)
    assert (fir["runs"], fir["first_run"], fir["sire"], fir["foaled"]) == (0, None, "Oak", 1999)
    assert (gorse["name"], gorse["sire"], gorse["sex"]) == ("Gorse", None, None)


def test_the_steps_may_come_in_any_order(
    library: Library, shape: Path, pair: list[Path], register: Path, tmp_path: Path
) -> None:
    """Horses before their runs, after them or with them give the same library."""
    importing.add(library, [*pair, register], shape)
    whole = library.horses().sort("source_horse").collect()
    for number, steps in enumerate(([pair, [register]], [[register], pair], [pair[:1], [register], pair[1:]])):
        other = Library.create(tmp_path / str(number))
        for files in steps:
            importing.add(other, files, shape)
        assert other.horses().sort("source_horse").collect().equals(whole)


def test_the_same_horses_again_change_nothing(library: Library, shape: Path, pair: list[Path], register: Path) -> None:
    """The same table alone, twice or after it came with the races, leaves every table at its version."""
    importing.add(library, [*pair, register], shape)
    pins = dict(library.pins)
    for _ in range(2):
        again = importing.add(library, [register], shape)
        assert (again.races, again.horses, again.horses_changed, again.horses_raced) == (0, 5, 0, 3)
    importing.add(library, pair, shape)
    assert library.pins == pins


def test_a_corrected_row_replaces_what_the_table_said(
    library: Library, shape: Path, pair: list[Path], register: Path
) -> None:
    """A corrected table changes just the horses whose rows changed; what it no longer says is gone."""
    importing.add(library, [*pair, register], shape)
    register.write_text(REGISTER.replace("12,Birch,1998,Mare,Oak,Willow,Elm", "12,Birch,1998,Mare,Yew,,"))
    done = importing.add(library, [register], shape)
    assert (done.horses_changed, done.new, done.replaced) == (1, 0, 0)
    birch = rows(library)["12"]
    assert (birch["sire"], birch["dam"], birch["dam_sire"], birch["runs"]) == ("Yew", None, None, 2)


def test_parents_stay_when_runs_change(library: Library, shape: Path, pair: list[Path], register: Path) -> None:
    """Runs that are corrected or taken away leave a listed horse's parents; a horse with neither is dropped."""
    importing.add(library, [*pair, register], shape)
    lines = pair[1].read_text().splitlines()
    pair[1].write_text("\n".join([*(line for line in lines if ",13," not in line and ",14," not in line), ""]))
    importing.add(library, pair, shape)
    found = rows(library)
    assert (found["13"]["runs"], found["13"]["first_run"], found["13"]["sire"], found["13"]["name"]) == (
        0,
        None,
        "Oak",
        "Cedar",
    )
    assert "14" not in found


def test_what_runs_say_goes_before_the_table(library: Library, shape: Path, pair: list[Path], register: Path) -> None:
    """Name and year come from the runs where they say them; a run of another name is remarked on with its line."""
    register.write_text(REGISTER.replace("13,Cedar,,", "13,Larch,1990,"))
    done = importing.add(library, [*pair, register], shape)
    cedar = rows(library)["13"]
    assert (cedar["name"], cedar["foaled"], cedar["sire"]) == ("Cedar", 1997, "Oak")
    assert told(done) == [(4, "horse_name", "its runs here name it otherwise: kept, as its number tells who it is")]
    assert done.refused["fate"].to_list() == ["noted"]


def test_rows_left_out_are_told(library: Library, shape: Path, pair: list[Path], register: Path) -> None:
    """Rows without a horse, rows of one horse that agree or disagree, and bad cells are told by line and reason."""
    register.write_text(
        HEAD + "11,Alder,1998,Gelding,Oak,Maple,Elm,\n"
        "11,Alder,1998,Gelding,Oak,Maple,Elm,90\n"
        "11,Alder,1998,Gelding,Yew,Maple,Elm,\n"
        ",,1998,Mare,Oak,Maple,Elm,\n"
        "31,TESTING,1998,Mare,Oak,Maple,Elm,\n"
        "32,Hazel,soon,Brown,Oak,Maple,=A1,\n"
        "33,Holly,1998,Mare,Oak\n"
    )  # fmt: skip
    done = importing.add(library, [*pair, register], shape)
    assert (done.horses, done.refused_rows) == (2, 5)
    assert told(done) == [
        (3, "horse_id", "the horse stands here twice: the first row is kept"),
        (4, "horse_id", "rows of one horse disagree: the first row is kept"),
        (5, "horse_name", "no horse is named"),
        (6, "", "left out by the shape: no horse"),
        (7, "dam_sire", "a spreadsheet formula, not a value"),
        (7, "foaled", "not a number"),
        (7, "sex", "not one of the words this field may hold"),
        (8, "", "not as many cells as the header has columns"),
    ]
    assert rows(library)["11"]["sire"] == "Oak"
    assert library.refused().filter(fate="row").collect().height == 5


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (HEAD.replace("number", "brand").encode(), "are no table of shape"),
        (HEAD.replace("mothers_father", "damsire").encode(), "lacks the column mothers_father"),
        (b"\x1f\x8b\x08\x00cut off", "fetch"),
    ],
)
def test_a_table_that_cannot_be_used_is_refused_whole(
    library: Library, shape: Path, pair: list[Path], table: Write, content: bytes, words: str
) -> None:
    """A file that is empty, cut off or lacks a column is refused, and nothing of the import is taken."""
    with pytest.raises(FileUnreadableError, match=words):
        importing.add(library, [*pair, table(content, "horses.csv")], shape)
    assert library.races().collect().is_empty()
    assert library.horses().collect().is_empty()


def test_a_table_without_rows_adds_nothing(library: Library, shape: Path, table: Write) -> None:
    """A header alone is a table of no horses."""
    done = importing.add(library, [table(HEAD, "horses.csv")], shape)
    assert (done.horses, done.horses_changed, done.horses_raced, done.refused_rows) == (0, 0, 0, 0)
    assert library.horses().collect().is_empty()


def test_horses_without_numbers_are_told_by_name(library: Library, shape: Path, table: Write) -> None:
    """Where neither races nor horses are numbered, name and year join them as they join runs."""
    text = shape.read_text(encoding="utf-8").replace('horse_id = "number"', "")
    shape.write_text(text.replace('age = "age"', 'foaled = "born"').replace('sex = "sex"', ""), encoding="utf-8")
    runs = table("race,horse,born,place,behind,weight,draw,time\n1,Alder (IRE),1998,1,-,9-7,1,1.12.00\n")
    races = table("race,day,course,metres,going\n1,2001-05-01,Moor Top,1200,GOOD\n", "races.csv")
    done = importing.add(library, [races, runs, table(REGISTER, "horses.csv")], shape)
    assert done.horses_raced == 1
    assert rows(library)["alder (ire) 1998"]["dam"] == "Maple"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (('horse_id = "number"\nhorse_name = "horse"\nfoaled', "foaled"), "horse_id or horse_name is needed"),
        (('dam_sire = "mothers_father"', 'rating = "rating"'), "not known"),
        (("[table.horse.sex]", '[table.run]\nhorse_id = "number"\n[table.horse.sex]'), "no races, runs or lots"),
    ],
)
def test_shapes_that_cannot_be_used(shape: Path, change: tuple[str, str], reason: str) -> None:
    """A table of horses must say who a row is about, takes no field that is written over, and holds nothing else."""
    text = shape.read_text(encoding="utf-8")
    assert change[0] in text
    shape.write_text(text.replace(*change), encoding="utf-8")
    with pytest.raises(ShapeError, match=reason):
        load_shape(shape)


def test_the_summary_tells_those_that_ran_from_those_that_did_not(
    library: Library, shape: Path, pair: list[Path], register: Path
) -> None:
    """Horses without a run are counted for themselves, also where a source has no races at all."""
    importing.add(library, [register], shape)
    (alone,) = library.summary()
    assert (alone.races, alone.horses, alone.unraced, alone.first) == (0, 0, 5, None)
    importing.add(library, pair, shape)
    (one,) = library.summary()
    assert (one.horses, one.unraced) == (4, 2)


def test_a_name_means_the_horse_that_ran(library: Library, shape: Path, pair: list[Path], register: Path) -> None:
    """A horse that has run is found by its name although one that has not bears it too; the other by its number."""
    register.write_text(REGISTER.replace("21,Fir", "21,Cedar"))
    importing.add(library, [*pair, register], shape)
    assert find(library, "cedar").key == "home:13"
    assert (find(library, "21").key, find(library, "21").runs, find(library, "Gorse").key) == ("home:21", 0, "home:22")


def test_the_pedigree_knows_them(library: Library, shape: Path, pair: list[Path], register: Path) -> None:
    """Brothers and sisters that never ran stand in the family, and a dam's sire is known through her foals."""
    importing.add(library, [*pair, register], shape)
    pedigree = pedigree_of(table_of(library)).pedigree
    told = about(pedigree, pedigree.place("home:11"))
    dam = pedigree.graph.dam[told.animal]
    assert (pedigree.printed[dam], pedigree.printed[pedigree.graph.sire[dam]]) == ("Maple", "Elm")
    assert about(pedigree, dam).progeny == 3
    assert about(pedigree, pedigree.place("Oak")).progeny == 4
    assert told.completeness.tolist()[:3] == [1.0, 0.25, 0.0]


def test_frames_bring_horses_too(library: Library) -> None:
    """Horses in the schema's columns come with races and runs, and again they change nothing."""
    races = pl.DataFrame({"race_id": ["1"]}).with_columns(date=pl.date(2020, 1, 1))
    runs = pl.DataFrame({"race_key": ["here:1"], "source_horse": ["here:a"], "horse_name": ["Alder"]})
    horses = pl.DataFrame({"source_horse": ["here:a", "here:b"], "name": ["Alder", "Oak"], "sire": ["Oak", None]})
    for changed in (2, 0):
        done = importing.add_frames(library, races, runs, "here", horses)
        assert (done.horses, done.horses_changed, done.horses_raced) == (2, changed, 1)
    assert library.horses().sort("name").collect()["sire"].to_list() == ["Oak", None]


def test_a_library_of_the_first_format_comes_forward(
    library: Library, shape: Path, pair: list[Path], register: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tables written without the newer columns are read as they stand, and take horses; an older program is told."""
    importing.add(library, pair, shape)
    before = library.horses().sort("source_horse").collect()
    for name, newer in (("horses", ["dam_sire", "listed_in"]), ("files", ["horses"])):
        frame = library.table(name).drop(newer).collect()
        place = tables.table_path(library.folder, name)
        partition = tables.PARTITIONS.get(name)
        write_deltalake(place, frame, mode="overwrite", schema_mode="overwrite", partition_by=partition)
    pins = {"format_version": 1, "tables": tables.versions(library.folder)}
    (library.folder / tables.PIN_FILE).write_text(json.dumps(pins))
    library.refresh()
    assert library.horses().sort("source_horse").collect().equals(before)
    assert importing.add(library, pair, shape).unchanged == 2
    assert importing.add(library, [register], shape).horses_raced == 3
    assert rows(library)["11"]["dam_sire"] == "Elm"
    monkeypatch.setattr(tables, "FORMAT_VERSION", 1)
    with pytest.raises(LibraryNewerError, match="format 2"):
        Library.open(library.folder)
