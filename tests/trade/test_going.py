from itertools import pairwise, product
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.errors import NotComparableError, UnreadableError
from upsides.trade import Going, Surface, french_going, parse_goings
from upsides.trade.going_scales import SCALES

TURF, DIRT, SYNTHETIC = Surface.TURF, Surface.DIRT, Surface.SYNTHETIC

# Source: going_scales.csv, which names each authority's own source: the terms with a rank, in order of rank.
PUBLISHED = {
    ("Britain", TURF): "hard, firm, good to firm, good, good to soft, soft, heavy",
    ("Britain", SYNTHETIC): "fast, standard to fast, standard, standard to slow, slow",
    ("Ireland", TURF): "firm, good, yielding, soft, heavy",
    ("France", TURF): (
        "très léger, léger, bon léger, bon, bon souple, souple, très souple, collant, lourd, très lourd"
    ),
    ("Australia", TURF): ("Firm 1, Firm 2, Good 3, Good 4, Soft 5, Soft 6, Soft 7, Heavy 8, Heavy 9, Heavy 10"),
    ("USA", TURF): "hard, firm, good, heavy",
    ("Japan", TURF): "firm, good, yielding, soft",
    ("Japan", DIRT): "muddy, good, sloppy, fast",
}
WITH_PLACES = [("Britain", TURF), ("Ireland", TURF), ("Britain", SYNTHETIC)]


@pytest.mark.parametrize(("authority", "surface"), PUBLISHED)
def test_published_terms_are_read_and_ordered(authority: str, surface: Surface) -> None:
    """Every ranked term of the published table is read, and they sort in its order."""
    terms = PUBLISHED[authority, surface].split(", ")
    goings = [Going.parse(term, authority, surface) for term in terms]
    assert all(one < other for one, other in pairwise(goings))
    backwards = list(reversed(goings))
    assert sorted(backwards) == goings


@pytest.mark.parametrize(("index", "term"), [(3.0, "bon"), (3.2, "bon"), (3.3, "bon souple"), (5.1, "très lourd")])
def test_the_french_index_gives_its_published_term(index: float, term: str) -> None:
    """RC53: 3.0 to 3.2 is bon, 3.3 bon souple, 5.1 très lourd (French racing press, 3 Mar 2009)."""
    assert french_going(index) == Going.parse(term, "France")


@pytest.mark.parametrize(("number", "term", "before"), [("4", "good 4", "Dead 4"), ("5", "soft 5", "Dead 5")])
def test_australian_numbers_give_their_published_terms(number: str, term: str, before: str) -> None:
    """RC54: 4 is Good and 5 is Soft, both called Dead before December 2014 (Racing Australia)."""
    assert Going.parse(number, "Australia").term == term
    assert Going.parse(before, "Australia").rank == float(number)


def test_wet_japanese_dirt_is_quicker_than_dry() -> None:
    """RC55: muddy, good, sloppy, fast is the order of speed on Japanese dirt (Maeda et al. 2012)."""
    ranks = [Going.parse(term, "Japan", DIRT).rank for term in ("muddy", "good", "sloppy", "fast")]
    assert ranks == [1, 2, 3, 4]


@pytest.mark.parametrize(
    ("text", "term", "places"),
    [
        ("good, good to soft in places", "good", "good to soft"),
        ("Good to Firm, Firm in places", "good to firm", "firm"),
        ("Good (Good to Soft in places)", "good", "good to soft"),
        ("Good to Soft (Soft in places) (going stick 6.2)", "good to soft", "soft"),
        ("STANDARD TO SLOW", "standard to slow", ""),
    ],
)
def test_british_combined_terms_are_read(text: str, term: str, places: str) -> None:
    """A main term and another in places are read with either punctuation."""
    going = Going.parse(text, "GB")
    assert (going.term, going.places) == (term, places)


@pytest.mark.parametrize(
    ("text", "term", "places"),
    [
        ("F", "firm", ""),
        ("GF", "good to firm", ""),
        ("G", "good", ""),
        ("GS", "good to soft", ""),
        ("S", "soft", ""),
        ("H", "heavy", ""),
        ("Std", "standard", ""),
        ("G (GS in places)", "good", "good to soft"),
    ],
)
def test_british_abbreviations_are_read(text: str, term: str, places: str) -> None:
    """The letters of British form lines stand for their terms (common practice, no source)."""
    going = Going.parse(text, "Britain")
    assert (going.term, going.places) == (term, places)


def test_british_abbreviations_are_british() -> None:
    """Another authority's list does not take them."""
    with pytest.raises(UnreadableError, match="going"):
        Going.parse("GF", "Ireland")


def test_a_column_of_goings() -> None:
    """A column gives ranks on one list, NaN for what is missing or has no order, and a mask of the unreadable."""
    column = parse_goings(["Good to Firm", "GF", None, "squelchy", "Soft, Heavy in places"], "GB", TURF)
    np.testing.assert_array_equal(column.values, [3, 3, np.nan, np.nan, 6])  # places on the list of PUBLISHED
    assert column.unreadable.tolist() == [False, False, False, True, False]
    unordered = parse_goings(["fast", "muddy"], "USA", DIRT)
    assert np.isnan(unordered.values).all()
    assert not unordered.unreadable.any()


@pytest.mark.parametrize(("authority", "surface"), [("Atlantis", TURF), ("Britain", DIRT)])
def test_a_column_of_goings_needs_a_list(authority: str, surface: Surface) -> None:
    """An unknown authority, or one without a list for the surface, is refused even for an empty column."""
    with pytest.raises(UnreadableError, match=r"authority|going scale"):
        parse_goings([], authority, surface)


