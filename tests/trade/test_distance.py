from fractions import Fraction
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import UnreadableError
from upsides.trade import Distance, parse_distances
from upsides.trade.distance import Notation

# Source: distance_conversions.csv (as written, yards, metres to a millimetre, furlongs to four places); its
# notes name the racecourse notices and lists that the written forms come from.
CONVERSIONS = [
    ("5f", 1100, 1005.84, 5.0),
    ("5f 217y", 1317, 1204.265, 5.9864),
    ("6f", 1320, 1207.008, 6.0),
    ("6f 213y", 1533, 1401.775, 6.9682),
    ("7f", 1540, 1408.176, 7.0),
    ("1m", 1760, 1609.344, 8.0),
    ("1m 142y", 1902, 1739.189, 8.6455),
    ("1 1/16 miles", 1870, 1709.928, 8.5),
    ("1 1/8 miles", 1980, 1810.512, 9.0),
    ("1m 1f 209y", 2189, 2001.622, 9.95),
    ("1m 2f", 2200, 2011.68, 10.0),
    ("1m 4f", 2640, 2414.016, 12.0),
    ("1m 4f 6y", 2646, 2419.502, 12.0273),
    ("2m", 3520, 3218.688, 16.0),
    ("2m 4f", 4400, 4023.36, 20.0),
    ("2m 5f 143y", 4763, 4355.287, 21.65),
]
ANY = st.builds(
    Distance,
    st.one_of(
        st.fractions(min_value=Fraction(1, 10), max_value=20_000, max_denominator=5000),
        st.integers(1, 12_000).map(lambda yards: yards * Fraction("0.9144")),
        st.integers(1, 8000).map(lambda metres: Fraction(metres, 2)),
        st.integers(1, 400).map(lambda sixteenths: sixteenths * Fraction("100.584")),
    ),
    st.sampled_from(["yards", "halves", "fractions", "metres"]),
    st.booleans(),
)


@pytest.mark.parametrize(("text", "yards", "metres", "furlongs"), CONVERSIONS)
def test_published_distances_convert(text: str, yards: int, metres: float, furlongs: float) -> None:
    """Each published distance gives the yards, metres and furlongs of the table to its printed digits."""
    distance = Distance.parse(text)
    assert distance.yards == yards
    assert distance.metres == pytest.approx(metres, abs=5e-4)
    assert distance.furlongs == pytest.approx(furlongs, abs=5e-5)


@pytest.mark.parametrize("text", [row[0] for row in CONVERSIONS])
def test_published_distances_print_back_as_written(text: str) -> None:
    """A distance prints the way that it was written."""
    assert str(Distance.parse(text)) == text


def test_one_mile_one_furlong_209_yards_is_published_as_2002_metres() -> None:
    """RC29: 2,189 yards are 2001.6216 m, published as 2,002 m (conditions of an early-July Group 1)."""
    distance = Distance.parse("1m 1f 209y")
    assert distance.length == Fraction("2001.6216")
    assert distance.text("metric") == "2002m"
    assert abs(Distance.parse("2,002 m").metres - distance.metres) < 0.5


def test_one_mile_four_furlongs_six_yards() -> None:
    """RC30: 2,646 yards are 2419.50 m (list of Group 1 races with exact distances)."""
    assert Distance.parse("1m 4f 6y").metres == pytest.approx(2419.50, abs=0.01)


def test_six_furlongs_213_yards_is_shown_as_about_seven_furlongs() -> None:
    """RC31: 1,533 yards are shown as about 7f (British racecourse notices)."""
    assert Distance.parse("6f 213y").text("about") == "about 7f"


@pytest.mark.parametrize(("surveyed", "shown"), [("5f 1y", "5f"), ("1m 4f 6y", "1m4f")])
def test_official_notices_drop_a_few_yards(surveyed: str, shown: str) -> None:
    """5f 1y is shown as 5f and 1m 4f 6y is called 1m 4f (British notices; list of Group 1 races)."""
    assert Distance.parse(surveyed).text("halves") == shown


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("5f217y", "1204.2648"),
        ("1m2f", "2011.68"),
        ("1m½f", "1709.928"),
        ("2m4½f", "4123.944"),
        ("1 1/8m", "1810.512"),
        ("1⅛ miles", "1810.512"),
        ("1-1/16 miles", "1709.928"),
        ("6 1/2f", "1307.592"),
        ("6½ furlongs", "1307.592"),
        ("8.5f", "1709.928"),
        ("1 mile 70 yards", "1673.352"),
        ("1 mile and 70 yds", "1673.352"),
        ("1,533y", "1401.7752"),
        ("1200m", "1200"),
        ("1200 metres", "1200"),
        ("2 400 m", "2400"),
        ("2\u202f400 mètres", "2400"),
        ("2,002 m", "2002"),
        ("1,2 km", "1200"),
        ("１２００メートル", "1200"),
        ("about 7f", "1408.176"),
    ],
)
def test_every_country_is_read(text: str, metres: str) -> None:
    """Distances are read as Britain, France, Japan and the United States write them."""
    assert Distance.parse(text).length == Fraction(metres)


