"""Lists of sale lots by a shape: what is read, what is implied, and what is told instead of being guessed."""

import gzip
import os
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from sale_lists import HEAD, ONE, SHAPE, TWO
from upsides.errors import FileUnreadableError, SaleNamesError, SaleNotNamedError, ShapeError
from upsides.results import importing
from upsides.results.fields import LOT_FIELDS
from upsides.results.library import Library
from upsides.results.lot_rows import LOTS, NO_PARENTS, TOO_LONG
from upsides.results.lots import AGAIN, AGAIN_OTHERWISE, Listed, read_lots
from upsides.results.shape import read_shape

Write = Callable[..., Path]


@pytest.fixture
def lots(tmp_path: Path, table: Write) -> Callable[..., Listed]:
    """Return a function that reads rows below the usual header by the usual shape."""
    shape = tmp_path / "list.toml"

    def read(rows: str | bytes, text: str = SHAPE, **more: object) -> Listed:
        shape.write_text(text, encoding="utf-8")
        content = rows if isinstance(rows, bytes) else (HEAD + rows).encode()
        return read_lots(table(content, "list.csv"), shape, **more)

    return read


def told(listed: Listed) -> list[tuple[int, str, str, str]]:
    return listed.refused.select("line", "field", "reason", "fate").rows()


def test_a_list_is_read(lots: Callable[..., Listed]) -> None:
    """Every field comes out in one form: single blanks, countries in capitals, empty where nothing is printed."""
    found = lots(ONE + TWO)
    first, second = found.lots.to_dicts()
    assert first == {
        "sale": "Moor End", "year": 2025, "day": date(2025, 10, 7), "number": "1", "name": None, "sex": "colt",
        "foaled": 2024, "colour": "bay", "sire": "Quill (IRE)", "dam": "Sedge Warbler", "dam_sire": "Reed (GB)",
        "price": 12000.0, "currency": "GBP", "line": 2,
    }  # fmt: skip
    assert (second["number"], second["name"], second["price"], second["currency"]) == ("12A", "Alder (IRE)", None, None)
    assert found.lots.schema == LOTS
    assert (found.unread, found.refused.height) == (0, 0)


@pytest.mark.parametrize("name", ["", "unnamed", "UNNAMED", "Un-named (GB)", "unknown", "NA", "-", " "])
def test_no_name_is_no_name(lots: Callable[..., Listed], name: str) -> None:
    """What stands for a missing name gives none, for the horse and for its parents."""
    row = f"Moor End,07/10/2025,1,{name},c,,,,{name},{name},{name},\n"
    assert lots(row).lots.select("name", "sire", "dam", "dam_sire").row(0) == (None,) * 4


@pytest.mark.parametrize(
    ("printed", "number"), [("12A", "12A"), ("12a", "12A"), (" 12 A", "12A"), ("012", "12"), ("12.0", "12"), ("0", "0")]
)
def test_numbers_are_written_one_way(lots: Callable[..., Listed], printed: str, number: str) -> None:
    """A lot's number is text, and the same lot whichever way a list or a spreadsheet writes it."""
    assert lots(ONE.replace(",1,", f",{printed},", 1)).lots["number"][0] == number


@pytest.mark.parametrize(
    ("printed", "price"), [("12000", 12000.0), ('"12,000"', 12000.0), ('"1,250,000"', 1_250_000.0)]
)
def test_prices_are_read_with_their_commas(lots: Callable[..., Listed], printed: str, price: float) -> None:
    """A price is the number that is printed, with or without signs between its thousands."""
    assert lots(ONE.replace("12000", printed)).lots["price"][0] == price


def test_names_in_small_letters_get_their_capitals(lots: Callable[..., Listed]) -> None:
    """By `case = "title"` words begin with a capital, a possessive s does not, and the country is in capitals."""
    text = SHAPE.replace('dam = "Dam"', 'dam = { from = "Dam", case = "title" }')
    printed = {"sadler's bell (ire)": "Sadler's Bell (IRE)", "l'étoile": "L'Étoile", "the boys' own": "The Boys' Own"}
    for small, name in printed.items():
        assert lots(ONE.replace("Sedge  Warbler", small), text).lots["dam"].to_list() == [name]


