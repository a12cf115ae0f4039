from fractions import Fraction
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import UnreadableError, UnwritableError
from upsides.trade import Distance, Pace, RaceTime, parse_times

# Source: record_times.csv: public record times as printed and decoded, speed and seconds a furlong computed
# there. Columns: distance, as printed, seconds, m/s, km/h, mph, s/f. The first row is a trap: its publisher's
# 43.97 mph does not follow from the time; the table's own 43.75 does.
RECORDS = [
    ("2 furlongs", "0:20.57", 20.57, 19.559, 70.41, 43.75, 10.285),
    ("5 furlongs", "0:53.69", 53.69, 18.734, 67.44, 41.91, 10.738),
    ("1600 m", "1:31.0", 91.0, 17.582, 63.3, 39.33, 11.441),
    ("1 mile", "1:31.23", 91.23, 17.641, 63.51, 39.46, 11.404),
    ("1 mile", "1:32 1", 92.2, 17.455, 62.84, 39.05, 11.525),
    ("1 mile 110 yd", "1:38 2", 98.4, 17.377, 62.56, 38.87, 11.576),
    ("9 furlongs", "1:45 0", 105.0, 17.243, 62.07, 38.57, 11.667),
    ("9.5 furlongs", "1:52 2", 112.4, 17.003, 61.21, 38.03, 11.832),
    ("10 furlongs", "1:57 4", 117.8, 17.077, 61.48, 38.2, 11.78),
    ("12 furlongs", "2:24 0", 144.0, 16.764, 60.35, 37.5, 12.0),
    ("12 furlongs", "2:22.8", 142.8, 16.905, 60.86, 37.82, 11.9),
    ("13 furlongs", "2:38 1", 158.2, 16.531, 59.51, 36.98, 12.169),
    ("16 furlongs", "3:19 1", 199.2, 16.158, 58.17, 36.14, 12.45),
]
# Source: standard_times_hong_kong_2008.csv (course standard times, 21 July 2008): as printed, seconds.
HONG_KONG = [("0.56.2", 56.2), ("1.08.2", 68.2), ("1.10.1", 70.1), ("1.21.3", 81.3), ("1.22.0", 82.0)]
ANY = st.builds(
    RaceTime,
    st.fractions(min_value=Fraction(1, 100), max_value=900, max_denominator=3000)
    | st.integers(1, 90_000).map(lambda hundredths: Fraction(hundredths, 100)),
    st.sampled_from(["colon", "points", "letters", "seconds"]),
    st.integers(0, 3),
)


@pytest.mark.parametrize("record", RECORDS)
def test_record_times_decode_to_their_published_seconds(record: tuple[str, str, float]) -> None:
    """Each record as printed gives the seconds of the table and prints back as printed."""
    time = RaceTime.parse(record[1])
    assert time.seconds == Fraction(str(record[2]))
    assert str(time) == record[1]


@pytest.mark.parametrize("record", RECORDS)
def test_record_times_give_their_published_speeds(
    record: tuple[str, str, float, float, float, float, float],
) -> None:
    """Distance and time give the table's speeds and seconds a furlong to its printed digits."""
    text, printed, _, metres_a_second, kilometres_an_hour, miles_an_hour, seconds_a_furlong = record
    pace = Pace.over(Distance.parse(text), RaceTime.parse(printed))
    assert float(pace.amount("m/s")) == pytest.approx(metres_a_second, abs=6e-4)
    assert float(pace.amount("km/h")) == pytest.approx(kilometres_an_hour, abs=6e-3)
    assert float(pace.amount("mph")) == pytest.approx(miles_an_hour, abs=6e-3)
    assert float(pace.amount("s/f")) == pytest.approx(seconds_a_furlong, abs=6e-4)


def test_fifths_notation() -> None:
    """RC34: 1:32 1 is 92.2 s (list of North American dirt records)."""
    assert RaceTime.parse("1:32 1").seconds == Fraction("92.2")


@pytest.mark.parametrize("text", [":58 2", ":58 2/5", "58 2/5", "58⅖", "0:58 2"])
def test_fifths_below_a_minute(text: str) -> None:
    """A time below a minute is read in fifths too, with or without its colon (common practice, no source)."""
    time = RaceTime.parse(text)
    assert time.seconds == Fraction("58.4")
    assert RaceTime.parse(str(time)) == time


@pytest.mark.parametrize(("text", "seconds"), [(":58.2", "58.4"), ("1:34.3", "94.6"), ("1:34.91", "94.91")])
def test_a_point_parts_fifths_only_where_the_caller_says_so(text: str, seconds: str) -> None:
    """One digit behind the point counts fifths on request; two digits are decimals still."""
    assert RaceTime.parse(text, point="fifths").seconds == Fraction(seconds)
    assert parse_times([text], point="fifths").values.tolist() == [float(Fraction(seconds))]


