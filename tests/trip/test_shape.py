"""What shape says of trip, and what common practice expects of it."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from upsides.trip import shape
from upsides.trip.case import Case, Known
from upsides.trip.defaults import defaults
from upsides.trip.kinds import kind_chances
from upsides.trip.population import Population
from upsides.trip.prior import Relatives, genetic
from upsides.trip.pulls import best_furlongs, range_furlongs
from upsides.trip.runs import Runs
from upsides.trip.scale import GRID
from upsides.trip.traits import MIDDLE, TRAITS

GIVEN = defaults(date(2026, 1, 1))
P = Population(trip=3.0, trip_sd=0.4, ability=70.0, ability_sd=9.0, short=0.3, long=0.3, late=0.8, usual_slope=1.0)
NONE = Runs([""], np.array([0, 0]), *(np.empty(0) for _ in range(6)), np.array([False]), np.array([""]))
SPRINTER = {trait.name: MIDDLE - 3 * trait.longer for trait in TRAITS}
"""Heavy-topped, round-barrelled, strong-quartered: at the sprinter's end of whatever speaks of trip."""
STAYER = {trait.name: MIDDLE + 3 * trait.longer for trait in TRAITS}
"""Long, leggy, light-shouldered."""


def _family(furlongs: float, reliability: float = 0.6) -> Relatives:
    G = genetic(P, GIVEN)
    noise = np.diag([1e6, G[1, 1] * (1 - reliability) / reliability])
    error = np.linalg.inv(np.linalg.inv(G) + np.linalg.inv(noise))
    said = error @ np.linalg.solve(noise, [0.0, np.log2(furlongs) - P.trip])
    return Relatives(said, error, np.array([0.0, reliability]), 100)


def _case(reading: shape.Reading | None = None, **known: object) -> Case:
    told = Known(**known)  # type: ignore[arg-type]
    return Case(P, GIVEN, (P.ability, P.trip), told, NONE, 0.0, reading or shape.unlearned(GIVEN))


def _taught(correlation: float, horses: int, seed: int) -> shape.Reading:
    """Return what is read from horses of known trips whose shape truly goes with trip so far."""
    rng = np.random.default_rng(seed)
    z = rng.standard_normal(horses)
    q = correlation * z + np.sqrt(1 - correlation**2) * rng.standard_normal(horses)
    seen = P.trip + P.trip_sd * z[:, None] + rng.normal(0, 0.1, (horses, 1))
    density = np.exp(-0.5 * ((GRID - seen) / 0.1) ** 2)
    return shape.learn(q, density / density.sum(axis=1, keepdims=True), np.full(horses, P.trip), P, GIVEN)


def test_a_sprinting_shape_of_a_sprinting_family_is_a_sprinter() -> None:
    """The heavy-topped, round-barrelled, strong-quartered horse of a sprinting family comes out a sprinter.

    Common practice, no source.
    """
    horse = _case(relatives=_family(5.2, 0.8), shape=shape.score(SPRINTER))
    chances = kind_chances(horse.answer(), GIVEN)
    assert max(chances, key=lambda kind: chances[kind]) == "sprinter"
    assert best_furlongs(horse.answer()) < best_furlongs(horse.answer({"family"}))


def test_a_staying_shape_of_a_staying_family_is_no_sprinter() -> None:
    """The long, leggy, light-shouldered horse of a mile-and-a-half family comes out a middle-distance horse or stayer.

    Common practice, no source.
    """
    horse = _case(relatives=_family(14.5, 0.8), shape=shape.score(STAYER))
    chances = kind_chances(horse.answer(), GIVEN)
    assert chances["stayer"] + chances["middle distance"] > 0.6
    assert best_furlongs(horse.answer()) > best_furlongs(horse.answer({"family"}))


def test_shape_that_disagrees_with_family_widens_the_curve() -> None:
    """A staying shape on a sprinting family leaves a wider curve, in octaves, than one that agrees.

    So it is at a yard whose horses bore shape out, and no narrower before any horse has. Common practice, no source.
    """
    for reading, margin in ((_taught(0.5, 40, 1), 0.0), (shape.unlearned(GIVEN), -0.02)):
        widths = []
        for q in (shape.score(SPRINTER), shape.score(STAYER)):
            low, high = range_furlongs(_case(reading, relatives=_family(5.5), shape=q).answer(), 0.9)
            widths.append(np.log2(high / low))
        assert widths[1] > widths[0] + margin


def test_shape_says_next_to_nothing_at_first() -> None:
    """Before a yard's own horses speak the most extreme shape moves a horse by less than a furlong at a mile.

    Published support is thin: sprinters and routers did not differ in 260 yearlings (Smith and others 2006).
    """
    plain = best_furlongs(_case().answer())
    for traits in (SPRINTER, STAYER):
        assert abs(best_furlongs(_case(shape=shape.score(traits)).answer()) - plain) < 1.0


@pytest.mark.parametrize("truth", [0.0, 0.5, -0.4])
def test_a_yards_own_horses_teach_it(truth: float) -> None:
    """From 300 horses the correlation comes back to four standard deviations; few horses leave it near the start."""
    taught = _taught(truth, 300, seed=7)
    assert abs(taught.mean - truth) < 4 * taught.sd
    assert taught.sd < 0.06
    few = _taught(truth, 2, seed=8)
    assert abs(few.mean - GIVEN.shape) < 0.1
    assert few.sd > 0.07


def test_scores_point_where_common_practice_says() -> None:
    """The score runs from short to long, is nought for an average horse, and needs a trait that speaks of trip."""
    assert shape.score(SPRINTER) == -3.0
    assert shape.score(STAYER) == 3.0
    assert shape.score(dict.fromkeys(SPRINTER, MIDDLE)) == 0.0
    silent = next(trait.name for trait in TRAITS if not trait.longer)
    assert shape.score({silent: 9}) is None
    assert shape.score({}) is None


def test_two_beatings_in_the_last_furlong_move_it_shorter() -> None:
    """Beaten twice in the last furlong over a mile, a horse is taken for shorter than one beaten as far that ran on.

    Common practice, no source.
    """
    y, x, day = np.array([76.0, 62.0, 63.0]), np.log2([7.0, 8.0, 8.0]), np.array([0.0, 30.0, 60.0])

    def run(late: list[float]) -> float:
        runs = Runs(["a"], np.array([0, 3]), y, np.full(3, 30.0), x, np.array(late), day, np.full(3, np.nan),
                    np.array([False]), np.array([""]))  # fmt: skip
        return best_furlongs(replace(_case(), runs=runs, _said={}).answer())

    assert run([0.5, -1.8, -1.8]) < run([0.5, 0.0, 0.0])
    before = replace(_case(), runs=replace(NONE, keys=["a"]), _said={})
    first = Runs(["a"], np.array([0, 1]), y[:1], np.full(1, 30.0), x[:1], np.array([0.5]), day[:1], np.full(1, np.nan),
                 np.array([False]), np.array([""]))  # fmt: skip
    assert run([0.5, -1.8, -1.8]) < best_furlongs(replace(before, runs=first, _said={}).answer())
