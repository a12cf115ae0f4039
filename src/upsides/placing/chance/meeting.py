"""A field as one of ours would meet it: drawn once, so that many horses can be asked, each by itself.

What is drawn of a field does not depend on who is asked against it, but for the stall of the one that asks.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.placing.chance.asked import Runner, Setting
from upsides.placing.chance.career import career_gained
from upsides.placing.chance.drawn import draw_gained, figures_drawn, weight_lost
from upsides.placing.chance.expected import ExpectedField, Range
from upsides.placing.chance.finishing import best_performances
from upsides.placing.chance.kept import Kept
from upsides.placing.chance.own import DRAWS

Floats = NDArray[np.float64]

PLACES: Final = 10
"""Places told one by one; behind them a place earns next to nothing."""
LOW, HIGH = 0.1, 0.9


@dataclass(frozen=True, slots=True)
class Met:
    """Joint draws of a field without ours, `DRAWS` of them.

    Attributes:
        best: (draws times lucks, places) the best performances of rivals, best first, lb.
        shown: (draws, rivals) what each would show on the day, lb; -inf for one that does not run.
        gained: (draws,) what the draw gives ours, lb.
        usual: (draws,) what rivals carry on average, lb; NaN where no weight is known.
        allowed: (draws,) the weight for age in that, lb.
        size: runners, ours among them: the middle, and four times in five between.
        level: mean level of the rivals, likewise, lb.
        races: past races that the field was expected from; 0 where its entries are known.
    """

    best: Floats
    shown: Floats
    gained: Floats
    usual: Floats
    allowed: Floats
    size: Range
    level: Range
    races: int = 0


@dataclass(frozen=True, slots=True)
class Beside:
    """A horse of ours that is in the race too, met as itself in a field that is otherwise expected.

    Attributes:
        runner: as it is entered.
        figure: (draws,) what it would show over the trip, its career counted in, weight and draw not, lb.
    """

    runner: Runner
    figure: Floats


def met(
    stall: int | None, setting: Setting, field: Sequence[Runner] | ExpectedField, kept: Kept, seed: int = 0,
    beside: Sequence[Beside] = (),
) -> Met:  # fmt: skip
    """Return a field as a horse would meet it.

    Args:
        stall: of the horse that asks, None before the draw.
        setting: the race.
        field: the rivals, or the field to expect.
        kept: what is kept of the library.
        seed: of the draws.
        beside: ours that are in the race, where the field is expected: they stand in the place of some of it.
    """
    if isinstance(field, ExpectedField):
        return _expected(stall, setting, field, kept, seed, beside)
    return _entered(stall, setting, field, kept, seed)


def _entered(stall: int | None, setting: Setting, rivals: Sequence[Runner], kept: Kept, seed: int) -> Met:
    if not rivals:
        raise CannotFitError("field", _("it has no rival"), _("name each runner once, two at least"))
    figures = figures_drawn(rivals, setting, kept, DRAWS, seed + 1)
    gained = draw_gained([stall, *(one.stall for one in rivals)], setting, kept, DRAWS, seed)
    shown = figures - weight_lost(rivals, kept.weight_worth) + gained[:, 1:]
    shown = shown + career_gained([one.horse_key for one in rivals], kept.figures)
    there = np.random.default_rng([seed, 3]).random(shown.shape) < np.array([one.runs for one in rivals])
    some = there.any(axis=1)
    running = np.where(there, figures, np.nan)
    level = np.nanmean(running[some], axis=1) if some.any() else figures.mean(axis=1)
    weights = [one.weight_lb for one in rivals if one.weight_lb is not None]
    usual = np.full(DRAWS, np.mean(weights) if weights else np.nan)
    shown = np.where(there, shown, -np.inf)
    size = 1 + there.sum(axis=1)
    return Met(_best(shown, kept, seed), shown, gained[:, 0], usual, np.zeros(DRAWS), middle(size), middle(level))


def _expected(
    stall: int | None, setting: Setting, field: ExpectedField, kept: Kept, seed: int, beside: Sequence[Beside]
) -> Met:  # fmt: skip
    """Draw one past field each time; ours takes the place of one where the field would be too large."""
    rng = np.random.default_rng([seed, 4])
    largest = max(one.size for one in field.levels) + 1
    width = max(2, min(setting.most_runners or largest, largest)) - 1
    ours, there = len(beside), _present(beside, seed)
    shown = np.full((DRAWS, ours + width), -np.inf)
    usual, carried, level = np.full(DRAWS, np.nan), np.zeros(DRAWS), np.zeros(DRAWS)
    figures = _figures(beside, seed)
    lb = np.array([np.nan if one.runner.weight_lb is None else one.runner.weight_lb for one in beside])
    off_age = np.array([one.runner.allowed_lb for one in beside])
    for row, k in enumerate(rng.choice(field.races, DRAWS, p=field.nearness)):
        mine = np.flatnonzero(there[row])
        rivals = rng.permutation(field.levels[k].size)[:width][mine.size :]
        weights = np.concatenate([lb[mine], field.weights[k][rivals]])
        allowed = np.concatenate([off_age[mine], field.allowed[k][rivals]])
        known = np.isfinite(weights)
        usual[row] = weights[known].mean() if known.any() else np.nan
        carried[row] = allowed.mean()
        off = kept.weight_worth * np.where(known, weights - usual[row], 0.0) + allowed - carried[row]
        theirs = rng.normal(field.levels[k][rivals], field.errors[k][rivals])
        level[row] = np.concatenate([figures[row, mine], field.levels[k][rivals]]).mean()
        there_too = np.concatenate([mine, ours + np.arange(rivals.size)])
        shown[row, there_too] = np.concatenate([figures[row, mine], theirs]) - off
    stalls = [*(one.runner.stall for one in beside), *[None] * width]
    gained = _gained(np.isfinite(shown), stall, stalls, setting, kept, seed)
    shown = shown + gained[:, 1:]
    size = 1 + np.isfinite(shown).sum(axis=1)
    around = middle(level) if ours else field.level
    return Met(_best(shown, kept, seed), shown, gained[:, 0], usual, carried, middle(size), around, field.races)


def _present(beside: Sequence[Beside], seed: int) -> NDArray[np.bool_]:
    """Return in which draws each of ours runs, (draws, ours)."""
    runs = np.array([one.runner.runs for one in beside])
    return np.random.default_rng([seed, 5]).random((DRAWS, len(beside))) < runs


def _figures(beside: Sequence[Beside], seed: int) -> Floats:
    """Return what each of ours would show, (draws, ours): each in an order of its own, as all were drawn alike."""
    rng = np.random.default_rng([seed, 6])
    return np.array([rng.permutation(one.figure) for one in beside]).reshape(-1, DRAWS).T


def _gained(
    there: NDArray[np.bool_], stall: int | None, stalls: Sequence[int | None], setting: Setting, kept: Kept, seed: int
) -> Floats:  # fmt: skip
    """Return what the draw gives ours and its rivals in fields of each size, (draws, 1 + rivals), lb."""
    gained = np.zeros((there.shape[0], 1 + there.shape[1]))
    fields, of = np.unique(there, axis=0, return_inverse=True)
    for number, field in enumerate(fields):
        rows, columns = np.flatnonzero(of.reshape(-1) == number), np.flatnonzero(field)
        size = columns.size + 1
        known = [None if one is None else min(one, size) for one in (stall, *(stalls[k] for k in columns.tolist()))]
        drawn = draw_gained(known, setting, kept, rows.size, seed + size)
        gained[rows[:, None], np.concatenate([[0], columns + 1])] = drawn
    return gained


def _best(shown: Floats, kept: Kept, seed: int) -> Floats:
    return best_performances(shown, kept.run_sd, PLACES, np.random.default_rng([seed, 2]))


def middle(values: NDArray[np.number]) -> Range:
    """Return the middle of draws, and between what four in five lie."""
    low, half, high = np.quantile(values, [LOW, 0.5, HIGH]).tolist()
    return half, low, high