def test_a_price_that_is_none_is_told(lots: Callable[..., Listed]) -> None:
    """A price of which the commas stand in no place of thousands is not made into a number."""
    found = lots(ONE.replace("12000", '"12,00"'))
    assert (found.lots["price"][0], found.lots["currency"][0]) == (None, None)
    assert told(found) == [(2, "price", "not a number", "field")]


@pytest.mark.parametrize(
    ("birthday", "day", "age", "foaled"),
    [
        ("01-01", "07/10/2025", "1", 2024),
        ("01-01", "07/10/2025", "0", 2025),
        ("08-01", "15/01/2026", "1", 2024),  # a southern yearling of January was foaled the spring before last
        ("08-01", "15/09/2026", "1", 2025),
        (None, "07/10/2025", "1", None),
        ("01-01", "07/10/2025", "", None),
    ],
)
def test_the_year_is_implied_or_left_empty(
    lots: Callable[..., Listed], birthday: str | None, day: str, age: str, foaled: int | None
) -> None:
    """An age at the sale tells the year of foaling by the birthday that the shape names, and nothing else does."""
    text = SHAPE.replace('birthday = "01-01"\n', f'birthday = "{birthday}"\n' if birthday else "")
    row = f"Moor End,{day},1,,c,,{age},,Quill,Marram,,\n"
    assert lots(row, text).lots["foaled"][0] == foaled


@pytest.mark.parametrize(("birthday", "foaled"), [("01-01", 2024), ("08-01", None)])
def test_a_year_alone_tells_the_age_only_by_new_year(
    lots: Callable[..., Listed], birthday: str, foaled: int | None
) -> None:
    """Where only the year of the sale is known, an age tells the year of foaling if all turn older on 1 January."""
    text = SHAPE.replace('birthday = "01-01"', f'birthday = "{birthday}"').replace(
        'day = { from = "Day", format = "%d/%m/%Y" }', 'year = "Day"'
    )
    assert lots("Moor End,2025,1,,c,,1,,Quill,Marram,,\n", text).lots["foaled"][0] == foaled


def test_an_impossible_year_is_emptied(lots: Callable[..., Listed]) -> None:
    """A horse foaled after its sale, or thirty-one years before, is told and its year is not taken."""
    found = lots(ONE.replace(",2024,", ",2026,") + ONE.replace(",1,", ",2,", 1).replace(",2024,", ",1994,"))
    assert found.lots["foaled"].to_list() == [None, None]
    assert [row[1:] for row in told(found)] == [("foaled", "outside what is possible", "field")] * 2


def test_lots_without_parents_are_kept(lots: Callable[..., Listed]) -> None:
    """A lot that lacks sire or dam or both is kept, with a remark."""
    rows = "".join(
        f"Moor End,07/10/2025,{i},,c,,,,{sire},{dam},,\n"
        for i, (sire, dam) in enumerate([("", ""), ("", "M"), ("Q", "")])
    )
    found = lots(rows)
    assert found.lots.height == 3
    assert [row[2:] for row in told(found)] == [
        (NO_PARENTS, "noted"), ("no sire is named", "noted"), ("no dam is named", "noted"),
    ]  # fmt: skip


def test_a_lot_counts_once(lots: Callable[..., Listed]) -> None:
    """A lot on two lines is taken from the first; whether the other says the same is told."""
    found = lots(
        ONE + ONE + ONE.replace("12000", "13000") + ONE.replace("Moor End", "MOOR END").replace(",1,", ",01,", 1)
    )
    assert found.lots["price"].to_list() == [12000.0]
    assert told(found) == [
        (3, "number", AGAIN, "row"), (4, "number", AGAIN_OTHERWISE, "row"), (5, "number", AGAIN, "row"),
    ]  # fmt: skip
    assert found.unread == 0


