"""The yard's own tables: read, and every row looked at."""

import os
from datetime import date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

import worlds
from given_tables import LONDON, Give, days_ago, faults, masses, sheet, standing, taken
from upsides.books.intake import files
from upsides.books.intake.checking import check
from upsides.books.intake.days import DAY_FIRST, MONTH_FIRST, day_and_time, moment, order_of, time_of
from upsides.books.intake.specs import SPECS
from upsides.books.models import Entry, Horse, Intake, Person, Yard
from upsides.errors import (
    CellRefusedError,
    TableGoneError,
    TableUnreadableError,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("text", "day", "at"),
    [
        ("2026-03-04", date(2026, 3, 4), None),
        ("4/3/2026", date(2026, 3, 4), None),
        ("04.03.26", date(2026, 3, 4), None),
        ("4 Mar 2026", date(2026, 3, 4), None),
        ("Wed 4th March 2026", date(2026, 3, 4), None),
        ("March 4, 2026", date(2026, 3, 4), None),
        ("20260304", date(2026, 3, 4), None),
        ("46085", date(2026, 3, 4), None),
        ("46085.3125", date(2026, 3, 4), time(7, 30)),
        ("46085,75", date(2026, 3, 4), time(18)),
        ("4/3/2026 7:30 pm", date(2026, 3, 4), time(19, 30)),
        ("2026-03-04 07:30:15", date(2026, 3, 4), time(7, 30, 15)),
        ("4/3/98", date(1998, 3, 4), None),
    ],
)
def test_days_are_read_as_spreadsheets_write_them(text: str, day: date, at: time | None) -> None:
    """A day is read day first, by its month's name, as ISO and as spreadsheets count: 46,085 days from 1899-12-30."""
    assert day_and_time(text, DAY_FIRST, "Date")[:2] == (day, at)


@pytest.mark.parametrize("text", ["31/02/2026", "13/13/2026", "yesterday", "4/3", "123456", "2026-03-04 25:00", "=A1"])
def test_what_is_no_day_is_refused(text: str) -> None:
    """What no calendar has is refused with its column."""
    with pytest.raises(CellRefusedError, match="Date"):
        day_and_time(text, DAY_FIRST, "Date")


def test_month_first_only_where_nothing_else_can_be() -> None:
    """A column of which no value can have its day first is read month first; a doubtful one day first."""
    assert order_of(["3/4/2026", "5/6/2026"]) == DAY_FIRST
    assert order_of(["3/4/2026", "12/31/2026"]) == MONTH_FIRST
    assert order_of(["13/4/2026", "12/31/2026"]) == DAY_FIRST
    assert day_and_time("3/4/2026", MONTH_FIRST, "Date")[0] == date(2026, 3, 4)


def test_times_are_of_the_yards_own_zone() -> None:
    """07:30 in a table is 06:30 UTC in a British summer; a time that the clocks skip is refused."""
    at = moment(date(2026, 6, 1), time_of("7.30", "Time"), LONDON, "Time")
    assert at.astimezone(ZoneInfo("UTC")).time() == time(6, 30)
    with pytest.raises(CellRefusedError, match="put forward"):
        moment(date(2026, 3, 29), time(1, 30), LONDON, "Time")
    assert [time_of(text, "Time") for text in ("0730", "0.3125", "7:30 AM")] == [time(7, 30)] * 3
    with pytest.raises(CellRefusedError, match="no time of day"):
        time_of("25:00", "Time")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_any_encoding_and_separator(give: Give, names: list[str], encoding: str, sign: str) -> None:
    """The same table in any encoding, with any usual separator and line end, is read the same."""
    horse = Horse.objects.get(name=names[0])
    horse.name = "Forêt Élan"
    horse.save()
    rows = ["Horse,Date,Weight (kg)", f"Forêt Élan,{days_ago(1)},486.5", f"{names[1]},{days_ago(1)},501"]
    text = "\r\n".join(rows).replace(",", sign) + "\r\n"
    counts = check(give(text.encode(encoding)), give(text.encode(encoding)).proposed)
    assert (counts.taken, counts.refused) == (2, 0)
    assert counts.first[0][1].startswith("Forêt Élan, ")
    assert "486.5 kg" in counts.first[0][1]


