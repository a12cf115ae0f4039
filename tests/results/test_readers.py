import csv
import gzip
import io
import json
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import openpyxl
import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from upsides.errors import FileUnreadableError
from upsides.results.delimited import NOT_CLOSED, NOT_UTF8, TOO_LONG, WRONG_COUNT
from upsides.results.readers import LINE, Fault, open_source, read_batches

CSV = "a,b,c\n1,x,2001-05-01\n2,,2001-05-02\n"
PACKED = gzip.compress(CSV.encode() * 500, mtime=0)
Write = Callable[..., Path]


def rows(path: Path, **options: object) -> tuple[list[tuple[object, ...]], list[Fault]]:
    batches = list(read_batches(open_source(path, **options)))  # type: ignore[arg-type]  # the test's own options
    frame = pl.concat([batch.frame for batch in batches])
    filled = frame.with_columns(pl.col(pl.String).replace("", None))
    return filled.rows(), [fault for batch in batches for fault in batch.faults]


EXPECTED = [("1", "x", "2001-05-01", 2), ("2", None, "2001-05-02", 3)]


def test_every_kind_of_table_reads_alike(table: Write, tmp_path: Path) -> None:
    """CSV, gzipped CSV, tabs, Parquet, XLSX and JSON lines with one content give the same cells and lines."""
    frame = pl.DataFrame({"a": [1, 2], "b": ["x", None], "c": [date(2001, 5, 1), date(2001, 5, 2)]})
    frame.write_parquet(tmp_path / "t.parquet")
    book = openpyxl.Workbook()
    for row in [("a", "b", "c"), *frame.rows()]:
        book.active.append(row)
    book.save(tmp_path / "t.xlsx")
    lines = [json.dumps(dict(zip("abc", row[:3], strict=True))) for row in EXPECTED]
    assert rows(table(CSV, "t.csv")) == (EXPECTED, [])
    assert rows(table(gzip.compress(CSV.encode()), "t.any")) == (EXPECTED, [])
    assert rows(table(CSV.replace(",", "\t"), "t.tsv")) == (EXPECTED, [])
    assert rows(tmp_path / "t.parquet") == (EXPECTED, [])
    assert rows(tmp_path / "t.xlsx") == (EXPECTED, [])
    # JSON lines have no header line, so their first row stands in line 1 of the file.
    numbered = [(*row[:3], i + 1) for i, row in enumerate(EXPECTED)]
    assert rows(table("\n".join(lines), "t.jsonl")) == (numbered, [])


def test_numbers_stay_the_text_that_was_printed(table: Write) -> None:
    """Nothing is guessed of a cell: leading noughts, long numbers and NA stay as they stand."""
    assert rows(table("a,b\n007,12345678901234567890\nNA,1e5\n"))[0] == [
        ("007", "12345678901234567890", 2),
        ("NA", "1e5", 3),
    ]


def test_quoted_cells_may_hold_delimiters_and_line_ends(table: Write) -> None:
    """A quoted cell is one cell, and the lines after it keep their true numbers."""
    got, faults = rows(table('a,b\n1,"x, y"\n2,"two\nlines"\n3,z\n'))
    assert got == [("1", "x, y", 2), ("2", "two\nlines", 3), ("3", "z", 5)]
    assert not faults


def test_line_ends_and_marks_of_any_system(table: Write) -> None:
    """A byte-order mark, carriage returns and blank lines do not change cells or line numbers."""
    assert rows(table(b"\xef\xbb\xbfa,b\r\n1,2\r\n\r\n3,4"))[0] == [("1", "2", 2), ("3", "4", 4)]
    assert rows(table(b"a,b\r1,2\r3,4\r"))[0] == [("1", "2", 2), ("3", "4", 3)]


def test_rows_of_the_wrong_width_are_refused_by_line(table: Write) -> None:
    """A row not as wide as the header is refused with its line and text; the others are read."""
    for quoted in ("x", '"x"'):
        got, faults = rows(table(f"a,b\n1,{quoted}\n2\n3,y,z\n4,w\n"))
        assert got == [("1", "x", 2), ("4", "w", 5)]
        assert [(f.line, f.value, f.reason, f.kept) for f in faults] == [
            (3, "2", WRONG_COUNT, False),
            (4, "3,y,z", WRONG_COUNT, False),
        ]


def test_a_quotation_mark_never_closed_costs_one_line(table: Write) -> None:
    """A stray quotation mark loses its own line, told as such, and no line after it."""
    got, faults = rows(table('a,b\n1,x\n2,"y\n3,z\n'))
    assert got == [("1", "x", 2), ("3", "z", 4)]
    assert [(f.line, f.reason) for f in faults] == [(3, NOT_CLOSED)]


def test_mixed_encodings_are_told_by_line(table: Write) -> None:
    """A line that is not UTF-8 among lines that are is read as Western European and noted."""
    got, faults = rows(table("a,b\n1,é\n".encode() + "2,è\n".encode("latin-1")))
    assert got == [("1", "é", 2), ("2", "è", 3)]
    assert [(f.line, f.reason, f.kept) for f in faults] == [(3, NOT_UTF8, True)]


