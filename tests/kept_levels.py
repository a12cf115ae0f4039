"""What would be kept of a library whose horses have levels of known value, for tests of chances."""

import numpy as np
import polars as pl

from planned_races import DAY
from upsides.placing.chance import Kept, Setting
from upsides.ratings.draw.fitting import Block, DrawFit, Slopes
from upsides.rules import NONE

NO_CURVES = pl.LazyFrame(schema={"horse_key": pl.String, "date": pl.Date, "level_lb": pl.Float64, "sd_lb": pl.Float64})
NO_FIGURES = pl.LazyFrame(schema={"horse_key": pl.String, "figure_lb": pl.Float64, "expected_lb": pl.Float64})
SETTING = Setting(DAY, "Larkmoor", 1609.344, "turf")


def kept(levels: dict[str, float], sd: float = 3.0, slope: float | None = None) -> Kept:
    """Return what would be kept of a library with these levels and, at every start, this slope of the draw."""
    table = pl.DataFrame({"horse_key": list(levels), "level_lb": list(levels.values())}, schema_overrides={
        "horse_key": pl.String, "level_lb": pl.Float64,
    }).with_columns(sd_lb=pl.lit(sd))  # fmt: skip
    manifest = {"base_lb": 70.0, "weight_worth": {"value": 1.0}, "components": {"persevered": 36.0}}
    block = Block(("whole",), np.array([slope or 0.0]), np.array([[0.01]]), 100)
    draw = None if slope is None else DrawFit(DAY, Slopes({(): block}, {"race": 0.5}, 7.0), None)
    horses = table.select("horse_key").lazy()
    return Kept(DAY, table.lazy(), NO_CURVES, NO_FIGURES, horses, manifest, None, draw, NONE, 1.0)


SEVEN = {f"h{k}": 70.0 + 2 * k for k in range(7)}
