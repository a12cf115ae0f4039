"""Race and horse levels of real runs against R's lme4."""

import os
from pathlib import Path

import polars as pl
import pytest

from upsides.ratings.connected import connected
from upsides.ratings.crossed import fit_crossed

RESULTS = Path(os.environ.get("UPSIDES_SHARED", "../shared/data")) / "results"


@pytest.fixture(scope="module")
def runs() -> pl.DataFrame:
    if not (RESULTS / "hk1997_runs.csv.gz").exists():
        pytest.skip(f"the real results are not here: {RESULTS} (set UPSIDES_SHARED)")
    columns = ["race_id", "horse_id", "lengths_behind", "actual_weight"]
    table = pl.read_csv(RESULTS / "hk1997_runs.csv.gz", columns=columns)
    races = pl.read_csv(RESULTS / "hk1997_races.csv.gz", columns=["race_id", "distance"])
    pounds = pl.col("lengths_behind").clip(upper_bound=20.0) * 15 / (pl.col("distance") / 201.168)
    joined = table.join(races, on="race_id", maintain_order="left")
    return joined.with_columns(y=pl.col("actual_weight") - pounds)


def test_real_runs_agree_with_lme4(runs: pl.DataFrame) -> None:
    """The exact fit gives what lme4 1.1-31 gave on the same 59,505 runs, and no worse a deviance.

    `lmer(y ~ 1 + (1 | horse) + (1 | race))`: 5.82111322, 8.70661715, 9.42117966, criterion 452291.45140944.
    """
    fit = fit_crossed(*(runs[name].to_numpy() for name in ("y", "race_id", "horse_id")))
    assert fit.exact
    assert fit.converged
    sds = [fit.sd_race, fit.sd_horse, fit.sd_residual]
    assert sds == pytest.approx([5.82111, 8.70662, 9.42118], abs=2e-5)
    assert fit.deviance == pytest.approx(452291.451409, abs=2e-6)
    assert fit.beta == pytest.approx([110.639814], abs=1e-5)


def test_iterative_levels_of_real_runs(runs: pl.DataFrame) -> None:
    """The iterative fit of the same runs is within 4 of its Monte Carlo errors of lme4's numbers."""
    fit = fit_crossed(*(runs[name].to_numpy() for name in ("y", "race_id", "horse_id")), exact_below=0)
    assert abs(fit.sd_race - 5.82111322) < 4 * fit.sd_race_mc
    assert abs(fit.sd_horse - 8.70661715) < 4 * fit.sd_horse_mc
    assert abs(fit.sd_residual - 9.42117966) < 4 * fit.sd_residual_mc
    assert abs(fit.deviance - 452291.45140944) < 4 * fit.deviance_mc


def test_real_runs_hang_together(runs: pl.DataFrame) -> None:
    """All 4,759 races and 3,533 horses of the real table are linked by shared runners."""
    found = connected(runs["race_id"].to_numpy(), runs["horse_id"].to_numpy())
    assert found.races.size == 4759
    assert found.horses.size == 3533
    assert found.group_runs.sum() == 59505
    assert found.group_runs[0] > 59000
