"""Joint draws of what the runners of a race would show: level and trip together, weight, the draw.

    shown_i = figure_i(trip) + career_i - w (weight_i) - weight for age_i + stall_i * slope

The figure is drawn from a horse's level and best trip at once, because a better horse over another trip and a worse one
over this trip can look alike; never from their margins. The slope of the draw is one for the race: if low stalls have
the best of it, all low stalls have; how days differ beyond that is left to luck, which later races bear out
(docs/chances.md). A stall not yet drawn is drawn anew each time.
"""

from collections.abc import Sequence

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.placing.chance.asked import Runner, Setting
from upsides.placing.chance.kept import Kept
from upsides.ratings.draw.places import across
from upsides.ratings.draw.worth import Start, slope_at
from upsides.results.schema import RACES, polars_schema
from upsides.trip import shape
from upsides.trip.cases import Cases
from upsides.trip.demand import climbs_of, demands
from upsides.trip.posterior import Posterior, draws
from upsides.trip.scale import octaves

Floats = NDArray[np.float64]

UNKNOWN_SD = 10.0
"""How far a horse of which nothing is known may stand from the mean of all, lb, where no model of trips says it."""


def figures_drawn(runners: Sequence[Runner], setting: Setting, kept: Kept, count: int, seed: int) -> Floats:
    """Return joint draws of each runner's figure in a race, weight and draw not counted, (count, runners), lb."""
    if kept.model is None:
        return levels_drawn(runners, kept, count, np.random.default_rng(seed))
    return figures_from(posteriors_of(runners, kept), runners, demand_of(setting, kept), count, seed)


def figures_from(posts: Sequence[Posterior], runners: Sequence[Runner], demand: float, count: int, seed: int) -> Floats:
    """Return joint draws of figures at a demand from what is thought of each runner, (count, runners), lb."""
    columns = []
    for number, (runner, post) in enumerate(zip(runners, posts, strict=True)):
        own = _seed(seed, number)
        if runner.level is None:
            columns.append(draws(post, count, own).figure(demand))
        else:
            columns.append(np.random.default_rng(own).normal(*runner.level, count))
    return np.stack(columns, axis=1)


def _seed(seed: int, number: int) -> int:
    return int(np.random.SeedSequence([seed, number]).generate_state(1)[0])


def posteriors_of(runners: Sequence[Runner], kept: Kept) -> list[Posterior]:
    """Return what is thought of each runner's ability and trip, all evidence together."""
    if kept.model is None:
        raise ValueError("no model of trips is kept")
    keys = [runner.horse_key for runner in runners]
    asked = pl.DataFrame({"horse_key": keys}, schema={"horse_key": pl.String})
    known = kept.horses.filter(pl.col("horse_key").is_in(pl.Series(keys).implode())).collect()
    horses = asked.join(
        known.unique("horse_key", keep="last"), on="horse_key", how="left", maintain_order="left"
    ).select("horse_key", "sex", "suffix", "foaled")
    told = {runner.horse_key: runner.told for runner in runners}
    cases = Cases(kept.model, kept.figures, shape.unlearned(kept.model.given)).of(horses, told)
    return [case.answer() for case in cases]


def demand_of(setting: Setting, kept: Kept) -> float:
    """Return what the race asks of stamina, octaves of furlongs; its pace is taken as usual."""
    if kept.model is None:
        return float(octaves(setting.distance_m))
    row = {
        "race_key": "",
        "course": setting.course,
        "surface": setting.surface or None,
        "distance_m": setting.distance_m,
        "going": setting.going or None,
    }
    race = pl.DataFrame([row], schema=polars_schema(RACES))
    return float(demands(race, kept.model.given, climbs_of(kept.rules, kept.as_of))[0])


def levels_drawn(runners: Sequence[Runner], kept: Kept, count: int, rng: np.random.Generator) -> Floats:
    """Return draws of each runner's level, whatever the trip, (count, runners), lb."""
    keys = pl.Series([runner.horse_key for runner in runners], dtype=pl.String)
    rows = kept.levels.filter(pl.col("horse_key").is_in(keys.implode())).collect()
    known = {key: (level, sd) for key, level, sd in rows.rows()}
    nobody = (float(kept.manifest["base_lb"]), UNKNOWN_SD)
    said = [runner.level or known.get(runner.horse_key, nobody) for runner in runners]
    mean, sd = (np.array(part, dtype=np.float64) for part in zip(*said, strict=True))
    return np.asarray(mean + sd * rng.standard_normal((count, mean.size)), dtype=np.float64)


def weight_lost(runners: Sequence[Runner], weight_worth: float) -> Floats:
    """Return what weight costs each runner, lb; one whose weight is not known carries the mean of the others."""
    told = np.array([np.nan if one.weight_lb is None else one.weight_lb for one in runners], dtype=np.float64)
    known = np.isfinite(told)
    mean = float(told[known].mean()) if known.any() else 0.0
    allowed = np.array([one.allowed_lb for one in runners])
    off = np.where(known, told - mean, 0.0)
    return np.asarray(weight_worth * off + allowed, dtype=np.float64)


def draw_gained(stalls: Sequence[int | None], setting: Setting, kept: Kept, count: int, seed: int) -> Floats:
    """Return what the draw gives each runner, (count, runners), lb: one slope a draw for the whole race."""
    n = len(stalls)
    if kept.draw is None or n < 2:
        return np.zeros((count, n))
    rng = np.random.default_rng([seed, 1])
    slope = slope_at(kept.draw.draw, start_in(setting, n))
    places = across(stalls_drawn(stalls, count, rng), n)
    return np.asarray(places * rng.normal(slope.mean, slope.sd, (count, 1)))


def start_in(setting: Setting, runners: int) -> Start:
    """Return a race's start as the draw asks of it."""
    return Start(
        setting.course, setting.distance_m, setting.surface, setting.going, setting.rail, runners, setting.bend
    )


def stalls_drawn(stalls: Sequence[int | None], count: int, rng: np.random.Generator) -> Floats:
    """Return a place by stall for each runner and draw, (count, runners): those known stay, the others are drawn."""
    n = len(stalls)
    known = [one for one in stalls if one is not None]
    left = np.array([k for k in range(1, max(n, *known, 1) + 1) if k not in known][: n - len(known)], dtype=np.float64)
    out = np.empty((count, n))
    out[:] = [np.nan if one is None else float(one) for one in stalls]
    free = np.flatnonzero(np.isnan(out[0]))
    out[:, free] = rng.permuted(np.tile(left, (count, 1)), axis=1)
    return np.asarray(np.argsort(np.argsort(out, axis=1, kind="stable"), axis=1) + 1.0)
