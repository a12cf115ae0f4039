from datetime import UTC, date, datetime

import polars as pl
import pytest
from openpyxl.utils.datetime import from_excel

from upsides.results.cells import read, timed
from upsides.results.description import Rule, Shape
from upsides.results.shape import read_shape

LINES = {
    "S": 'format = 1\nsource = "s"\ntimezone = "Asia/Hong_Kong"\n[margins]\nneck = 0.3\n[[table]]\nhas = ["race"]\n',
    "race": '[table.race]\nrace_id = "race"\ndate = "day"\n',
}


def rule_of(kind: str, text: str) -> tuple[Rule, Shape]:
    needed = 'race_id = "race"\n' + ('date = "day"\n' if kind == "race" and "date" not in text else "")
    horse = 'horse_id = "h"\n' if kind == "run" else ""
    shape = read_shape(LINES["S"] + f"[table.{kind}]\n" + needed + horse + text, "test")
    rules = shape.tables[0].race if kind == "race" else shape.tables[0].run
    return rules[-1], shape


def cells(kind: str, text: str, values: list[str | None]) -> tuple[list[object], list[str | None]]:
    rule, shape = rule_of(kind, text)
    done = read(rule, pl.DataFrame({"x": values}, schema={"x": pl.String}), shape)
    return done.value.to_list(), done.reason.to_list()


@pytest.mark.parametrize(
    ("style", "text", "seconds"),
    [
        ("m.ss.cc", "1.08.2", 68.2),  # racing-standards, source S110
        ("m:ss f", "1:32 1", 92.2),  # racing-standards, source S114: fifths
        ("m.ss.cc", "1.22.33", 82.33),  # the winner's sections 13.59 + 22.08 + 23.11 + 23.55 of the same race
        ("m:ss.cc", "59.80", 59.8),
        ("ss.cc", "83.92", 83.92),
        ("m'ss\"c", "1'31\"4", 91.4),
    ],
)
def test_times_in_their_styles(style: str, text: str, seconds: float) -> None:
    """Times by hand are read in seconds in the style the shape names."""
    assert timed(pl.Series([text]), (style,)).to_list() == [pytest.approx(seconds, abs=1e-9)]


def test_first_style_that_reads_counts() -> None:
    """Of several styles the first that reads a cell is used; what none reads stays empty."""
    got = timed(pl.Series(["1.12.05", "59.30", "slow"]), ("m.ss.cc", "ss.cc"))
    assert got.to_list() == [72.05, 59.3, None]


def test_units_become_the_schemas() -> None:
    """Yards, furlongs, kilograms and pounds are turned by their exact definitions."""
    assert cells("race", 'distance_m = { from = "x", unit = "yd" }', ["1760"])[0] == [pytest.approx(1609.344)]
    assert cells("race", 'distance_m = { from = "x", unit = "f" }', ["5"])[0] == [pytest.approx(1005.84)]
    assert cells("run", 'body_mass_kg = { from = "x", unit = "lb" }', ["1000"])[0] == [pytest.approx(453.59237)]
    assert cells("run", 'carried_lb = { from = "x", unit = "kg" }', ["57.5"])[0] == [pytest.approx(57.5 / 0.45359237)]


def test_notation_of_the_trade() -> None:
    """Distances and margins as racing writes them are read; a named margin by the shape's own list."""
    assert cells("race", 'distance_m = { from = "x", unit = "written" }', ["1m½f"])[0] == [pytest.approx(1709.928)]
    got, why = cells("run", 'beaten_lengths = { from = "x", unit = "written" }', ["nk", "1-1/4", "hd", "ML", "big"])
    assert got == [0.3, 1.25, None, None, None]
    assert why == [None, None, "cannot be read", None, "cannot be read"]


def test_codes_for_not_recorded() -> None:
    """999 is a code where the shape says so, in whatever form it is printed, and a number elsewhere."""
    assert cells("run", 'beaten_lengths = { from = "x", missing = ["999"] }', ["999", "999.0", "9"])[0] == [
        None,
        None,
        9,
    ]
    got, why = cells("run", 'body_mass_kg = { from = "x", unit = "lb" }', ["999"])
    assert got == [pytest.approx(453.13877763)]
    assert why == [None]