def test_declared_encoding_is_used(table: Write) -> None:
    """A table declared to be Western European or Japanese is read so without a remark."""
    assert rows(table("a\nÉclat\n".encode("latin-1")), encoding="latin-1") == ([("Éclat", 2)], [])
    assert rows(table("馬名,b\n雪,1\n".encode("shift_jis")), encoding="shift_jis") == ([("雪", "1", 2)], [])


@pytest.mark.parametrize("blocks", [64, 8 * 1024 * 1024])
def test_a_line_above_the_limit_is_passed_over(table: Write, monkeypatch: pytest.MonkeyPatch, blocks: int) -> None:
    """A line longer than the limit is refused by its number without being held, whether or not it fits a
    block.
    """
    monkeypatch.setattr("upsides.results.blocks.read_blocks.__defaults__", (blocks, 100))
    path = table("a,b\n1,x\n2," + "y" * 5000 + "\n3,z\n")
    got, faults = rows(path, max_line=100)
    assert got == [("1", "x", 2), ("3", "z", 4)]
    assert [(f.line, f.reason) for f in faults] == [(3, TOO_LONG)]


def test_a_last_line_above_the_limit_is_refused(table: Write) -> None:
    """An endless last line without a line end is refused too."""
    got, faults = rows(table("a,b\n1,x\n2," + "y" * 300_000), max_line=100)
    assert got == [("1", "x", 2)]
    assert [f.line for f in faults] == [3]


def test_formula_in_a_sheet_is_never_worked_out(tmp_path: Path) -> None:
    """A spreadsheet formula comes as its text."""
    book = openpyxl.Workbook()
    book.active.append(["a", "b"])
    book.active.append([1, "=SUM(A1:A9)"])
    book.save(tmp_path / "t.xlsx")
    assert rows(tmp_path / "t.xlsx")[0] == [("1", "=SUM(A1:A9)", 2)]


def test_rows_of_a_sheet_keep_their_numbers(tmp_path: Path) -> None:
    """Empty rows of a sheet are skipped without shifting the numbers of those below; too wide ones are
    refused.
    """
    book = openpyxl.Workbook()
    for row in (["a", "b"], [1, 2], [], [3, 4], [5, 6, 7]):
        book.active.append(row)
    book.save(tmp_path / "t.xlsx")
    got, faults = rows(tmp_path / "t.xlsx")
    assert [row[-1] for row in got] == [2, 4]
    assert [fault.line for fault in faults] == [5]


def test_lines_that_are_no_objects_are_refused(table: Write) -> None:
    """In JSON lines a broken line is refused by its number; lists become cells with blanks."""
    got, faults = rows(table('{"a": [1, 2], "b": null}\n{"a": 3\n[1]\n{"b": "x"}\n'))
    assert got == [("1 2", None, 1), (None, "x", 4)]
    assert [fault.line for fault in faults] == [2, 3]


def test_a_key_that_comes_late_is_told(table: Write) -> None:
    """A key that only later lines have is not taken, and told once."""
    lines = [json.dumps({"a": i}) for i in range(2100)] + [json.dumps({"a": 1, "z": 2})] * 2
    got, faults = rows(table("\n".join(lines)))
    assert len(got) == 2102
    assert [(fault.line, fault.value, fault.kept) for fault in faults] == [(2101, "z", True)]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "it is empty"),
        (b"  \n", "it is empty"),
        ("a,b\n1,2\n".encode("utf-16"), "UTF-16"),
        (b"\x00\x01\x02abc", "not a text file"),
        (PACKED[:-20], "cut off"),
        (PACKED[:12], "cut off"),
        (PACKED[:30] + b"xxxxxxxxxxxxxxxxxx" + PACKED[40:], "damaged"),
        (b'[{"a": 1}]', "it is a JSON array; write one object a line"),
        (b"[\n  {\n", "it is a JSON array"),
        (b"PAR1 and no more", "damaged"),
        (b"PK\x03\x04 and no more", "not a workbook"),
    ],
)
def test_damage_is_told_plainly(table: Write, content: bytes, words: str) -> None:
    """A file that cannot be used as a whole is refused in plain words, with its name and a remedy."""
    path = table(content, "bad.csv")
    with pytest.raises(FileUnreadableError, match=words) as caught:
        rows(path)
    assert "bad.csv" in str(caught.value)
    assert caught.value.remedy


def test_wrong_delimiter_is_named(table: Write) -> None:
    """A delimiter that leaves the header in one piece is answered with the one that would cut it."""
    with pytest.raises(FileUnreadableError, match=r"looks semicolon-separated; set file.delimiter = ';'"):
        open_source(table("a;b;c\n1;2;3\n"), delimiter=",")


def test_header_below_other_lines(table: Write) -> None:
    """A header that stands lower is found where the shape says, and lines keep their numbers."""
    assert rows(table("made by hand\n\na,b\n1,2\n"), header_line=3)[0] == [("1", "2", 4)]


