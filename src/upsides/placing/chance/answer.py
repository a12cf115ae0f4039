"""A horse's chances in a race, against its actual entries or against the field to expect."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import gettext as _
from upsides.placing.chance.asked import Runner, Setting
from upsides.placing.chance.career import career_gained
from upsides.placing.chance.drawn import demand_of, draw_gained, figures_drawn, start_in, weight_lost
from upsides.placing.chance.expected import ExpectedField, Range
from upsides.placing.chance.finishing import chances_among, chances_past
from upsides.placing.chance.kept import Kept
from upsides.placing.chance.meeting import HIGH, LOW, Beside, Met, met, middle
from upsides.placing.chance.own import DRAWS, Own, own_of
from upsides.ratings.draw.worth import DrawAnswer, draw_at

Floats = NDArray[np.float64]


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
        shown: what it is expected to show over the trip, weight and draw not counted, lb: the middle, and four times in
            five between.
        rank: where it stands among the runners by what each would show on the day, luck left out, 1 the best: the
            middle, and four times in five between.
        career: what its career adds, lb.
        weighed: what its weight costs it against its rivals, lb: the mean.
        field_size, field_level: runners, ours among them; level of the rivals, lb: the middle, and four times in five
            between.
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
    rank: Range
    career: float
    weighed: float
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
    return chances_of_each([ours], own_of([ours], kept, seed), setting, field, kept, seed=seed)[0]


def chances_of_each(
    ours: Sequence[Runner], own: Sequence[Own], setting: Setting, field: Sequence[Runner] | ExpectedField, kept: Kept,
    *, entered: Collection[int] = (), seed: int = 0,
) -> list[Chances]:  # fmt: skip
    """Return the chances of several horses in a race, each by itself against the same field, in the order given.

    Those of them that are in the race already are in the field that all others meet, where the field is expected.

    Args:
        ours: the horses.
        own: what is drawn of each.
        setting: the race.
        field: the rivals, or the field to expect.
        kept: what is kept of the library.
        entered: which of ours are in the race already, by their place in `ours`.
        seed: of the draws.

    Raises:
        CannotFitError: there is no rival, or one is named twice.
    """
    if not isinstance(field, ExpectedField):
        for one in ours:
            _once([one, *field])
    demand = demand_of(setting, kept)
    figures = [drawn.figure(demand) for drawn in own]
    beside = {k: Beside(ours[k], figures[k] + own[k].career) for k in sorted(entered)}
    asked = [(one.stall, k if k in beside else None) for k, one in enumerate(ours)]
    fields = {
        (stall, k): met(stall, setting, field, kept, seed, [one for at, one in beside.items() if at != k])
        for stall, k in set(asked)
    }
    found = fields[asked[0]] if ours else None
    runners = max(2, round(found.size[0])) if found else 2
    draw = None if kept.draw is None else draw_at(kept.draw, start_in(setting, runners), kept.rules)
    return [
        _against(one, drawn, figure, fields[at], kept, draw)
        for one, drawn, figure, at in zip(ours, own, figures, asked, strict=True)
    ]


def _against(ours: Runner, own: Own, figure: Floats, field: Met, kept: Kept, draw: DrawAnswer | None) -> Chances:
    weighed = weight_against(ours, field, kept.weight_worth)
    shown = figure + own.career - weighed + field.gained
    among = chances_past(shown, field.best, kept.run_sd)
    return Chances(
        _chance(among[:, 0]),
        _chance(among[:, 2]),
        _chance(among[:, 3]),
        tuple(np.diff(among.mean(axis=0), prepend=0.0).tolist()),
        ours.runs,
        middle(figure),
        middle(1 + (field.shown > shown[:, None]).sum(axis=1)),
        own.career,
        float(weighed.mean()),
        field.size,
        field.level,
        field.races,
        draw,
        _notes(ours, own, kept),
    )


def weight_against(ours: Runner, field: Met, worth: float) -> Floats:
    """Return what a horse's weight costs it against each draw of its rivals, (draws,), lb; what is not known nothing.

    Args:
        ours: the horse.
        field: its rivals.
        worth: what a pound was found to be worth, lb.
    """
    more = (np.nan if ours.weight_lb is None else ours.weight_lb) - field.usual
    return np.asarray(np.nan_to_num(worth * more + ours.allowed_lb - field.allowed), dtype=np.float64)


def chances_of_all(field: Sequence[Runner], setting: Setting, kept: Kept, *, seed: int = 0) -> list[tuple[Chance, ...]]:
    """Return every runner's chances to win, to be among the first three and the first four, in the order given.

    Raises:
        CannotFitError: there is no rival, or one is named twice.
    """
    _once(field)
    figures = figures_drawn(field, setting, kept, DRAWS, seed)
    shown = figures - weight_lost(field, kept.weight_worth)
    shown = shown + career_gained([one.horse_key for one in field], kept.figures)
    shown = shown + draw_gained([one.stall for one in field], setting, kept, DRAWS, seed)
    there = np.random.default_rng([seed, 3]).random(shown.shape) < np.array([one.runs for one in field])
    among = chances_among(shown, there, kept.run_sd, 4, np.random.default_rng([seed, 2]))
    return [tuple(_chance(among[:, number, places - 1]) for places in (1, 3, 4)) for number in range(len(field))]


def _once(runners: Sequence[Runner]) -> None:
    keys = [one.horse_key for one in runners]
    if len(keys) < 2 or len(set(keys)) < len(keys):
        raise CannotFitError("field", _("it has no rival, or a runner twice"), _("name each runner once, two at least"))


def _chance(values: Floats) -> Chance:
    low, high = np.quantile(values, [LOW, HIGH])
    return Chance(float(values.mean()), float(low), float(high))


def _notes(ours: Runner, own: Own, kept: Kept) -> tuple[str, ...]:
    there = {
        "no trips": kept.model is None,
        "no draw": kept.draw is None,
        "no weight": ours.weight_lb is None,
        "not in library": not own.held,
    }
    return tuple(note for note, missing in there.items() if missing)
