"""A ration held against what is needed."""

from datetime import date

import pytest

from upsides.errors import FeedingRefusedError, FeedUnknownError
from upsides.feeding import Feed, Serving, defaults, ration

GIVEN = defaults(date(2026, 6, 1))
HAYLAGE = Feed("haylage", "forage", 6.5, 0.65, protein=0.06)
OATS = Feed("oats", "concentrate", 11.5, 0.88, protein=0.10, starch=0.40)
CUBES = Feed("cubes", "concentrate", 12.0, 0.88)
SALT = Feed("salt", "supplement", 0.0, 1.0, protein=0.0, starch=0.0)
FEEDS = (HAYLAGE, OATS, CUBES, SALT)
DAY = (
    Serving("morning", "oats", 2.0),
    Serving("morning", "haylage", 5.0),
    Serving("evening", "oats", 1.0),
    Serving("evening", "haylage", 7.0),
    Serving("evening", "salt", 0.05),
)


def test_a_ration_is_added_up_as_by_hand() -> None:
    """Three kg of oats and 12 of haylage are 112.5 MJ and 7.8 kg of forage's dry matter, worked by hand."""
    found = ration(DAY, FEEDS, 500, "moderate", GIVEN)
    assert found.given.mj == pytest.approx(3 * 11.5 + 12 * 6.5)
    assert found.needed.mcal == pytest.approx(23.31, abs=0.005)
    assert found.percent == pytest.approx(100 * 112.5 / (0.0333 * 1.4 * 500 * 4.184))
    assert (found.forage.kg, found.forage.percent) == (pytest.approx(7.8), pytest.approx(1.56))
    assert (found.forage.wanted_kg, found.forage.least_kg) == (pytest.approx(7.5), pytest.approx(5.0))
    assert found.dry_matter_kg == pytest.approx(7.8 + 3 * 0.88 + 0.05)
    assert found.protein_g == pytest.approx(12 * 60 + 3 * 100)
    assert [(meal.time, meal.kg) for meal in found.meals] == [("morning", 7.0), ("evening", pytest.approx(8.05))]


@pytest.mark.parametrize(
    ("kg", "says"),
    [
        (7.5 / 0.65, "as wanted"),
        (7.4 / 0.65, "under what is wanted"),
        (5 / 0.65, "under what is wanted"),
        (4.9 / 0.65, "under the least"),
        (0, "under the least"),
    ],
)
def test_forage_is_held_against_what_is_wanted_and_the_least(kg: float, says: str) -> None:
    """At 500 kg, 7.5 kg of dry matter are as wanted and 5 kg are the least; the bounds themselves belong inside."""
    assert ration([Serving("noon", "haylage", kg)], FEEDS, 500, "light", GIVEN).forage.says == says


def test_starch_of_a_meal_is_cautioned_from_one_gram_a_kilogram() -> None:
    """At 500 kg a meal of 500 g of starch is cautioned, one of 499 g is not (Luthersson and others 2009: 1 g a kg)."""
    for grams, caution in [(500, "reached"), (499, "not reached")]:
        found = ration([Serving("noon", "oats", grams / 400)], FEEDS, 500, "light", GIVEN)
        assert found.meals[0].starch.g_kg == pytest.approx(grams / 500)
        assert found.meals[0].starch.caution == caution


def test_starch_of_a_day_is_cautioned_above_two_grams_a_kilogram() -> None:
    """At 500 kg a day of 1000 g of starch is not above the published 2 g a kg; 1001 g are."""
    for grams, caution in [(1000, "not reached"), (1001, "reached")]:
        servings = [Serving(time, "oats", grams / 400 / 3) for time in ("morning", "noon", "evening")]
        assert ration(servings, FEEDS, 500, "light", GIVEN).starch.caution == caution


def test_starch_that_no_label_states_is_not_known() -> None:
    """Cubes without a figure leave a meal's starch not known, unless the rest reaches the caution; hay does not."""
    unknown = ration([Serving("noon", "cubes", 1.0), Serving("noon", "oats", 1.0)], FEEDS, 500, "light", GIVEN)
    assert (unknown.meals[0].starch.caution, unknown.meals[0].starch.unstated) == ("not known", ("cubes",))
    over = ration([Serving("noon", "cubes", 1.0), Serving("noon", "oats", 1.5)], FEEDS, 500, "light", GIVEN)
    assert over.meals[0].starch.caution == "reached"
    assert ration(DAY[1:2], FEEDS, 500, "light", GIVEN).meals[0].starch.caution == "not reached"


def test_protein_is_not_summed_over_a_gap() -> None:
    """A feed whose protein is not stated leaves the day's protein not known."""
    assert ration([*DAY, Serving("noon", "cubes", 1.0)], FEEDS, 500, "light", GIVEN).protein_g is None


def test_an_unknown_feed_is_named_with_those_known() -> None:
    """A feed that is not on the list is refused, and the list told."""
    with pytest.raises(FeedUnknownError, match=r"'bran'.*oats"):
        ration([Serving("noon", "bran", 1.0)], FEEDS, 500, "light", GIVEN)


def test_what_is_written_twice_is_refused() -> None:
    """A feed twice at one feed time, or twice on the list, is refused."""
    with pytest.raises(FeedingRefusedError, match="written twice"):
        ration([DAY[0], DAY[0]], FEEDS, 500, "light", GIVEN)
    with pytest.raises(FeedingRefusedError, match="on the list twice"):
        ration(DAY, [*FEEDS, OATS], 500, "light", GIVEN)


@pytest.mark.parametrize("kg", [-1, float("nan"), float("inf"), 1000])
def test_an_amount_that_cannot_be_is_refused(kg: float) -> None:
    """Less than nothing, no number, or a thousand kg at one time is refused by name."""
    with pytest.raises(FeedingRefusedError, match="oats at noon"):
        Serving("noon", "oats", kg)


@pytest.mark.parametrize(
    "label",
    [
        {"name": " "},
        {"kind": "hay"},
        {"energy": -1.0},
        {"energy": 2800.0},
        {"energy": float("nan")},
        {"dry_matter": 0},
        {"dry_matter": 88},
        {"starch": 1.2},
        {"starch": 0.5, "protein": 0.5},
    ],
)
def test_a_label_that_cannot_be_is_refused(label: dict[str, object]) -> None:
    """No name, no such kind, energy in other units, dry matter in per cent, parts beyond the whole: each is refused."""
    with pytest.raises(FeedingRefusedError):
        Feed(**{"name": "oats", "kind": "concentrate", "energy": 11.5, "dry_matter": 0.88} | label)  # type: ignore[arg-type]