def test_decimal_commas_and_units(give: Give, names: list[str], trainer: Person) -> None:
    """A decimal comma is one, and a bare number has the unit of its heading although another would do as well."""
    said = ("486,5", "700", "1071 lb", "320 kg")
    rows = [f"{name};{days_ago(1)};{mass}" for name, mass in zip(names[:4], said, strict=True)]
    taken(give("Horse;Date;Weight (lb)\n" + "\n".join(rows)), trainer)
    kept = [entry.values["kg"] for entry in standing("mass")]
    assert kept == [pytest.approx(pounds * 0.45359237, abs=0.005) for pounds in (486.5, 700, 1071)] + [320]


def test_headings_are_found_below_a_title(give: Give, names: list[str]) -> None:
    """A title, empty rows and remarks above the headings are passed over, and lines keep their numbers."""
    text = f"Weights, spring, of the whole yard;;\n;;\n\nremark;;\nHorse;Weighed on;Mass\n{names[0]};{days_ago(2)};12\n"
    one = give(text)
    assert one.table.source.layout.header_line == 5
    assert faults(one) == [(6, "Mass", "it can be 100 to 800 kg or 220 to 1764 lb")]


def test_a_workbook_is_read_as_people_see_it(give: Give, names: list[str], trainer: Person) -> None:
    """Of a workbook the first sheet that holds something is read: dates, times, serial numbers, whole numbers."""
    day = days_ago(3)
    serial = (day - date(1899, 12, 30)).days
    rows = [
        ["Weights"],
        [],
        ["Horse", "Date", "Mass", "Chip"],
        [names[0], datetime.combine(day, time(7, 15)), 486.5, None],
        [names[1], day, 501, 985100012345678.0],
        [names[2], serial, "477,5", None],
    ]
    one = give(sheet(rows), name="weights.xlsx")
    Horse.objects.filter(name=names[1]).update(microchip="985100012345678")
    taken(one, trainer)
    found = {entry.horse.name: (entry.values["kg"], entry.happened_at.astimezone(LONDON)) for entry in standing("mass")}
    noon = datetime.combine(day, time(12), LONDON)
    assert found == {
        names[0]: (486.5, datetime.combine(day, time(7, 15), LONDON)),
        names[1]: (501, noon),
        names[2]: (477.5, noon),
    }


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf\n\n \n", "empty"),
        (b"a,b\n1,2\n", "no row of headings"),
        (b"Horse,Date,Mass\n", "no row with as many cells"),
        (b"Horse,Date\n\x00\x01\x02,1\n", "NUL"),
        (b"PK\x03\x04 and nothing more", "no workbook"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "NUL|no row of headings"),
    ],
)
def test_what_is_no_table_is_refused(give: Give, content: bytes, reason: str) -> None:
    """An empty file, one without headings or rows, and one that is no text are refused in words."""
    with pytest.raises(TableUnreadableError, match=reason):
        give(content)