def test_ground_in_places_falls_between_the_plain_terms() -> None:
    """Good with softer places lies between good and good to soft (common practice, no source)."""
    written = [
        "good to firm",
        "good to firm, good in places",
        "good, good to firm in places",
        "good",
        "good, good to soft in places",
        "good to soft, good in places",
        "good to soft",
    ]
    goings = [Going.parse(text, "Britain") for text in written]
    backwards = list(reversed(goings))
    assert sorted(backwards) == goings


def test_irish_compounds_lie_between_their_two_words() -> None:
    """Yielding to soft lies between yielding and soft (common practice, no source)."""
    one, between, other = (Going.parse(t, "IE") for t in ("Yielding", "Yielding To Soft", "Soft"))
    assert one < between < other


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("good", "Britain", TURF), ("good", "Ireland", TURF)),
        (("good", "Japan", TURF), ("good", "Japan", DIRT)),
        (("fast", "USA", DIRT), ("sloppy", "USA", DIRT)),
        (("yielding", "USA", TURF), ("firm", "USA", TURF)),
        (("Good 4", "Australia", TURF), ("Dead 4", "Australia", TURF)),
    ],
)
def test_there_is_no_order_where_none_is_agreed(one: tuple[str, str, Surface], other: tuple[str, str, Surface]) -> None:
    """Goings of different lists, and terms without a rank, refuse to be compared and are not equal."""
    first, second = Going.parse(*one), Going.parse(*other)
    assert first != second
    with pytest.raises(NotComparableError):
        _ = first < second
    with pytest.raises(NotComparableError):
        _ = second <= first


@pytest.mark.parametrize(
    ("text", "authority"),
    [("squelchy", "Britain"), ("", "Britain"), ("good", "Atlantis"), ("good", "Hong Kong"), ("良", "Japan")],
)
def test_unknown_or_doubtful_goings_are_refused(text: str, authority: str) -> None:
    """Unknown words, unknown authorities, and words said of two surfaces are refused."""
    with pytest.raises(UnreadableError, match=r"going|authority"):
        Going.parse(text, authority)


def test_an_instrument_s_reading_is_kept_beside_the_term() -> None:
    """A penetrometer figure beside the French term is kept, printed, and not compared."""
    going = Going.parse("Bon souple (3,4)", "France")
    assert float(going.reading or 0) == 3.4
    assert str(going) == "bon souple (3.4)"
    assert going == Going.parse("bon souple", "France")


@pytest.mark.parametrize(
    ("text", "authority", "surface", "style", "shown"),
    [
        ("good, good to soft in places", "Britain", TURF, "brackets", "Good (Good to Soft in places)"),
        ("good to yielding", "Hong Kong", TURF, "capitals", "GOOD TO YIELDING"),
        ("tres souple", "France", TURF, "local", "très souple"),
        ("tres leger", "France", TURF, "plain", "très léger"),
        ("bon leger", "France", TURF, "capitals", "BON LÉGER"),
        ("good", "Japan", DIRT, "local", "稍重"),
    ],
)
def test_styles(text: str, authority: str, surface: Surface, style: str, shown: str) -> None:
    """A going comes out as each country prints it."""
    assert Going.parse(text, authority, surface).text(style) == shown  # type: ignore[arg-type]  # these are styles


@given(st.sampled_from([(key, term) for key, scale in SCALES.items() for term in scale.ranks]))
def test_every_term_reads_back(listed: tuple[tuple[str, Surface], str]) -> None:
    """Every term of every list reads back from plain and local text to an equal going with an equal hash."""
    (authority, surface), term = listed
    going = Going(authority, surface, term)
    for style in ("plain", "brackets", "capitals", "local"):
        again = Going.parse(going.text(style), authority, surface)
        assert again == going
        assert hash(again) == hash(going)


@given(st.sampled_from([(key, *two) for key in WITH_PLACES for two in product(SCALES[key].ranks, repeat=2)]))
def test_every_combined_term_reads_back(listed: tuple[tuple[str, Surface], str, str]) -> None:
    """A term with another in places reads back from every style."""
    (authority, surface), term, places = listed
    going = Going(authority, surface, term, places)
    assert Going.parse(str(going), authority, surface) == going
    assert Going.parse(going.text("brackets"), authority, surface) == going


def test_every_list_names_its_source() -> None:
    """No list stands without a source and a confidence."""
    assert all(scale.source and scale.confidence for scale in SCALES.values())


def test_every_going_of_two_real_hong_kong_tables_is_read(shared_results: Path) -> None:
    """Every going of the real tables is a Hong Kong term for its surface."""
    older = pl.read_csv(shared_results / "hk1997_races.csv.gz", columns=["going", "surface"])
    newer = pl.read_csv(shared_results / "hk2014_races.csv.gz", columns=["track_condition", "track"])
    written = {(going, code == 0) for going, code in older.rows() if going}
    written |= {(going, track.startswith("TURF")) for going, track in newer.rows() if going}
    assert all(Going.parse(going, "HK", TURF if turf else DIRT).term == going.lower() for going, turf in written)


@pytest.mark.parametrize("country", ["GB", "IE", "FR", "HK", "JP", "US"])
def test_every_going_of_a_real_british_and_irish_table_is_read(shared_results: Path, country: str) -> None:
    """Every going that the real table gives for these countries is on at least one of their lists."""
    table = pl.read_csv(shared_results / "ukire_race_headers_2017_2019.csv.gz", columns=["countryCode", "condition"])
    written = table.filter(pl.col("countryCode") == country)["condition"].drop_nulls().unique().to_list()
    for text in written:
        assert any(_read(text, country, surface) for surface in Surface), text


def _read(text: str, country: str, surface: Surface) -> bool:
    try:
        Going.parse(text, country, surface)
    except UnreadableError:
        return False
    return True
