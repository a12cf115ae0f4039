"""Slopes of races pooled, against mgcv on the same runs.

R 4.2 with mgcv 1.8-41 (Debian r-cran-mgcv) on tests/ratings/data/draw_slopes.csv, 72 invented races; d = (stall - 1) /
(runners - 1) - 1/2, race, meeting and start as factors:

    m <- gam(worth_lb ~ 0 + race + d + s(start, by = d, bs = "re") + s(meeting, by = d, bs = "re")
             + s(race, by = d, bs = "re"), data = t, method = "REML")
    gam.vcomp(m); coef(m); vcov(m)
"""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.ratings.draw.places import across
from upsides.ratings.draw.pooling import Group, Pooled, pool
from upsides.ratings.draw.slopes import RaceSlopes, race_slopes

SPREADS = {"start": 4.50396199, "meeting": 0.61090088, "race": 4.55479097}
SCALE = 5.55597281
"""gam.vcomp: standard deviations of the slopes, and of a run within its race."""
WHOLE, STARTS = 2.05194178, (-4.46841888, -2.62531538, 2.89166077, 4.20207348)
FIRST_MEETING = -0.14396738
"""coef."""
FIRST_START, FIRST_START_SE = -2.4164771, 1.6248251
"""Slope at the first start, and its standard error from vcov."""


def records() -> tuple[RaceSlopes, pl.DataFrame]:
    """Return the slope of each race and its rows."""
    table = pl.read_csv(Path(__file__).parents[1] / "ratings" / "data" / "draw_slopes.csv")
    d = across(table["stall"].to_numpy(), table["runners"].to_numpy())
    found = race_slopes(d[:, None], table["worth_lb"].to_numpy(), table["race"].to_numpy())
    return found, table.unique("race", keep="first", maintain_order=True)


def pooled(*, given: bool) -> Pooled:
    """Return the slopes pooled, at mgcv's spreads or at those found, without priors."""
    found, races = records()
    spread = SPREADS if given else dict.fromkeys(SPREADS)
    names = {of: tuple(str(k) for k in range(races[of].max() + 1)) for of in ("start", "meeting")}
    groups = [
        Group("whole", np.zeros(races.height, dtype=np.int64), ("",), spread=1e4),
        *(Group(of, races[of].to_numpy(), names[of], spread=spread[of]) for of in ("start", "meeting")),
    ]
    luck = found.by_luck[:, 0] * ((SCALE / found.error) ** 2 if given else 1.0)
    return pool(found.slope[:, 0], luck, groups, prior_sd=None, race=spread["race"])


def test_effects_are_those_of_mgcv() -> None:
    """At the same spreads every effect, and the error of a sum of effects, are mgcv's to five digits."""
    result = pooled(given=True)
    place = result.place
    wanted = [("whole", ""), *(("start", str(k)) for k in range(4)), ("meeting", "0")]
    mean, _ = result.joint([place[one] for one in wanted])
    assert mean == pytest.approx([WHOLE, *STARTS, FIRST_MEETING], abs=2e-5)
    mean, covariance = result.joint([place["whole", ""], place["start", "0"]])
    assert mean.sum() == pytest.approx(FIRST_START, abs=2e-5)
    assert np.sqrt(covariance.sum()) == pytest.approx(FIRST_START_SE, abs=2e-5)


def test_spreads_are_those_of_mgcv() -> None:
    """Found without priors, the error of a run is mgcv's to half a per cent and the spreads to two.

    mgcv finds all of them at once; here the error of a run comes from within races alone, so they differ a little.
    """
    assert records()[0].error == pytest.approx(SCALE, rel=5e-3)
    found = pooled(given=False).spread
    assert found["start"] == pytest.approx(SPREADS["start"], rel=0.02)
    assert found["race"] == pytest.approx(SPREADS["race"], rel=0.02)
    assert found["meeting"] == pytest.approx(SPREADS["meeting"], abs=0.3)
