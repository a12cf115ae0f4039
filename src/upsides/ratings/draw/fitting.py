"""The draw, and the break, of a library: slopes of its races, pooled over what races share.

What a run was worth beyond what all other runs expect of the horse is laid against its place across the stalls, race by
race. The slope of a race is that of the library, its course, its start (course, trip and surface), the start's going,
rail and size of field, its meeting, its own, and luck. The break is the same with the place early in the race: what
first away was worth against last away, at the same stall.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.ratings.draw.places import across, stall_place
from upsides.ratings.draw.pooling import Group, Pooled, pool
from upsides.ratings.draw.restless import restlessness
from upsides.ratings.draw.sides import turned_round
from upsides.ratings.draw.slopes import RaceSlopes, race_slopes
from upsides.results.schema import STARTED
from upsides.rules import NONE, Overrides
from upsides.rules.slowness import SLOWNESS, slowness

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Key = tuple[str, ...]
"""() for the library, (course, surface), or (course, surface, metres)."""

USUAL_FIELD, FIELD_STEP = 12.0, 4.0
"""Field sizes count from a dozen, in steps of four."""

WHOLE_SD = {"draw": 5.0, "break": 10.0}
"""Prior standard deviation of a library's own slope, lb from end to end: our own choice, wide."""
SIZE_SD = 3.0
"""The same of what four runners more change."""

FEWEST_RACES = 20


@dataclass(frozen=True, slots=True)
class Block:
    """What is known of the slope at one place: effects that add up, by label.

    Attributes:
        labels: what each effect is of.
        mean: (effects,) lb from the lowest stall to the highest, or from last away to first.
        covariance: (effects, effects) lb^2.
        races: races behind it.
        restless: how far its meetings and races stand from the mean, against the library's usual start.
    """

    labels: tuple[str, ...]
    mean: Floats
    covariance: Floats
    races: int
    restless: float = 1.0


@dataclass(frozen=True, slots=True)
class Slopes:
    """Slopes of one kind, draw or break.

    Attributes:
        blocks: by place.
        spread: of each group and of "race", lb.
        error: of a run within its race, lb.
    """

    blocks: dict[Key, Block]
    spread: dict[str, float]
    error: float


@dataclass(frozen=True, slots=True)
class DrawFit:
    """The draw and the break of a library.

    Attributes:
        as_of: results before this day went in.
        draw: by place across the stalls.
        away: by place early in the race; None where too few races were timed.
    """

    as_of: date
    draw: Slopes
    away: Slopes | None


def ground(going: str | None, surface: str | None) -> str:
    """Return the going as the draw tells it apart: on turf faster than good, good, slower; elsewhere as written."""
    if not going:
        return ""
    try:
        steps = slowness(going, "main") - SLOWNESS["good"]
    except UnreadableError:
        return going.lower()
    if surface not in {None, "", "turf"}:
        return going.lower()
    return "good" if steps == 0 else "faster" if steps < 0 else "slower"


def start_of(course: str | None, surface: str | None, distance_m: float | None) -> Key:
    """Return the key of a start."""
    return (course or "", surface or "", "" if distance_m is None else f"{distance_m:.0f}")


def fit_draw(
    races: pl.DataFrame, runs: pl.DataFrame, figures: pl.DataFrame, as_of: date, overrides: Overrides = NONE
) -> DrawFit:
    """Fit the draw and the break.

    Args:
        races: of the results schema.
        runs: likewise, with `horse_key`.
        figures: of a fit: race_key, horse_key, figure_lb, expected_lb.
        as_of: day of the fit; stalls are counted as they are numbered on it.
        overrides: the yard's own rules.

    Raises:
        CannotFitError: fewer than 20 races have a full draw and runs with figures.
    """
    rows = draw_rows(races, runs, figures, as_of, overrides)
    table = rows.unique("race_key", keep="first", maintain_order=True)
    race = _numbers(rows["race_key"])
    worth = (rows["figure_lb"] - rows["expected_lb"]).to_numpy()
    d = rows["across"].to_numpy()
    drawn = race_slopes(d[:, None], worth, race)
    if drawn.race.size < FEWEST_RACES:
        reason = _("only {size} races have a full draw and figures", size=drawn.race.size)
        raise CannotFitError("draw", reason, _("add more results, then fit again"))
    return DrawFit(as_of, _slopes("draw", table, drawn, 0), _away(table, rows, race, worth, d))


def _away(table: pl.DataFrame, rows: pl.DataFrame, race: Ints, worth: Floats, d: Floats) -> Slopes | None:
    early = rows["early"].to_numpy()
    timed = np.isfinite(early)
    first_away = -early[timed]
    found = race_slopes(np.column_stack([d[timed], first_away]), worth[timed], race[timed])
    return None if found.race.size < FEWEST_RACES else _slopes("break", table, found, 1)


