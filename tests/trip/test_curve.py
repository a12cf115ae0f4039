"""The scale, the curve, and what a race asks."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from upsides.results.schema import RACES, polars_schema
from upsides.rules import override
from upsides.trip import curve, scale
from upsides.trip.defaults import KINDS, defaults
from upsides.trip.demand import climbs_of, demands
from upsides.trip.scale import GRID, below, furlongs, octaves, quantile

ON = date(2026, 1, 1)


def _races(**columns: list[object]) -> pl.DataFrame:
    count = len(next(iter(columns.values())))
    schema = polars_schema(RACES)
    empty = pl.DataFrame({name: [None] * count for name in schema}, schema=schema)
    return empty.with_columns(pl.Series(name, values, schema[name]) for name, values in columns.items())


def test_octaves_are_of_furlongs() -> None:
    """A furlong is 201.168 m (statute), so 1,609.344 m are three octaves, and back."""
    assert octaves(1609.344) == pytest.approx(3.0, abs=1e-12)
    assert furlongs(octaves([1005.84, 2414.016])) == pytest.approx([5.0, 12.0], abs=1e-12)


def test_quantiles_and_shares_undo_each_other() -> None:
    """The trip below which a share lies has that share below it, for any weights."""
    weight = np.random.default_rng(1).random(GRID.size)
    for share in (0.05, 0.25, 0.5, 0.9):
        assert below(weight, quantile(weight, share)) == pytest.approx(share, abs=1e-12)


def test_a_normal_curves_range_is_a_normals() -> None:
    """Of a normal density on the grid the 90 % range is 1.645 standard deviations either way (normal tables)."""
    weight = np.exp(-0.5 * ((GRID - 3.1) / 0.2) ** 2)
    assert quantile(weight, 0.05) == pytest.approx(3.1 - 1.6449 * 0.2, abs=2e-3)
    assert quantile(weight, 0.95) == pytest.approx(3.1 + 1.6449 * 0.2, abs=2e-3)


def test_a_width_costs_three_pounds() -> None:
    """A width off the trip costs three pounds on either side, and nothing at the trip; far off it levels off."""
    lost = curve.loss([-0.2, 0.0, 0.5], 0.2, 0.5)
    assert lost == pytest.approx([3.0, 0.0, 3.0], rel=0.01)
    assert curve.loss(3.0, 0.2, 0.2) == pytest.approx(curve.MOST_LB, rel=0.01)
    assert np.all(np.diff(curve.loss(np.linspace(0, 3, 50), 0.3, 0.3)) > 0)


def test_soft_ground_and_climbs_ask_for_more() -> None:
    """Turf two steps slower than good asks for the stated share more, dirt does not, and a climb adds its metres."""
    given = defaults(ON)
    races = _races(distance_m=[2000.0] * 4, surface=["turf", "turf", "dirt", "turf"], course=["A", "A", "A", "Hill"],
                   going=["good", "soft", "soft", "good"])  # fmt: skip
    good, soft, dirt, hill = np.exp2(demands(races, given, {"Hill": 20.0})) * 201.168
    assert (good, dirt) == (pytest.approx(2000.0), pytest.approx(2000.0))
    assert soft == pytest.approx(2000.0 * (1.0 + given.going))
    assert hill == pytest.approx(2000.0 + given.climb * 20.0)


def test_a_fast_early_pace_asks_for_more() -> None:
    """A race whose early part was run faster than is usual over the trip asks for more, a slow one for less."""
    races = _races(distance_m=[1200.0] * 3, course=["A"] * 3, surface=["turf"] * 3, going=["good"] * 3,
                   winning_time_s=[70.0] * 3, section_m=[[400.0] * 3] * 3,
                   section_s=[[24.0, 23.0, 23.0], [23.0, 23.0, 24.0], [25.0, 23.0, 22.0]])  # fmt: skip
    usual, fast, slow = demands(races, defaults(ON))
    assert slow < usual < fast


def test_a_yards_own_climb_is_read() -> None:
    """A climb that the yard wrote into its rules is found under its course."""
    own = override("trip", "Climb", "anywhere", "our own levelling", kind="course climb", of="Hill", unit="m", value=12)
    assert climbs_of(own, ON) == {"Hill": 12.0}


def test_a_yard_may_change_a_default() -> None:
    """A yard's own mean goes before the shipped one, and the rest stays."""
    own = override("trip", "C/C here", "anywhere", "our own horses", kind="gene mean", of="C/C", unit="furlongs",
                   value=5.5, spread=0.7)  # fmt: skip
    assert defaults(ON, own).gene_mean == (5.5, *defaults(ON).gene_mean[1:])
    assert len(KINDS) == len(defaults(ON).bounds) + 1


def test_the_heritability_is_the_published_one() -> None:
    """Best race distance has heritability 0.61 (Velie, Hamilton and Wade 2015, Animal Genetics, Australia)."""
    assert defaults(ON).heritability_trip == 0.61


def test_the_scale_reaches_every_race() -> None:
    """The grid holds the shortest and the longest flat races there are, five furlongs to twenty."""
    assert scale.SHORTEST_F < 5.0 < 20.0 < scale.LONGEST_F
