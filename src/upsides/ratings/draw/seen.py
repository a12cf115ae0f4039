"""What came out at one start of a library, stall by stall, horses taken as alike."""

from datetime import date

import numpy as np
import polars as pl

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.ratings.draw.places import Seen, seen_by_stall
from upsides.ratings.draw.worth import Start
from upsides.results.library import Library
from upsides.results.schema import STARTED

NEAR_M = 10.0
"""Distances nearer than this are one start: published distances are rounded."""


def seen_at(library: Library, start: Start, as_of: date | None = None) -> Seen:
    """Return wins and placings by stall at a start, going and rail too where they are asked for.

    Args:
        library: the library.
        start: the start; its size of field is not asked.
        as_of: results before this day.

    Raises:
        CannotFitError: no race with a full draw was run there, or it has no distance.
    """
    if start.distance_m is None:
        raise CannotFitError("draw", _("no distance is named"), _("name one"))
    races = library.races(as_of).filter(
        pl.col("course") == start.course, (pl.col("distance_m") - start.distance_m).abs() < NEAR_M
    )
    for name in ("surface", "going", "rail"):
        if wanted := getattr(start, name):
            races = races.filter(pl.col(name) == wanted)
    keys = races.select("race_key").collect()["race_key"]
    ran = (
        library.runs(as_of)
        .filter(pl.col("race_key").is_in(keys.implode()), pl.col("outcome").is_in(STARTED))
        .select("race_key", "position", stall=pl.coalesce("started_from", "draw"))
        .collect()
    )
    full = (pl.col("stall").is_not_null().all() & (pl.col("stall").n_unique() == pl.len())).over("race_key")
    ran = ran.filter(full, (pl.col("position") == 1).any().over("race_key"), pl.len().over("race_key") >= 2)
    if ran.is_empty():
        raise CannotFitError("draw", _("no race with a full draw over {distance_m:.0f} m at "
        "{course}", distance_m=start.distance_m, course=start.course),
                             _("name a start that the library holds"))  # fmt: skip
    ran = ran.sort("race_key", "stall")
    offsets = np.concatenate([[0], np.cumsum(ran.group_by("race_key", maintain_order=True).len()["len"])])
    return seen_by_stall(
        ran["stall"].to_numpy(), offsets, ran["position"].cast(pl.Float64).fill_null(np.nan).to_numpy()
    )
