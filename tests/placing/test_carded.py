"""The runners of a card as a field: those known by themselves, the others as any horse of such fields."""

import numpy as np
import polars as pl
import pytest

from kept_levels import SETTING, SEVEN, kept
from planned_races import DAY
from upsides.placing.chance import Carded, ExpectedField, Runner, chances, rivals_of
from upsides.placing.chance.answer import weight_against
from upsides.placing.chance.carded import level_of_any
from upsides.placing.chance.meeting import met
from upsides.rules import weight_for_age

FIELDS = ExpectedField(
    levels=(np.array([60.0, 70.0]), np.array([66.0, 80.0, 82.0])),
    errors=(np.array([3.0, 4.0]), np.array([2.0, 5.0, 6.0])),
    weights=(np.full(2, np.nan), np.full(3, np.nan)),
    allowed=(np.zeros(2), np.zeros(3)),
    nearness=np.array([0.25, 0.75]),
    size=(3.0, 2.0, 3.0),
    level=(74.0, 65.0, 76.0),
    best=(80.0, 70.0, 82.0),
)


def test_one_not_known_is_any_horse_of_such_fields() -> None:
    """Its mean and spread are those of picking a field by nearness, a horse of it, and erring, 400 000 times; to four
    standard errors."""
    rng, n = np.random.default_rng(1), 400_000
    picked = rng.choice(2, n, p=FIELDS.nearness)
    drawn = np.empty(n)
    for k in range(2):
        here = np.flatnonzero(picked == k)
        horse = rng.integers(FIELDS.levels[k].size, size=here.size)
        drawn[here] = rng.normal(FIELDS.levels[k][horse], FIELDS.errors[k][horse])
    mean, sd = level_of_any(FIELDS)
    assert abs(mean - drawn.mean()) < 4 * drawn.std() / np.sqrt(n)
    assert abs(sd - drawn.std()) < 4 * drawn.std() / np.sqrt(n)


def test_known_runners_count_as_themselves() -> None:
    """A card whose runners the library holds gives the chances that they give as rivals; nothing is drawn for them."""
    card = [Carded(f"Horse {key}", key, stall) for stall, key in enumerate(SEVEN, start=1) if key != "h3"]
    library = kept(SEVEN)
    rivals = rivals_of(card, FIELDS, SETTING, "GB", library)
    assert rivals == [Runner(one.horse_key, stall=one.stall) for one in card]
    by_hand = chances(Runner("h3"), SETTING, [Runner(one.horse_key, stall=one.stall) for one in card], library)
    assert chances(Runner("h3"), SETTING, rivals, library) == by_hand


def test_unknown_ones_make_a_field_of_such_horses() -> None:
    """Against a card of nobody known the rivals are worth what such fields are; without such fields what any horse is;
    one known star among them costs a chance."""
    library, nobody = kept(SEVEN | {"star": 110.0}), [Carded(f"Nobody {k}") for k in range(6)]
    found = chances(Runner("h3"), SETTING, rivals_of(nobody, FIELDS, SETTING, "GB", library), library)
    assert found.field_level[0] == pytest.approx(level_of_any(FIELDS)[0], abs=1.5)
    assert found.field_size == (7.0, 7.0, 7.0)
    without = rivals_of(nobody, None, SETTING, "GB", library)
    assert all(one.level is None for one in without)
    assert chances(Runner("h3"), SETTING, without, library).field_level[0] == pytest.approx(70.0, abs=3.0)
    starred = [*nobody[:5], Carded("Star", "star")]
    against = chances(Runner("h3"), SETTING, rivals_of(starred, FIELDS, SETTING, "GB", library), library)
    assert against.win.value < found.win.value


def test_weight_for_age_is_in_a_known_weight() -> None:
    """Of a three-year-old whose weight is told the scale's allowance is in it (the shipped scale, asked one by one); of
    one whose weight is not told, and of one whose age is not known, nothing is."""
    library = kept(SEVEN)
    born = pl.LazyFrame({"horse_key": ["h0", "h1", "h2"], "foaled": [DAY.year - 3, DAY.year - 6, DAY.year - 3]})
    object.__setattr__(library, "horses", born)
    card = [
        Carded("A", "h0", None, 119.0),
        Carded("B", "h1", None, 131.0),
        Carded("C", "h2"),
        Carded("D", "", None, 120.0),
    ]
    allowed = [one.allowed_lb for one in rivals_of(card, FIELDS, SETTING, "GB", library)]
    scale = weight_for_age("GB", DAY, SETTING.distance_m, 3)
    assert allowed == pytest.approx([scale.value, 0.0, 0.0, 0.0])
    assert allowed[0] > 0


def test_weights_that_nobody_knows_cost_nothing() -> None:
    """Where no rival's weight is told, neither a weight nor the weight for age in it counts for or against ours."""
    library = kept(SEVEN)
    field = met(None, SETTING, [Runner(key) for key in SEVEN], library)
    assert not weight_against(Runner("x", 119.0, 12.0), field, 1.0).any()
