"""Is it any good? Later races foretold from the morning of the last fit before, with and without each piece.

Every so many days the library is fitted as known that morning: levels, trips and the draw. Races up to the next such
morning are foretold from that; riders, and how the yard does, are not asked. What trips are is learned once, before the
first day judged.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.placing.chance.asked import Runner, Setting
from upsides.placing.chance.career import career_gained
from upsides.placing.chance.drawn import demand_of, figures_from, levels_drawn, posteriors_of, start_in, weight_lost
from upsides.placing.chance.finishing import chances_among
from upsides.placing.chance.judging_fields import fields_between, fields_scored
from upsides.placing.chance.kept import Kept
from upsides.placing.chance.luck import read_luck
from upsides.ratings.draw.fitting import fit_draw
from upsides.ratings.draw.places import across
from upsides.ratings.draw.worth import slope_at
from upsides.ratings.evaluation import Score, calibration, losses, score
from upsides.ratings.fits import fit_of
from upsides.results.library import Library
from upsides.results.schema import STARTED
from upsides.rules import own_rules
from upsides.trip.judging import known_on
from upsides.trip.learning import Progress
from upsides.trip.model import TripModel

Floats = NDArray[np.float64]

EVERY = 91
"""Days between the mornings on which the library is fitted anew."""
DRAWS = 100
LUCKS = 8
FEWEST_RACES = 30
PIECES = ("trip", "career", "weight", "draw")
EVENTS = (("win", 1), ("place", 3), ("first_four", 4))


@dataclass(frozen=True, slots=True)
class Foretold:
    """A race as it could be foretold, and how it ended.

    Attributes:
        figures: (draws, runners) joint draws of level and trip, lb.
        levels: (draws, runners) draws of the level alone.
        career: (runners,) what the horse's career adds, lb.
        lost: (runners,) what weight costs, lb.
        gained: (draws, runners) what the draw gives, lb.
        run_sd: luck, lb, as the fit and the library's usual luck have it.
        position: (runners,) NaN for one that did not finish.
    """

    figures: Floats
    levels: Floats
    career: Floats
    lost: Floats
    gained: Floats
    run_sd: float
    position: Floats

    def shown(self, without: str = "") -> Floats:
        """Return what each shows in each draw, lb, with one piece left out."""
        base = self.levels if without == "trip" else self.figures
        lost = 0.0 if without == "weight" else self.lost
        career = 0.0 if without == "career" else self.career
        return np.asarray(base + career - lost + (0.0 if without == "draw" else self.gained))


def judge(
    library: Library, first: date, last: date | None = None, *, seed: int = 0,
    progress: Progress = lambda _done, _what: None,
) -> dict[str, Any]:  # fmt: skip
    """Judge chances on the races of some days.

    Returns:
        races, log_loss, log_loss_uniform, pseudo_r2 and pseudo_r2_se, pieces (name, worth: pseudo-R2 lost without it,
        and worth_se), calibration of win, place and first_four, luck (`used`, and `best`: what would have foretold the
        winners best; `luck.keep_luck` keeps it), and fields (`fields_scored`).

    Raises:
        CannotFitError: fewer than 30 races can be foretold.
    """
    end = (last or _last_day(library)) + timedelta(days=1)
    mornings = [first + timedelta(days=EVERY * k) for k in range(max(1, -(-(end - first).days // EVERY)))]
    model, found, fields = None, [], []
    for turn, day in enumerate(mornings):
        progress(0.9 * turn / len(mornings), f"chances from {day}")
        kept, model = kept_on(library, day, model, seed)
        until = min(end, day + timedelta(days=EVERY))
        found += foretold_between(library, kept, day, until, seed)
        fields += fields_between(library, kept, day, until)
    if len(found) < FEWEST_RACES:
        raise CannotFitError(
            "chances", _("only {count} races can be foretold", count=len(found)), _("judge a longer time")
        )
    progress(0.9, "what each piece is worth")
    return scored(found, read_luck(library.folder)) | {"fields": fields_scored(fields)}


def kept_on(library: Library, day: date, model: TripModel | None, seed: int) -> tuple[Kept, TripModel]:
    """Return what would be kept of a library on a morning, and its model of trips."""
    fit = fit_of(library, day, seed=seed)
    rules = own_rules(library.folder)
    known = known_on(library, fit, model, seed)
    races, runs = library.races(day).collect(), library.runs(day).collect()
    try:
        draw = fit_draw(races, runs, fit.figures, day, rules)
    except CannotFitError:
        draw = None
    levels = fit.horses.select("horse_key", "level_lb", "sd_lb").lazy()
    horses = library.horses().select("horse_key", "sex", "suffix", "foaled")
    return Kept(
        day,
        levels,
        fit.levels.lazy(),
        fit.figures.lazy(),
        horses,
        fit.manifest,
        known,
        draw,
        rules,
        read_luck(library.folder),
    ), known


def foretold_between(library: Library, kept: Kept, first: date, until: date, seed: int) -> list[Foretold]:
    """Return the flat races of some days, as they could be foretold from what is kept."""
    races = library.races().filter(
        pl.col("date") >= first, pl.col("date") < until, pl.col("code").fill_null("flat") == "flat",
        pl.col("distance_m").is_not_null(),
    ).collect().sort("date", "race_key")  # fmt: skip
    runs = library.runs().filter(
        pl.col("race_key").is_in(races["race_key"].implode()), pl.col("outcome").is_in(STARTED)
    ).select(
        "race_key", "horse_key", "position", stall=pl.coalesce("started_from", "draw"),
        weight=pl.col("carried_lb") + pl.col("claim_lb").fill_null(0.0),
    ).collect()  # fmt: skip
    keys = runs["horse_key"].unique(maintain_order=True).to_list()
    posts = dict(zip(keys, posteriors_of([Runner(key) for key in keys], kept), strict=True))
    fields = runs.sort("race_key", "stall", "horse_key").partition_by("race_key", as_dict=True)
    found = []
    for number, race in enumerate(races.iter_rows(named=True)):
        field = fields.get((race["race_key"],))
        if field is None or field.height < 2 or not (field["position"] == 1).any():
            continue
        runners = [Runner(key, weight) for key, weight in field.select("horse_key", "weight").rows()]
        surface, going, rail, bend = (race[name] or "" for name in ("surface", "going", "rail", "bend"))
        setting = Setting(race["date"], race["course"] or "", race["distance_m"], surface, going, rail, bend)
        mine = [posts[one.horse_key] for one in runners]
        rng = np.random.default_rng([seed, number])
        found.append(
            Foretold(
                figures_from(mine, runners, demand_of(setting, kept), DRAWS, seed + number),
                levels_drawn(runners, kept, DRAWS, rng),
                career_gained([one.horse_key for one in runners], kept.figures),
                weight_lost(runners, kept.weight_worth),
                _gained(field["stall"], setting, kept, rng),
                kept.run_sd,
                field["position"].cast(pl.Float64).fill_null(np.nan).to_numpy(),
            )
        )
    return found


def _gained(stall: pl.Series, setting: Setting, kept: Kept, rng: np.random.Generator) -> Floats:
    """Return what known stalls give, (draws, runners), lb; nothing where the draw is not known in full."""
    n = len(stall)
    if kept.draw is None or stall.null_count() or stall.n_unique() < n:
        return np.zeros((DRAWS, n))
    slope = slope_at(kept.draw.draw, start_in(setting, n))
    today = slope.mean + slope.sd * rng.standard_normal((DRAWS, 1))
    return np.asarray(today * across(stall.rank().to_numpy(), n))


def scored(found: list[Foretold], used: float) -> dict[str, Any]:
    """Return how good the chances were, and what each piece was worth.

    Args:
        found: the races.
        used: luck that they were foretold with, against the error of a run.
    """
    offsets = np.concatenate([[0], np.cumsum([one.position.size for one in found])]).astype(np.int64)
    position = np.concatenate([one.position for one in found])
    won = position == 1
    among = _among(found)
    whole = score(_even(among[:, 0], offsets), offsets, won)
    base, uniform = losses(_even(among[:, 0], offsets), offsets, won)
    pieces = []
    for piece in PIECES:
        without, _ = losses(_even(_among(found, piece)[:, 0], offsets), offsets, won)
        cost = (without - base) / uniform.mean()
        pieces.append({"name": piece, "worth": float(cost.mean()), "worth_se": float(cost.std() / np.sqrt(cost.size))})
    finished = np.nan_to_num(position, nan=np.inf)
    return {
        **_told(whole),
        "pieces": pieces,
        "calibration": {name: calibration(among[:, places - 1], finished <= places) for name, places in EVENTS},
        "luck": {"used": used, "best": used * _best_luck(found, offsets, won)},
    }


def _told(whole: Score) -> Mapping[str, float]:
    return {
        "races": whole.races,
        "log_loss": whole.log_loss,
        "log_loss_uniform": whole.log_loss_uniform,
        "pseudo_r2": whole.pseudo_r2,
        "pseudo_r2_se": whole.error,
    }


def _among(found: list[Foretold], without: str = "", luck: float = 1.0) -> Floats:
    """Return each runner's chance to be among the first one to four, all races on end, (runners, 4)."""
    rng = np.random.default_rng(7)
    each = []
    for one in found:
        shown = one.shown(without)
        there = np.ones(shown.shape, dtype=np.bool_)
        each.append(chances_among(shown, there, luck * one.run_sd, 4, rng, LUCKS).mean(axis=0))
    return np.concatenate(each)


def _even(chance: Floats, offsets: NDArray[np.int64]) -> Floats:
    """Return chances to win made to add up to 1 in each race, which luck drawn leaves a little off."""
    return np.asarray(chance / np.repeat(np.add.reduceat(chance, offsets[:-1]), np.diff(offsets)))


def _best_luck(found: list[Foretold], offsets: NDArray[np.int64], won: NDArray[np.bool_]) -> float:
    tried = np.array([0.4, 0.6, 0.8, 1.0, 1.25, 1.6])
    loss = [losses(_even(_among(found, luck=luck)[:, 0], offsets), offsets, won)[0].mean() for luck in tried]
    best = int(np.clip(np.argmin(loss), 1, tried.size - 2))
    a, b, _ = np.polyfit(np.log(tried[best - 1 : best + 2]), loss[best - 1 : best + 2], 2)
    return float(np.exp(np.clip(-b / (2 * a), np.log(tried[0]), np.log(tried[-1]))))


def _last_day(library: Library) -> date:
    last: date | None = library.races().select(pl.col("date").max()).collect().item()
    if last is None:
        raise CannotFitError("chances", _("the library holds no races"), _("add results first"))
    return last
