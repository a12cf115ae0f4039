"""What a race asks of stamina: its distance, stretched by slow ground, a fast early pace, and a climb."""

from collections.abc import Mapping
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import UnreadableError
from upsides.ratings.sections import race_sections
from upsides.rules import NONE, Overrides
from upsides.rules.jurisdictions import ANYWHERE
from upsides.rules.lookup import candidates
from upsides.rules.slowness import SLOWNESS, slowness
from upsides.trip.defaults import Defaults
from upsides.trip.scale import octaves

Floats = NDArray[np.float64]

GOOD = SLOWNESS["good"]
STEPS = 2.0
"""Steps of slowness that the rule on going counts by."""

MOST_PACE = 0.05
"""An early pace further from usual than this is taken for a mistake of timing: our own choice."""


def demand_table(races: pl.DataFrame, given: Defaults, climbs: Mapping[str, float] | None = None) -> pl.DataFrame:
    """Return race_key, `demand` and `distance` of races, both in octaves of furlongs; see `demands`."""
    metres = races["distance_m"].cast(pl.Float64).fill_null(np.nan).to_numpy()
    return races.select("race_key").with_columns(
        demand=pl.Series(demands(races, given, climbs), dtype=pl.Float64),
        distance=pl.Series(octaves(metres), dtype=pl.Float64),
    )


def demands(races: pl.DataFrame, given: Defaults, climbs: Mapping[str, float] | None = None) -> Floats:
    """Return what each race asks, octaves of furlongs, (races,); NaN where its distance is not known.

    Args:
        races: frame of the results schema.
        given: what ground, pace and climb add.
        climbs: m climbed between start and finish, by course.
    """
    metres = races["distance_m"].cast(pl.Float64).fill_null(np.nan).to_numpy()
    ground = 1.0 + given.going * _slower(races) / STEPS
    pace = 1.0 + given.pace * np.clip(_early(races), -MOST_PACE, MOST_PACE)
    climbed = np.array([(climbs or {}).get(course or "", 0.0) for course in races["course"]], dtype=np.float64)
    return octaves(metres * ground * pace + given.climb * climbed)


def climbs_of(overrides: Overrides = NONE, on: date = date(2020, 1, 1)) -> dict[str, float]:
    """Return the climbs by course that a yard's own rules state (kind "course climb", of a course, value in m)."""
    stated = candidates("trip", ANYWHERE, overrides, lambda body: body["kind"] == "course climb")
    return {str(entry.body["of"]): float(entry.body["value"]) for entry in stated if entry.rule.in_force(on)}


def _slower(races: pl.DataFrame) -> Floats:
    """Return how many steps slower than good the turf was; 0 on other surfaces and where nobody said."""
    pairs = races.select("going", turf=pl.col("surface").fill_null("turf") == "turf").rows()
    known = {going: _steps(going) for going in {going for going, turf in pairs if turf and going}}
    return np.array([known.get(going, 0) if turf else 0 for going, turf in pairs], dtype=np.float64)


def _steps(going: str) -> int:
    try:
        return slowness(going, "main") - GOOD
    except UnreadableError:
        return 0


def _early(races: pl.DataFrame) -> Floats:
    """Return log of the usual early fraction of the time over the race's own; 0 where nothing was timed."""
    timed = races.select("course", "surface", "distance_m").with_columns(
        early=race_sections(races)["early_fraction"].cast(pl.Float64).fill_nan(None)
    )
    usual = pl.col("early").median().over("course", "surface", "distance_m")
    return timed.select((usual / pl.col("early")).log().fill_null(0.0).fill_nan(0.0))["early"].to_numpy()