def draw_rows(
    races: pl.DataFrame, runs: pl.DataFrame, figures: pl.DataFrame, as_of: date, overrides: Overrides = NONE
) -> pl.DataFrame:
    """Return the runs with figures of races whose draw is known in full, race by race in order of time.

    Columns: race_key, horse_key, figure_lb, expected_lb, `across` (-1/2 the lowest stall, as numbered on the day of the
    fit), `early` (-1/2 in front, 1/2 last at the first timed point; NaN where not known), `field`, and of the race
    date, course, surface, distance_m, going, rail, bend.
    """
    about = races.select(
        "race_key", "date", "course", "country", "surface", "distance_m", "going", "rail", "bend"
    ).with_columns(turned=pl.Series(turned_round(races, as_of, overrides), dtype=pl.Boolean))
    started = runs.filter(pl.col("outcome").is_in(STARTED)).select(
        "race_key", "horse_key", stall=pl.coalesce("started_from", "draw"),
        first=pl.col("section_position").list.get(0, null_on_oob=True).cast(pl.Float64),
    )  # fmt: skip
    full = (pl.col("stall").is_not_null().all() & (pl.col("stall").n_unique() == pl.len())).over("race_key")
    started = started.filter(full, pl.len().over("race_key") >= 2).sort("race_key", "stall")
    if started.is_empty():
        raise CannotFitError("draw", _("no race has a full draw"), _("import tables that say each runner's stall"))
    offsets = np.concatenate([[0], np.cumsum(started.group_by("race_key", maintain_order=True).len()["len"])])
    place, field = stall_place(started["stall"].to_numpy(), offsets)
    early = (pl.col("first").rank("average") - 1) / (pl.col("first").count() - 1) - 0.5
    known = started.with_columns(
        across=pl.Series(across(place, field)), field=pl.Series(field), early=early.over("race_key").fill_nan(None)
    )
    turned = pl.when("turned").then(-pl.col("across")).otherwise("across")
    return (
        known.join(about, on="race_key", maintain_order="left")
        .join(figures.select("race_key", "horse_key", "figure_lb", "expected_lb"), on=["race_key", "horse_key"])
        .with_columns(across=turned, early=pl.col("early").fill_null(np.nan))
        .sort("date", "race_key", "stall")
    )


def _numbers(names: pl.Series) -> Ints:
    return names.rle_id().cast(pl.Int64).to_numpy().copy()


def _slopes(kind: str, table: pl.DataFrame, found: RaceSlopes, column: int) -> Slopes:
    here = table[found.race]
    slope, by_luck = found.slope[:, column], found.by_luck[:, column]
    starts = [start_of(*row) for row in here.select("course", "surface", "distance_m").rows()]
    restless = restlessness(slope, by_luck, starts)
    by_race = np.array([restless[start] for start in starts])
    pooled = pool(slope, by_luck, _groups(kind, here, starts, by_race), restless=by_race)
    return Slopes(_blocks(pooled, starts, restless), pooled.spread, found.error)


def _groups(kind: str, here: pl.DataFrame, starts: list[Key], restless: Floats) -> list[Group]:
    """Return what races share; a group with one member says nothing beside the group above and is left out."""
    n = here.height
    size = (here["field"].to_numpy() - USUAL_FIELD) / FIELD_STEP
    nought = np.zeros(n, dtype=np.int64)
    goings = [ground(*row) for row in here.select("going", "surface").rows()]
    rails = here["rail"].fill_null("").to_list()
    meetings = [(*start[:2], str(day)) for start, day in zip(starts, here["date"], strict=True)]
    whole = [
        Group("whole", nought, ("",), spread=WHOLE_SD[kind]),
        Group("size", nought, ("",), size, spread=SIZE_SD),
        Group("straight", np.where(here["bend"].fill_null("") == "straight", 0, -1), ("",), spread=WHOLE_SD[kind]),
    ]
    below = [
        _group("course", [start[:2] for start in starts]),
        _group("start", starts),
        _group("going", [(*s, g) if g else () for s, g in zip(starts, goings, strict=True)]),
        _group("rail", [(*s, r) if r else () for s, r in zip(starts, rails, strict=True)]),
        _group("start size", starts, size),
        _group("meeting", meetings, restless),
    ]
    straight = whole[2].code >= 0
    kept = whole if straight.any() and not straight.all() else whole[:2]
    return kept + [group for group in below if len(group.labels) > 1]


def _group(name: str, members: Sequence[Key], times: Floats | None = None) -> Group:
    labels = sorted({member for member in members if member})
    number = {label: i for i, label in enumerate(labels)}
    code = np.array([number.get(member, -1) for member in members], dtype=np.int64)
    return Group(name, code, tuple("|".join(label) for label in labels), times)


def _blocks(pooled: Pooled, starts: list[Key], restless: dict[Key, float]) -> dict[Key, Block]:
    count: dict[Key, int] = {}
    for start in starts:
        for key in ((), start[:2], start):
            count[key] = count.get(key, 0) + 1
    return {key: _block(pooled, key, races, restless.get(key, 1.0)) for key, races in count.items()}


def _block(pooled: Pooled, key: Key, races: int, restless: float) -> Block:
    name = "|".join(key)
    wanted = {("whole", ""): "whole", ("size", ""): "size", ("straight", ""): "straight"}
    if key:
        wanted[("course", "|".join(key[:2]))] = "course"
    if len(key) == 3:
        wanted |= {("start", name): "start", ("start size", name): "start size"}
        wanted |= {
            (group, label): f"{group}|{label.removeprefix(name + '|')}"
            for group, label in pooled.place
            if group in {"going", "rail"} and label.startswith(name + "|")
        }
    there = [(effect, label) for effect, label in wanted.items() if effect in pooled.place]
    mean, covariance = pooled.joint([pooled.place[effect] for effect, _ in there])
    return Block(tuple(label for _, label in there), mean, covariance, races, restless)