def test_impossible_numbers_are_told() -> None:
    """Negative times, fractions of a place, infinities and words are refused each with its reason."""
    assert cells("run", 'time_s = "x"', ["-72", "inf", "72.5"]) == (
        [None, None, 72.5],
        ["outside what is possible", "not a number", None],
    )
    assert cells("run", 'position = "x"', ["2.5", "2.0", "0"]) == (
        [None, 2, None],
        ["not a whole number", None, "outside what is possible"],
    )


def test_dates_in_their_formats() -> None:
    """A date is read by the shape's formats; an instant gives the date at the course."""
    assert cells("race", 'date = { from = "x", format = "%y/%m/%d" }', ["17/01/02"])[0] == [date(2017, 1, 2)]
    instant = '{ from = "x", format = "%Y-%m-%dT%H:%M:%SZ" }'
    # 20:30 UTC is half past four the next morning in Hong Kong, eight hours ahead all year.
    assert cells("race", f"date = {instant}", ["2019-03-04T20:30:00Z"])[0] == [date(2019, 3, 5)]
    assert cells("race", f"off_at = {instant}", ["2019-03-04T20:30:00Z"])[0] == [
        datetime(2019, 3, 4, 20, 30, tzinfo=UTC)
    ]
    local = 'off_at = { from = "x", format = "%Y-%m-%d %H:%M" }'
    assert cells("race", local, ["2019-03-05 04:30"])[0] == [datetime(2019, 3, 4, 20, 30, tzinfo=UTC)]


def test_closed_words() -> None:
    """A word outside the vocabulary is reported, one coded to nothing is empty, and codes may be numbers."""
    text = 'surface = { from = "x", codes = { 0 = "turf", 1 = "dirt", 2 = "" } }'
    got, why = cells("race", text, ["0", "1.0", "2", "grass", None])
    assert got == ["turf", "dirt", None, None, None]
    assert why == [None, None, None, "not one of the words this field may hold", None]


def test_first_case_that_matches() -> None:
    """Cases are tried in order on the cell as it was read, and one without a pattern takes the rest."""
    text = (
        'code = { from = "x", when = [{ matches = "fences", value = "chase" }, '
        '{ matches = "hurdles|fences", value = "hurdle" }, { value = "flat" }] }'
    )
    assert cells("race", text, ["12 fences", "8 hurdles", None])[0] == ["chase", "hurdle", "flat"]


def test_decimal_commas() -> None:
    """With a decimal comma, a point groups thousands."""
    rule, shape = rule_of("race", 'prize = "x"')
    text = LINES["S"].replace("[margins]", 'file.decimal = ","\n[margins]') + LINES["race"] + 'prize = "x"'
    shape = read_shape(text, "test")
    got = read(rule, pl.DataFrame({"x": ["12.500,50"]}), shape)
    assert got.value.to_list() == [12500.5]


def test_lists_from_columns_and_from_one_cell() -> None:
    """A list is read from numbered columns or from one cell that is split; gaps stay gaps."""
    rule, shape = rule_of("run", 'section_s = { from = "t{1..3}", missing = ["999"] }')
    frame = pl.DataFrame({"t1": ["24.1"], "t2": ["999"], "t3": ["23.0"]})
    assert read(rule, frame, shape).value.to_list() == [[24.1, None, 23.0]]
    rule, shape = rule_of("run", 'section_s = { from = "x", split = " " }')
    assert read(rule, pl.DataFrame({"x": ["24.1 23.0"]}), shape).value.to_list() == [[24.1, 23.0]]