@pytest.mark.parametrize(
    ("row", "field", "reason"),
    [
        (ONE.replace(",1,", ",,", 1), "number", "number is missing"),
        (ONE.replace("Moor End", ""), "sale", "sale is missing"),
        (ONE.replace("07/10/2025", ""), "year", "year is missing"),
        (ONE.replace("07/10/2025", "7 Oct"), "day", "not a date"),
        (ONE.replace("\n", ",more,cells\n"), "", "not as many cells as the header has columns"),
        ("Moor End,07/10/2025,1\n", "", "not as many cells as the header has columns"),
        (ONE.replace(",1,", ",=A1,", 1), "number", "a spreadsheet formula, not a value"),
        (ONE.replace(",1,", f",{'9' * 21},", 1), "number", TOO_LONG),
    ],
)
def test_a_row_that_names_no_lot_is_left_out(lots: Callable[..., Listed], row: str, field: str, reason: str) -> None:
    """What cannot be told apart from others is left out with its line, and counted as not read."""
    found = lots(row + TWO)
    assert found.lots["number"].to_list() == ["12A"]
    assert (2, field, reason) in {(line, name, why) for line, name, why, _ in told(found)}
    assert {fate for line, _, _, fate in told(found) if line == 2} == {"row"}
    assert found.unread == 1


def test_cells_that_cannot_be_are_emptied(lots: Callable[..., Listed]) -> None:
    """A cell that is no sex, no number or no name is told with its line, and the rest of the row is taken."""
    found = lots(f"Moor End,07/10/2025,1,{'x' * 101},q,20x4,,,Quill,Marram,,-5\n")
    assert found.lots.select("name", "sex", "foaled", "price").row(0) == (None,) * 4
    assert sorted(row[1] for row in told(found)) == ["foaled", "name", "price", "sex"]
    assert {row[3] for row in told(found)} == {"field"}


def test_another_encoding_is_told(lots: Callable[..., Listed]) -> None:
    """A line that is not UTF-8 is read as Western European, and said so."""
    found = lots((HEAD + ONE.replace("Sedge  Warbler", "Étoile")).encode("latin-1"))
    assert found.lots["dam"].to_list() == ["Étoile"]
    assert [(line, fate) for line, _, _, fate in told(found)] == [(2, "noted")]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "it is empty"),
        (HEAD.encode(), "there is no lot in it"),
        (b"a,b\n1,2\n", "no table of shape"),
        (gzip.compress((HEAD + ONE * 3000).encode(), mtime=0)[:-20], "cut off"),
        (b"Lot,Sire,Dam\n1,Quill,Marram\n", "lacks the column"),
    ],
)
def test_a_file_that_is_no_list_is_refused(lots: Callable[..., Listed], content: bytes, reason: str) -> None:
    """An empty, cut off or foreign file is refused as a whole, in words."""
    with pytest.raises(FileUnreadableError, match=reason):
        lots(content)


def test_too_many_lots_are_refused(lots: Callable[..., Listed]) -> None:
    """A file beyond what is read at once is refused before anything of it is taken."""
    with pytest.raises(FileUnreadableError, match="more than 1 lots"):
        lots(ONE + TWO, most=1)


def test_rows_left_out_on_purpose_are_read(lots: Callable[..., Listed]) -> None:
    """What a shape leaves out is told as such, and does not count as not read."""
    text = SHAPE.replace(
        "[table.lot]", '[[table.leave_out]]\ncolumn = "Name"\nmatches = "Alder"\nreason = "named"\n[table.lot]'
    )
    found = lots(ONE + TWO, text)
    assert (found.lots.height, found.unread) == (1, 0)
    assert [(line, reason, fate) for line, _, reason, fate in told(found)] == [
        (3, "left out by the shape: named", "row")
    ]


def test_a_sale_is_named_by_the_list_or_by_hand(lots: Callable[..., Listed]) -> None:
    """A list that does not name its sale asks for the name; one name is not given to several sales of a year."""
    unnamed = SHAPE.replace('sale = "Sale"\n', "")
    with pytest.raises(SaleNotNamedError, match="--sale"):
        lots(ONE, unnamed)
    assert lots(ONE, unnamed, sale=" Moor   End ").lots["sale"].to_list() == ["Moor End"]
    assert lots(ONE + TWO, sale="Autumn").lots["sale"].to_list() == ["Autumn", "Autumn"]
    with pytest.raises(SaleNamesError, match="'Moor End', 'Other'"):
        lots(ONE + TWO.replace("Moor End", "Other"), sale="Autumn")