def test_columns_without_a_name_or_with_the_same(table: Write) -> None:
    """Blank and repeated names are made unique by their place."""
    assert open_source(table("a,,a\n1,2,3\n")).columns == ("a", "column2", "a#3")
    assert LINE not in open_source(table("a\n1\n")).columns


CELL = st.text(st.sampled_from('ab,"\n é'), max_size=5).filter(lambda text: text.strip(" ") == text)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(CELL, CELL, st.just("z")), max_size=12), st.integers(8, 60))
def test_any_table_reads_as_the_csv_module_reads_it(
    tmp_path_factory: pytest.TempPathFactory, table_rows: list[tuple[str, str, str]], size: int
) -> None:
    """Whatever is quoted and wherever blocks end, cells and line numbers are those of Python's csv module."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["one", "two", "three"])
    writer.writerows(table_rows)
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(out.getvalue().encode())
    reader = csv.reader(io.StringIO(out.getvalue(), newline="\n"))
    expected, line = [], 1
    for row in reader:
        expected.append((*[cell or None for cell in row], line))
        line = reader.line_num + 1
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("upsides.results.blocks.read_blocks.__defaults__", (size, 10_000))
        assert rows(path) == (expected[1:], [])


def test_typed_columns_of_parquet_become_text(tmp_path: Path) -> None:
    """Instants keep their offset, durations are seconds, bytes are read as UTF-8 with signs for what is not."""
    frame = pl.DataFrame(
        {
            "at": pl.Series([datetime(2001, 5, 1, 22, 30, tzinfo=UTC)]).dt.convert_time_zone("Europe/Paris"),
            "took": [timedelta(minutes=1, seconds=12.05)],
            "name": [b"Alder\xff"],
            "local": [datetime(2001, 5, 1)],  # noqa: DTZ001  # a time without a zone is what is tested
        }
    )
    frame.write_parquet(tmp_path / "t.parquet")
    # Paris is two hours ahead of UTC in May: half an hour past midnight of the next day.
    assert rows(tmp_path / "t.parquet")[0] == [("2001-05-02T00:30:00+02:00", "72.05", "Alder\ufffd", "2001-05-01", 2)]


def test_instants_at_a_bare_offset_keep_their_moment(tmp_path: Path) -> None:
    """Instants whose zone is a bare offset, as other programs write them, are read in UTC; arrays are lists."""
    zoned = pa.array([datetime(2001, 5, 1, 22, 30, tzinfo=UTC)], pa.timestamp("us", "+05:30"))
    pair = pa.array([[1, 2]], pa.list_(pa.int32(), 2))
    pq.write_table(pa.table({"at": zoned, "pair": pair}), tmp_path / "t.parquet")
    assert rows(tmp_path / "t.parquet")[0] == [("2001-05-01T22:30:00+00:00", "1 2", 2)]


@pytest.mark.parametrize(
    "odd",
    [
        pa.array([[{"b": 1}]]),
        pa.array([[("a", 1)]], pa.map_(pa.string(), pa.int32())),
        pa.array([Decimal("1.5")], pa.decimal256(60, 2)),
        pa.array([{"a": b"x"}]),
        pa.array([[[1]]]),
        pa.array([0], pa.timestamp("us", "Nowhere/Here")),
    ],
    ids=["records in lists", "maps", "wide decimals", "bytes in records", "lists of lists", "no zone"],
)
def test_a_column_of_no_known_kind_is_named(tmp_path: Path, odd: pa.Array) -> None:
    """A Parquet column that cannot become text is refused with its name, never with a traceback of a library."""
    pq.write_table(pa.table({"a": ["x"], "odd": odd}), tmp_path / "t.parquet")
    with pytest.raises(FileUnreadableError, match="the column 'odd' holds values of a kind that is not read"):
        rows(tmp_path / "t.parquet")


def test_a_folder_is_named_as_one(tmp_path: Path) -> None:
    """A folder in place of a file is told with its path and what to do."""
    with pytest.raises(FileUnreadableError, match="it is a folder; name the files in it") as caught:
        open_source(tmp_path)
    assert str(tmp_path) in str(caught.value)


def test_a_nul_byte_is_told_by_its_line(table: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    """A NUL byte is told by its line, in whatever block it stands."""
    monkeypatch.setattr("upsides.results.blocks.read_blocks.__defaults__", (8, 100))
    with pytest.raises(FileUnreadableError, match="line 4 holds a NUL byte"):
        rows(table(b"a,b\r\n1,2\r\n3,4\r\n5,\x00\r\n7,8\r\n"))


def test_a_small_cut_off_file_names_no_line(table: Write) -> None:
    """Where nothing was read before a gzip file breaks off, no line is named."""
    packed = gzip.compress(b"a,b\n" + bytes(range(48, 122)) * 60, mtime=0)
    with pytest.raises(FileUnreadableError, match="cut off") as caught:
        rows(table(packed[:-9]))
    assert "line" not in str(caught.value)
