"""A horse's chances in a race, against its actual entries or against the field to expect."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.placing.chance.asked import Runner, Setting
from upsides.placing.chance.career import career_gained
from upsides.placing.chance.drawn import draw_gained, figures_drawn, start_in, weight_lost
from upsides.placing.chance.expected import ExpectedField, Range
from upsides.placing.chance.finishing import chances_among
from upsides.placing.chance.kept import Kept
from upsides.ratings.draw.worth import DrawAnswer, draw_at

Floats = NDArray[np.float64]

DRAWS = 600
PLACES = 10
"""Places told one by one; behind them a place earns next to nothing."""
LOW, HIGH = 0.1, 0.9


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance, and between what it would lie, four times in five, if levels, trips and the day's draw were known."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Chances:
    """A horse's chances in a race, given that it runs.

    Attributes:
        win, place, first_four: to win; to be among the first three; among the first four.
        by_place: chance of exactly first, second, ...
        runs: chance that it gets a run.
        shown: what it is expected to show, lb: the middle, and four times in five between.
        field_size, field_level: of the rivals: the middle, and four times in five between.
        expected: races that the field was expected from; 0 where its entries are known.
        draw: the draw at the start; None where none is kept.
        notes: what was not known, as keys: "no trips", "no draw", "no weight", "not in library".
    """

    win: Chance
    place: Chance
    first_four: Chance
    by_place: tuple[float, ...]
    runs: float
    shown: Range
    field_size: Range
    field_level: Range
    expected: int
    draw: DrawAnswer | None
    notes: tuple[str, ...]


def chances(
    ours: Runner, setting: Setting, field: Sequence[Runner] | ExpectedField, kept: Kept, *, seed: int = 0
) -> Chances:
    """Return a horse's chances in a race.

    Args:
        ours: the horse.
        setting: the race.
        field: its rivals, or the field to expect.
        kept: what is kept of the library.
        seed: of the draws.

    Raises:
        CannotFitError: there is no rival, or one is named twice.
    """
    found = (
        _against_expected(ours, setting, field, kept, seed)
        if isinstance(field, ExpectedField)
        else _against_entries([replace(ours, runs=1.0), *field], setting, kept, seed)
    )
    among = chances_among(found.shown, found.there, kept.run_sd, PLACES, np.random.default_rng([seed, 2]))[:, 0]
    runners = max(2, round(found.size[0]))
    draw = None if kept.draw is None else draw_at(kept.draw, start_in(setting, runners), kept.rules)
    return Chances(
        _chance(among[:, 0]),
        _chance(among[:, 2]),
        _chance(among[:, 3]),
        tuple(np.diff(among.mean(axis=0), prepend=0.0).tolist()),
        ours.runs,
        _middle(found.own),
        found.size,
        found.level,
        found.races,
        draw,
        _notes(ours, kept),
    )


def chances_of_all(field: Sequence[Runner], setting: Setting, kept: Kept, *, seed: int = 0) -> list[tuple[Chance, ...]]:
    """Return every runner's chances to win, to be among the first three and the first four, in the order given.

    Raises:
        CannotFitError: there is no rival, or one is named twice.
    """
    found = _against_entries(field, setting, kept, seed)
    among = chances_among(found.shown, found.there, kept.run_sd, 4, np.random.default_rng([seed, 2]))
    return [tuple(_chance(among[:, number, places - 1]) for places in (1, 3, 4)) for number in range(len(field))]


@dataclass(frozen=True, slots=True)
class _Against:
    """Joint draws of a field, ours first: our figure, what each shows, who runs; size of the field, level of rivals."""

    own: Floats
    shown: Floats
    there: NDArray[np.bool_]
    size: Range
    level: Range
    races: int = 0


def _against_entries(runners: Sequence[Runner], setting: Setting, kept: Kept, seed: int) -> _Against:
    keys = [one.horse_key for one in runners]
    if len(keys) < 2 or len(set(keys)) < len(keys):
        raise CannotFitError("field", "it has no rival, or a runner twice", "name each runner once, two at least")
    figures = figures_drawn(runners, setting, kept, DRAWS, seed)
    shown = figures - weight_lost(runners, kept.weight_worth) + career_gained(keys, kept.figures)
    shown = shown + draw_gained([one.stall for one in runners], setting, kept, DRAWS, seed)
    chance = np.array([one.runs for one in runners])
    there = np.random.default_rng([seed, 3]).random(shown.shape) < chance
    rivals = np.where(there, figures, np.nan)[:, 1:]
    some = there[:, 1:].any(axis=1)
    level = np.nanmean(rivals[some], axis=1) if some.any() else figures[:, 1:].mean(axis=1)
    return _Against(figures[:, 0], shown, there, _middle(there.sum(axis=1)), _middle(level))


def _against_expected(ours: Runner, setting: Setting, field: ExpectedField, kept: Kept, seed: int) -> _Against:
    """Draw one past field each time; ours takes the place of one where the field would be too large."""
    rng = np.random.default_rng([seed, 4])
    largest = max(one.size for one in field.levels) + 1
    width = max(2, min(setting.most_runners or largest, largest))
    shown, there = np.zeros((DRAWS, width)), np.zeros((DRAWS, width), dtype=np.bool_)
    career = float(career_gained([ours.horse_key], kept.figures)[0])
    own = figures_drawn([ours], setting, kept, DRAWS, seed)[:, 0]
    shown[:, 0], there[:, 0] = own + career, True
    for row, k in enumerate(rng.choice(field.races, DRAWS, p=field.nearness)):
        rivals = rng.permutation(field.levels[k].size)[: width - 1]
        here = slice(1, 1 + rivals.size)
        weights, allowed = field.weights[k][rivals], field.allowed[k][rivals]
        usual = float(np.nanmean(weights)) if np.isfinite(weights).any() else ours.weight_lb or 0.0
        off = kept.weight_worth * np.where(np.isfinite(weights), weights - usual, 0.0) + allowed - allowed.mean()
        drawn = rng.normal(field.levels[k][rivals], field.errors[k][rivals])
        shown[row, here], there[row, here] = drawn - off, True
        mine = kept.weight_worth * ((ours.weight_lb or usual) - usual)
        shown[row, 0] -= mine + ours.allowed_lb - float(allowed.mean())
    shown = shown + _gained_among(there, ours, setting, kept, seed)
    return _Against(own, shown, there, field.size, field.level, field.races)


def _gained_among(there: NDArray[np.bool_], ours: Runner, setting: Setting, kept: Kept, seed: int) -> Floats:
    """Return what the draw gives ours and its rivals in fields of each size, lb."""
    gained = np.zeros(there.shape)
    sizes = there.sum(axis=1)
    for size in np.unique(sizes).tolist():
        rows = np.flatnonzero(sizes == size)
        stall = None if ours.stall is None else min(ours.stall, size)
        drawn = draw_gained([stall, *([None] * (size - 1))], setting, kept, rows.size, seed + size)
        gained[rows[:, None], np.arange(size)] = drawn
    return gained


def _chance(values: Floats) -> Chance:
    low, high = np.quantile(values, [LOW, HIGH])
    return Chance(float(values.mean()), float(low), float(high))


def _middle(values: Floats) -> Range:
    low, middle, high = np.quantile(values, [LOW, 0.5, HIGH]).tolist()
    return middle, low, high


def _notes(ours: Runner, kept: Kept) -> tuple[str, ...]:
    held = kept.horses.filter(pl.col("horse_key") == ours.horse_key).select(pl.len()).collect().item()
    there = {
        "no trips": kept.model is None,
        "no draw": kept.draw is None,
        "no weight": ours.weight_lb is None,
        "not in library": not held,
    }
    return tuple(note for note, missing in there.items() if missing)