def test_a_file_too_large_is_refused(give: Give, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file above the limit of bytes or of rows is refused, with the limit."""
    monkeypatch.setattr(files, "MOST_ROWS", 3)
    with pytest.raises(TableUnreadableError, match="3 is the most"):
        give("Horse,Date,Mass\n" + "x,1,1\n" * 3)
    monkeypatch.setattr(files, "MOST_BYTES", 10)
    with pytest.raises(TableUnreadableError, match="0 MB is the most"):
        give("Horse,Date,Mass\n")


def test_a_kept_file_goes_after_a_week(give: Give, loaded: worlds.Yard) -> None:
    """What nobody looked at for a week is dropped when the next file comes; asking for it is refused."""
    first = give("Horse,Date,Mass\nx,1,1\n").kept.sha256
    folder = loaded.library / files.FOLDER
    for path in folder.iterdir():
        os.utime(path, (1, 1))
    give("Horse,Date,Mass\ny,1,1\n")
    with pytest.raises(TableGoneError):
        files.kept(first, loaded.library)
    for wrong in ("../secret", "", "0" * 64):
        with pytest.raises(TableGoneError):
            files.kept(wrong, loaded.library)


def test_every_fault_of_a_row_is_told(give: Give, names: list[str]) -> None:
    """Line, column and reason are told of each wrong cell, all of a row, and nothing is written."""
    tomorrow = days_ago(-1)
    text = (
        "Horse,Date,Weight (kg),Water\n"
        f"Nobody At All,{days_ago(1)},12,between\n"
        f"{names[0]},31/02/2026,486,\n"
        f"{names[0]},{tomorrow},486,before\n"
        f"{names[0]},{days_ago(1)}\n"
        f",{days_ago(1)},480,\n"
        f"{names[0]},,480,\n"
        f"{names[0]},1950-01-01,480,\n"
    )
    assert faults(give(text)) == [
        (2, "Horse", "the books have no horse of that name"),
        (2, "Weight (kg)", "it can be 100 to 800 kg or 220 to 1764 lb"),
        (2, "Water", "it is none of before, after"),
        (3, "Date", "it is no day"),
        (4, "Date", "that day has not come yet"),
        (5, "row", "not as many cells as the header has columns"),
        (6, "Horse", "no horse is named"),
        (7, "Date", "no day is written"),
        (8, "Date", f"{names[0]} was foaled in {Horse.objects.get(name=names[0]).foaled}"),
    ]
    assert not Intake.objects.exists()
    assert not Entry.objects.exists()


def test_horses_called_alike_are_told_apart(give: Give, names: list[str]) -> None:
    """Two horses of one name are an error until year, dam or microchip says which; a wrong year is one too."""
    first = Horse.objects.get(name=names[0])
    Horse.objects.create(
        horse_key="x:twin", name=names[0], foaled=first.foaled - 1, sex="mare", dam="Another", joined=date(2026, 1, 1),
        microchip="985100012345678",
    )  # fmt: skip
    day = days_ago(1)
    one = give(
        "Horse,Foaled,Dam,Microchip,Date,Mass\n"
        f"{names[0]},,,,{day},480\n{names[0]},{first.foaled},,,{day},481\n{names[0]},,Another,,{day},482\n"
        f",,,985 100 012 345 678,{day},483\n{names[0]},1999,,,{day},484\n{names[1]},,,985100012345678,{day},485\n"
    )
    assert [(line, reason.partition(":")[0]) for line, _, reason in faults(one)] == [
        (2, "2 horses can be meant"),
        (6, "year or dam are not those of the books"),
        (7, f"this microchip is that of {names[0]}"),
    ]


def test_a_slip_of_the_pen_is_answered_by_the_name_that_is_near(give: Give, names: list[str]) -> None:
    """Of a name that is nearly a horse's that horse is named; case and accents make no difference."""
    wrong = names[0][:-1]
    one = give(f"Horse,Date,Mass\n{wrong},{days_ago(1)},480\n{names[1].upper()},{days_ago(1)},480\n")
    counts = check(one, one.proposed)
    assert [(found.line, found.remedy) for found in counts.wrong] == [(2, f"is it {names[0]}?")]


def test_every_sort_of_table_knows_its_columns() -> None:
    """Every sort of table has a spec whose columns are told apart, and the fields of its kind are all among them."""
    for spec in SPECS.values():
        names = [column.name for column in spec.columns]
        assert len(set(names)) == len(names)
        assert spec.kind is None or {field.name for field in spec.kind.fields} <= set(names)
        for column in spec.columns:
            assert column.name in spec.by_name


def test_another_zone_counts(give: Give, names: list[str], trainer: Person) -> None:
    """In a yard in another zone the same cell is another instant; one that names its own offset is that instant."""
    Yard.objects.update(zone="Asia/Tokyo")
    rows = f"{names[0]},{days_ago(9)} 07:30,480\n{names[1]},{days_ago(9)}T07:30:00Z,480\n"
    taken(give("Horse,Date,Mass\n" + rows), trainer)
    hours = [entry.happened_at.astimezone(ZoneInfo("UTC")).hour for entry in standing("mass")]
    assert hours == [22, 7]


def test_nothing_of_the_file_lies_in_the_open(give: Give, names: list[str], loaded: worlds.Yard) -> None:
    """Kept files are readable by their owner alone and are no part of a backup."""
    from upsides.books.keeping.folder import other_files

    give(masses(names))
    kept = list(Path(loaded.library, files.FOLDER).iterdir())
    assert {path.stat().st_mode & 0o777 for path in kept} == {0o600}
    assert not [name for name in other_files(loaded.library) if files.FOLDER in name]