def test_the_letter_m_is_miles_below_ten_and_metres_from_a_hundred() -> None:
    """The stated rule on the letter m holds at both of its edges."""
    assert Distance.parse("1m") == Distance.from_miles(1)
    assert Distance.parse("9m") == Distance.from_miles(9)
    assert Distance.parse("100m") == Distance.from_metres(100)


@pytest.mark.parametrize(
    "text", ["10m", "60m", "99m", "2.400 m", "2.002m", "1200", "", "m", "0f", "-5f", "1m 2", "five"]
)
def test_doubtful_distances_are_refused(text: str) -> None:
    """What could mean two things, or nothing, is refused and never guessed."""
    with pytest.raises(UnreadableError, match="distance"):
        Distance.parse(text)


def test_a_bare_number_is_read_only_with_its_unit() -> None:
    """The unit of a bare number comes from the caller."""
    assert Distance.parse("1760.0", "yards") == Distance.parse("1m")
    assert Distance.parse("1200", "metres").metres == 1200


def test_equal_lengths_are_equal_however_written_and_near_ones_are_not() -> None:
    """8½ furlongs, 1 1/16 miles and 1,870 yards are one distance; 1200 m is not 6f, nor 1600 m a mile."""
    same = {Distance.parse(text) for text in ("8½f", "1 1/16 miles", "1870y", "1m 110y", "1709.928m")}
    assert len(same) == 1
    assert Distance.parse("1200m") < Distance.parse("5f 217y") < Distance.parse("6f")
    assert Distance.parse("1600m") < Distance.parse("1m")


@pytest.mark.parametrize(
    ("style", "shown"),
    [
        ("british", "6f 110y"),
        ("halves", "6½f"),
        ("american", "6 1/2 furlongs"),
        ("metric", "1308m"),
        ("french", "1 308 m"),
    ],
)
def test_styles_write_the_same_distance_their_own_way(style: str, shown: str) -> None:
    """Six and a half furlongs come out in each country's style."""
    assert Distance.parse("6½f").text(style) == shown  # type: ignore[arg-type]  # the table's strings are styles


def test_american_distances_from_a_mile_on_are_miles() -> None:
    """A mile and more is written in sixteenths of a mile, or in yards where none fits."""
    assert Distance.parse("1m½f").text("american") == "1 1/16 miles"
    assert Distance.parse("1m 70y").text("american") == "1 mile 70 yards"
    assert Distance.parse("1m").text("american") == "1 mile"


@given(ANY)
def test_str_reads_back(distance: Distance) -> None:
    """The canonical text reads back to an equal distance with an equal hash and the same words about it."""
    again = Distance.parse(str(distance))
    assert again == distance
    assert hash(again) == hash(distance)
    assert again.about == distance.about


@given(st.integers(1, 20_000), st.sampled_from(["british", "american"]))
def test_surveyed_yards_survive_the_exact_styles(yards: int, style: str) -> None:
    """A distance in whole yards reads back exactly from the British and the American style."""
    distance = Distance.from_yards(yards)
    assert Distance.parse(distance.text(style)) == distance  # type: ignore[arg-type]  # one of two styles


@given(st.lists(ANY, min_size=2, max_size=5))
def test_order_is_the_order_of_lengths(distances: list[Distance]) -> None:
    """Sorting distances sorts their lengths, whatever the notation."""
    assert [d.length for d in sorted(distances)] == sorted(d.length for d in distances)


def test_a_column_of_distances() -> None:
    """A column gives metres, NaN where nothing is written, and a mask of what cannot be read."""
    column = parse_distances(pl.Series(["1m", "1200m", None, "", "60m", "1m"]))
    np.testing.assert_allclose(column.values, [1609.344, 1200, np.nan, np.nan, np.nan, 1609.344])
    assert column.unreadable.tolist() == [False, False, False, False, True, False]


def test_every_distance_of_two_years_of_british_and_irish_racing_is_read(shared_results: Path) -> None:
    """Every written distance of the real table is read, within a part in a thousand of its own metres."""
    table = pl.read_csv(shared_results / "ukire_race_headers_2017_2019.csv.gz", columns=["distance", "metric"])
    column = parse_distances(table["distance"])
    assert not column.unreadable.any()
    assert np.abs(column.values / table["metric"].to_numpy() - 1).max() < 0.001


def test_notations_are_the_ones_that_the_tests_cover() -> None:
    """Every notation is drawn by the round-trip test above."""
    assert set(Notation.__args__) == {"yards", "halves", "fractions", "metres"}  # type: ignore[attr-defined]  # a Literal