def test_six_fifths_behind_a_point_are_refused() -> None:
    """A digit above 4 is no number of fifths."""
    with pytest.raises(UnreadableError, match="time"):
        RaceTime.parse("1:34.6", point="fifths")


@pytest.mark.parametrize(("printed", "seconds"), HONG_KONG)
def test_hong_kong_notation(printed: str, seconds: float) -> None:
    """RC35: 1.08.2 is 68.2 s (Hong Kong course standard times, 21 July 2008), and so for the others."""
    time = RaceTime.parse(printed)
    assert float(time.seconds) == seconds
    assert str(time) == printed


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("1.22.33", "82.33"),
        ("1:34.91", "94.91"),
        ("1m 9.45s", "69.45"),
        ("1m9.45s", "69.45"),
        ("1 min 9.45 sec", "69.45"),
        ("1'09\"45", "69.45"),
        ("1’09”4", "69.4"),
        ("1'09''4", "69.4"),
        ("1分34秒5", "94.5"),
        ("1:34,91", "94.91"),
        ("1:08", "68"),
        ("68.2", "68.2"),
        ("68,2 s", "68.2"),
        (":58.2", "58.2"),
    ],
)
def test_every_country_is_read(text: str, seconds: str) -> None:
    """Times are read as Britain, France, Hong Kong, Japan and the United States write them."""
    assert RaceTime.parse(text).seconds == Fraction(seconds)


@pytest.mark.parametrize(
    "text", ["", "0", "0:00.0", "1:60.0", "1.75.2", "-3", "1:32 5", ":75.2", ":58 5", "75 2/5", "fast", "1:2:3"]
)
def test_wrong_times_are_refused(text: str) -> None:
    """Zero, sixty seconds beside minutes, five fifths and nonsense are refused."""
    with pytest.raises(UnreadableError, match="time"):
        RaceTime.parse(text)


@pytest.mark.parametrize(
    ("notation", "shown"),
    [
        ("colon", "1:08.2"),
        ("points", "1.08.2"),
        ("fifths", "1:08 1"),
        ("letters", "1m 8.2s"),
        ("seconds", "68.2"),
    ],
)
def test_notations_write_the_same_time_their_own_way(notation: str, shown: str) -> None:
    """68.2 seconds come out in each notation."""
    time = RaceTime.from_seconds(68.2)
    assert time.text(notation) == shown  # type: ignore[arg-type]  # the table's strings are notations


def test_a_time_is_rounded_only_when_asked() -> None:
    """Rounding carries from seconds into minutes, and a time between fifths is not written in fifths."""
    assert RaceTime.from_seconds(59.996).text("colon", 2) == "1:00.00"
    with pytest.raises(UnwritableError, match="fifths"):
        RaceTime.from_seconds(68.25).text("fifths")


@given(ANY)
def test_str_reads_back(time: RaceTime) -> None:
    """The canonical text reads back to an equal time with an equal hash."""
    again = RaceTime.parse(str(time))
    assert again == time
    assert hash(again) == hash(time)


@given(st.integers(1, 1500))
def test_whole_fifths_read_back(fifths: int) -> None:
    """A time of whole fifths reads back from the notation in fifths."""
    time = RaceTime(Fraction(fifths, 5), "fifths")
    assert RaceTime.parse(str(time)) == time


def test_a_column_of_times() -> None:
    """A column gives seconds, NaN where nothing is written, and a mask of what cannot be read."""
    column = parse_times(["1.08.20", "---", None, "0", "1:32 1"])
    np.testing.assert_allclose(column.values, [68.2, np.nan, np.nan, np.nan, 92.2])
    assert column.unreadable.tolist() == [False, False, False, True, False]


def test_every_time_of_a_real_hong_kong_table_is_read(shared_results: Path) -> None:
    """No time of the real table is unreadable, and those at 1000 m lie between 54 and 80 seconds."""
    runs = pl.read_csv(shared_results / "hk2014_runs.csv.gz", columns=["race_id", "finish_time"])
    races = pl.read_csv(shared_results / "hk2014_races.csv.gz", columns=["race_id", "race_distance"])
    column = parse_times(runs["finish_time"])
    assert not column.unreadable.any()
    sprints = races.filter(pl.col("race_distance") == 1000)["race_id"].to_list()
    times = column.values[runs["race_id"].is_in(sprints).to_numpy()]
    assert np.nanmin(times) > 54
    assert np.nanmax(times) < 80