def test_shapes_of_lots_are_checked() -> None:
    """A table of lots says how lots are told apart, and holds no races."""
    with pytest.raises(ShapeError, match="number, and day or year, are needed"):
        read_shape(SHAPE.replace('number = "Lot"\n', ""), "x")
    with pytest.raises(ShapeError, match="a list of lots has no races"):
        read_shape(SHAPE + '[table.run]\nhorse_name = "Name"\n', "x")
    with pytest.raises(ShapeError, match=r"buyer.*not known"):
        read_shape(SHAPE + 'buyer = "Name"\n', "x")


def test_the_documented_shape_is_accepted() -> None:
    """The example in docs/sales.md passes, and the page names every field of a lot."""
    page = (Path(__file__).parents[2] / "docs" / "sales.md").read_text(encoding="utf-8")
    example = re.search(r"```toml\n(.*?)```", page, re.DOTALL)
    assert example is not None
    assert read_shape(example[1], "docs/sales.md").tables[0].lot
    fields = page.partition("### The fields")[2].partition("There is no field")[0]
    assert set(re.findall(r"`(\w+)`", fields)) - {"birthday"} == LOT_FIELDS.keys()


def test_lists_and_results_are_not_mixed_up(tmp_path: Path, table: Write, pair: list[Path], shape: Path) -> None:
    """A list of lots is not imported as results, nor results as a list, and each is told where it belongs."""
    lists = tmp_path / "list.toml"
    lists.write_text(SHAPE, encoding="utf-8")
    library = Library.create(tmp_path / "library")
    with pytest.raises(FileUnreadableError, match="upsides sale add"):
        importing.add(library, [table(HEAD + ONE, "list.csv")], lists)
    with pytest.raises(FileUnreadableError, match="upsides results add"):
        read_lots(pair[1], shape)
    assert library.races().collect().is_empty()


def test_progress_is_told(lots: Callable[..., Listed]) -> None:
    """Whoever waits is told the share read, which ends at the whole."""
    seen: list[float] = []
    lots(ONE + TWO, progress=lambda share, _: seen.append(share))
    assert seen[-1] == 1.0


@pytest.fixture(scope="module")
def real() -> Path:
    folder = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "pedigree"
    if not folder.is_dir():
        pytest.skip("the shared data is not here: set UPSIDES_SHARED to its folder")
    return folder / "tattersalls_lots_2010_2014.csv.gz"


def test_the_real_lists(real: Path) -> None:
    """36 464 lots of 62 sales, as the table's own description counts them; half without a name, none left out."""
    found = read_lots(real, "lots")
    assert (found.lots.height, found.unread) == (36_464, 0)
    assert found.lots.select("sale", "year").n_unique() == 62
    raw = pl.read_csv(real, infer_schema=False)
    nameless = raw["horse"].is_null().sum() + (raw["horse"] == "unnamed").sum()
    assert found.lots["name"].null_count() == nameless == 18_912
    assert found.lots["price"].null_count() == raw["price"].null_count() == 7_933
    assert found.lots["price"].sum() == raw["price"].cast(pl.Float64).sum()
    assert dict(found.lots["sex"].value_counts().iter_rows()) == {
        "colt": 14_165, "filly": 12_826, "gelding": 4_688, "mare": 4_513, "horse": 134, None: 138,
    }  # fmt: skip
    assert [row[2:] for row in found.refused.group_by("line", "field", "reason", "fate").agg().rows()] == [
        (NO_PARENTS, "noted")
    ] * raw.filter(pl.col("sire").is_null() & pl.col("dam").is_null()).height
    assert not found.lots["dam"].str.contains("(?i)late.?.?entry").any()
    assert not found.lots["sire"].str.contains(r"'S\b").any()


def test_the_real_lists_tell_ages_only_where_they_say_so(real: Path) -> None:
    """Foals are of the year of their sale, yearlings of the year before; of horses in training no year is known."""
    found = read_lots(real, "lots").lots.with_columns(age=pl.col("year") - pl.col("foaled"))
    ages = found.group_by("sale").agg(pl.col("age").unique(), pl.col("name").count())
    by_sale = {row["sale"]: row["age"] for row in ages.to_dicts()}
    assert by_sale["December foals"] == [0]
    assert by_sale["October yearlings, book 1"] == by_sale["December yearlings"] == [1]
    assert by_sale["December mares"] == by_sale["Autumn horses in training"] == by_sale["February"] == [None]