@pytest.mark.parametrize(
    "text", ["=1+1", "=2*3", "=SUM(A1)", " =A1", "=", "@SUM(A1)", "@sum(A1)", "+A1+B2", "-$A$1*2", "+SUM(A1:A9)"]
)
@pytest.mark.parametrize(
    "field", ['gear = "x"', 'trainer = "x"', 'carried_lb = "x"', "position = { from = \"x\", pattern = '(\\d+)' }"]
)
def test_formulas_are_told_in_every_field(field: str, text: str) -> None:
    """A formula is refused as one in words and numbers alike, before any pattern could take a part of it."""
    rule, shape = rule_of("run", field)
    done = read(rule, pl.DataFrame({"x": [text]}), shape)
    assert (done.value.to_list(), done.reason.to_list()) == ([None], ["a spreadsheet formula, not a value"])
    assert done.text.to_list() == [text.strip()]


def test_what_only_resembles_a_formula_is_kept() -> None:
    """Signs before numbers, names and codes of gear are no formulas."""
    plain = ["+5", "-2.5", "@Alder", "B-/TT1", "-", "A1+B2", "Alder = Birch"]
    rule, shape = rule_of("run", 'gear = { from = "x" }')
    done = read(rule, pl.DataFrame({"x": plain}), shape)
    assert done.reason.null_count() == len(plain)


def test_a_shared_place_with_the_sign_is_read_where_the_rule_says_so() -> None:
    """A place printed =2 is read by a rule that speaks of the sign, and =2+1 is a formula even there."""
    got, why = cells("run", "position = { from = \"x\", pattern = '^=?(\\d+)' }", ["=2", "=2+1", "3"])
    assert (got, why) == ([2, None, 3], [None, "a spreadsheet formula, not a value", None])


def test_formulas_in_lists_are_told() -> None:
    """A formula in one of the columns of a list is told as one."""
    rule, shape = rule_of("run", 'section_s = { from = "t{1..2}" }')
    done = read(rule, pl.DataFrame({"t1": ["24.1"], "t2": ["=1+1"]}), shape)
    assert done.value.to_list() == [[24.1, None]]
    assert done.reason.to_list() == ["a spreadsheet formula, not a value"]


def test_dates_with_an_offset_give_the_day_at_the_course() -> None:
    """An ISO instant with its offset is a date in the shape's zone (Hong Kong, UTC+8 all year)."""
    got, why = cells(
        "race", 'date = "x"', ["2019-03-04T20:30:00+00:00", "2019-03-04T20:30:00.500-0300", "2019-03-04T10:00:00Z"]
    )
    assert got == [date(2019, 3, 5), date(2019, 3, 5), date(2019, 3, 4)]
    assert why == [None, None, None]
    # The offset counts for instants as well: half past eight at UTC+2 is half past six.
    assert cells("race", 'off_at = { from = "x", format = "%d/%m/%Y %H:%M" }', ["2019-03-04T20:30:00+02:00"])[0] == [
        datetime(2019, 3, 4, 18, 30, tzinfo=UTC)
    ]


def test_serial_dates() -> None:
    """Bare day numbers are dates where the shape says so; what is no day number is told.

    The numbers: Microsoft's page on DATEVALUE gives 1 January 2008 as 39448; openpyxl's own conversion is the
    second source.
    """
    rule = 'date = { from = "x", format = "serial" }'
    got, why = cells("race", rule, ["39448", "43831.0", "43831.75", "12", "soon", "99999"])
    assert got == [date(2008, 1, 1), date(2020, 1, 1), date(2020, 1, 1), None, None, None]
    assert why == [None, None, None, "not a date", "not a date", "not a date"]
    for day in (367, 20000, 43831, 60000):
        assert cells("race", rule, [str(day)])[0] == [from_excel(day).date()]


def test_dates_year_first_need_no_format() -> None:
    """2020/01/31 is read without a format; a date that could be two days is not, and the reason names the key."""
    got, why = cells("race", 'date = "x"', ["2020/01/31", "2020-01-31", "01/02/2020"])
    assert got == [date(2020, 1, 31), date(2020, 1, 31), None]
    assert why == [None, None, "not a date written year first; name its format in the shape"]
