"""Works judged: what a gap says of two horses when nobody knows what either had left; truth is simulated."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from numpy.typing import NDArray
from scipy.stats import gamma, norm

import worlds
from upsides.demo import rulebook
from upsides.errors import WorkWordError
from upsides.ratings.levels import field, fitting
from upsides.ratings.levels import posterior as posteriors
from upsides.recordings.company import Outcome
from upsides.recordings.judging import (
    USUAL,
    Belief,
    Beside,
    JudgedWork,
    Ridden,
    log_likelihood,
    margin_lb,
    with_works,
)
from upsides.recordings.judging.judged import less_reserve
from upsides.recordings.work import Work
from upsides.rules import read_overrides
from upsides.trip.from_work import speed_in_work

Floats = NDArray[np.float64]
LEFT = ("nothing", "little", "some", "plenty", "hard_held")
ORDERED = ("easy", "steady", "half_speed", "three_quarter", "bridle", "let_down", "asked")
RIDER_KG = 63.0
KG = 0.45359237
PRIOR = (70.0, 9.0)


def work(mine: Ridden, other: Ridden, ahead_lb: float = 0.0, *, level: float = 70.0, sd: float = 4.0) -> JudgedWork:
    """Return a work beside one horse of known level."""
    return JudgedWork(mine, (Beside("b", level, sd, other, ahead_lb, 4.0),))


def ridden(left: str, instruction: str = "bridle", kg: float = RIDER_KG) -> Ridden:
    """Return how a horse was ridden by a rider of the usual weight."""
    return Ridden(left, instruction, kg)


def after(*works: JudgedWork) -> Belief:
    """Return what is thought of a horse after works."""
    return with_works(*PRIOR, works)


# What is shown: against SciPy's distributions, convolved numerically.


@pytest.mark.parametrize(("sd", "reserve"), [(11.0, 2.0), (8.0, 40.0), (12.0, 15.0)])
def test_normal_less_gamma_is_the_convolution(sd: float, reserve: float) -> None:
    """The density of a normal less a gamma variable of shape 2 is SciPy's two densities convolved, to 1e-6."""
    x = np.linspace(-80.0, 30.0, 23)
    r = np.linspace(0.0, 14.0 * reserve, 40001)
    by_hand = [
        np.trapezoid(norm.pdf(each + r, 0.0, sd) * gamma.pdf(r, 2.0, scale=0.5 * reserve), r) for each in x.tolist()
    ]
    assert np.exp(less_reserve(x, np.zeros(1), sd, reserve)) == pytest.approx(np.array(by_hand), abs=1e-6)


def test_nothing_is_lost_far_out() -> None:
    """The logarithm of the density is finite for tiny and huge reserves, far on either side."""
    for reserve in (0.3, 2.0, 700.0):
        assert np.isfinite(less_reserve(np.linspace(-3000.0, 300.0, 1000), np.zeros(1), 8.0, reserve)).all()


def test_one_work_is_what_simulation_says() -> None:
    """The likelihood of levels by one work is the share of simulated works that show such a gap (four errors)."""
    mine, other = ridden("some", "asked"), ridden("plenty", "asked")
    sure = replace(USUAL, words_log_sd=0.0)
    said = np.exp(log_likelihood([work(mine, other, 6.0)], np.array([60.0, 70.0, 80.0, 90.0]), sure)[:, 0])
    rng = np.random.default_rng(1)
    n, width = 400_000, 1.0
    shown = rng.normal(70.0, np.hypot(4.0, 8.0), n) - rng.gamma(2.0, 10.0, n) + rng.normal(0.0, 4.0, n)
    for level, density in zip((60.0, 70.0, 80.0, 90.0), said.tolist(), strict=True):
        gaps = level + rng.normal(0.0, 8.0, n) - rng.gamma(2.0, 5.0, n) - shown
        share = float(np.mean(np.abs(gaps - 6.0) < 0.5 * width)) / width
        assert density == pytest.approx(share, abs=4.0 * np.sqrt(share / n / width) + 2e-4)


# What may be learnt, and what not.


def test_level_and_both_hard_held_says_almost_nothing() -> None:
    """Two that finish level, both hard held, by order: neither is better by it, and the range stays nearly as wide."""
    found = after(work(ridden("hard_held"), ridden("hard_held")))
    assert found.mean == pytest.approx(70.0, abs=0.01)
    assert found.sd > 0.96 * PRIOR[1]


def test_at_half_speed_a_gap_says_almost_nothing() -> None:
    """At half-speed, hard held, a gap of four lengths moves a horse by less than a pound."""
    found = after(work(ridden("hard_held", "half_speed"), ridden("hard_held", "half_speed"), 12.0))
    assert 0.0 < found.mean - 70.0 < 1.0


def test_one_off_the_bridle_says_something() -> None:
    """Level, one with nothing left and the other hard held: the one that was held is better, and a range stays."""
    held = after(work(ridden("hard_held"), ridden("nothing")))
    done = after(work(ridden("nothing"), ridden("hard_held")))
    assert held.mean > 71.0
    assert done.mean < 69.0
    assert held.sd > 7.0


def test_all_out_a_gap_says_what_it_is() -> None:
    """Asked for everything, with nothing left, a gap of ten pounds moves a horse by a normal regression, to half a
    pound: by 10 / (1 + (4^2 + 2 8^2 + 4^2 + 2 2^2 / 2) / 9^2)."""
    found = after(work(ridden("nothing", "asked"), ridden("nothing", "asked"), 10.0))
    assert found.mean - 70.0 == pytest.approx(10.0 / (1.0 + (16 + 128 + 16 + 4) / 81), abs=0.5)


def rising(values: list[float]) -> bool:
    """Say whether values rise."""
    return all(later > sooner for sooner, later in itertools.pairwise(values))


def test_more_of_it_is_better() -> None:
    """A horse is better the more it had left, the less its company had, the wider it won, the more it carried."""
    other = ridden("some")
    assert rising([after(work(ridden(left), other)).mean for left in LEFT])
    assert rising([-after(work(other, ridden(left))).mean for left in LEFT])
    assert rising([after(work(other, other, ahead)).mean for ahead in (-12.0, -3.0, 0.0, 3.0, 12.0)])
    assert rising([after(work(ridden("some", kg=kg), other)).mean for kg in (50.0, 57.0, 63.0, 70.0)])
    assert rising([after(work(other, other, level=level)).mean for level in (50.0, 60.0, 70.0, 80.0)])


def test_what_is_not_said_widens() -> None:
    """Where neither the rider's weight nor what was left was said, a work says less."""
    told = after(work(ridden("little", "asked"), ridden("little", "asked"), 12.0))
    no_weight = after(work(Ridden("little", "asked"), ridden("little", "asked"), 12.0))
    nothing_said = after(work(Ridden("", ""), Ridden("", ""), 12.0))
    assert told.sd < no_weight.sd < nothing_said.sd < PRIOR[1]


def test_each_word_of_the_diary_is_known() -> None:
    """All words by which the diary keeps a clocked work are read, and another is refused by name."""
    from upsides.books.diary.clocked import INSTRUCTIONS
    from upsides.books.diary.clocked import LEFT as LEFT_IN_DIARY

    for left in LEFT_IN_DIARY:
        for instruction in INSTRUCTIONS:
            assert Ridden(left, instruction).reserve_lb(USUAL) > 0.0
    with pytest.raises(WorkWordError, match="gallons"):
        Ridden("gallons")


def test_a_work_of_the_books_says_how_it_was_ridden() -> None:
    """Words and weight of a work in the books are those by which it is judged; what is missing stays unsaid."""
    kept = Work(horse=1, when=datetime(2026, 3, 1, 7, tzinfo=UTC), source="thumb", left="some", rider_kg=60.0)
    assert Ridden.of(kept) == Ridden("some", "", 60.0)
    assert np.isnan(Ridden.of(replace(kept, rider_kg=float("nan"))).carried_kg)


def test_a_partner_that_comes_back_is_one_horse() -> None:
    """Four works beside one horse of badly known level say less than beside four such horses."""
    mine = ridden("nothing", "asked")
    four = [JudgedWork(mine, (Beside(who, 70.0, 9.0, mine, 10.0, 4.0),)) for who in "abcd"]
    same = [JudgedWork(mine, (Beside("a", 70.0, 9.0, mine, 10.0, 4.0),)) for _ in "abcd"]
    assert with_works(*PRIOR, same).sd > 1.1 * with_works(*PRIOR, four).sd


def test_company_of_three_is_one_work() -> None:
    """Two horses beside it in one work say less than in two works: its own day and its reserve are the same."""
    mine = ridden("little", "asked")
    both = [Beside(who, 70.0, 2.0, mine, 8.0, 2.0) for who in "bc"]
    assert after(JudgedWork(mine, tuple(both))).sd > after(*(JudgedWork(mine, (one,)) for one in both)).sd


@pytest.mark.parametrize("works", [[], [JudgedWork(Ridden("some"), ())]])
def test_without_company_nothing_changes(works: list[JudgedWork]) -> None:
    """A horse that did no work, or none beside another, keeps what was thought of it."""
    found = with_works(64.0, 7.0, works)
    assert found.mean == pytest.approx(64.0)
    assert found.sd == pytest.approx(7.0, rel=1e-4)


def test_a_gap_in_pounds() -> None:
    """Two lengths over five furlongs are 6 lb by the published 3 lb a length, with the errors of both."""
    found, sd = margin_lb(Outcome(4.8, 2.4, "thumb"), 5 * 201.168, date(2026, 3, 1))
    assert found == pytest.approx(6.0)
    assert sd == pytest.approx(3.0 * np.hypot(1.0, 0.6))


# Calibration.


@dataclass(frozen=True)
class Said:
    """What was thought of many horses: the truth, the mean, its standard deviation, and where in it the truth lies."""

    true: float
    mean: float
    sd: float
    rank: float


def partner(rng: np.random.Generator) -> tuple[float, float, float]:
    """Return a partner's true level, and mean and standard deviation of what is thought of it."""
    error = float(rng.uniform(2.0, 6.0))
    true = float(rng.normal(*PRIOR))
    v = 1.0 / (PRIOR[1] ** -2 + error**-2)
    return true, v * (PRIOR[0] * PRIOR[1] ** -2 + (true + float(rng.normal(0.0, error))) * error**-2), v**0.5


def reserves_at_random(rng: np.random.Generator, level: float, other: float, who: int, factor: float) -> JudgedWork:
    """Return a work as supposed, but that all reserves are so many times as large."""
    asked = str(rng.choice(ORDERED[2:]))
    both = [Ridden(str(rng.choice(LEFT)), asked, float(rng.normal(RIDER_KG, 5.0))) for _ in range(2)]
    shown = [
        true
        - factor * rng.gamma(2.0, 0.5 * one.reserve_lb(USUAL))
        - (one.carried_kg - RIDER_KG) / KG
        + rng.normal(0, 8)
        for true, one in zip((level, other), both, strict=True)
    ]
    return JudgedWork(both[0], (Beside(who, *PRIOR, both[1], shown[0] - shown[1] + rng.normal(0, 4), 4.0),))


def level_by_order(rng: np.random.Generator, level: float, other: float, who: int, factor: float) -> JudgedWork:
    """Return a work in which the riders finish level by order, and people say what was left as well as they can."""
    asked = str(rng.choice(ORDERED[2:]))
    able = level + rng.normal(0, 8), other + rng.normal(0, 8)
    pace = min(able) - rng.exponential(10.0 * USUAL.asked[asked])
    apart = rng.normal(0, 2)
    left = max(able[0] - pace - apart / 2, 0.0), max(able[1] - pace + apart / 2, 0.0)
    middle = np.log(0.84 * factor * USUAL.asked[asked] * np.array([USUAL.left_lb[word] for word in LEFT]))
    words = [LEFT[int(np.argmin(np.abs(np.log(max(one, 0.3)) + rng.normal(0, 0.5) - middle)))] for one in left]
    gap = (able[0] - left[0]) - (able[1] - left[1]) + rng.normal(0, 4)
    return JudgedWork(ridden(words[0], asked), (Beside(who, *PRIOR, ridden(words[1], asked), gap, 4.0),))


Rides = Callable[[np.random.Generator, float, float, int, float], JudgedWork]


def known_beside(one: JudgedWork, mean: float, sd: float) -> JudgedWork:
    """Return a work whose partner is known so well."""
    return replace(one, beside=(replace(one.beside[0], level_lb=mean, level_sd_lb=sd),))


def many(ride: Rides, factor: float, horses: int, works: int = 3) -> list[Said]:
    """Simulate horses that each did some works, and say what was thought of them."""
    rng = np.random.default_rng(2)
    found = []
    for _ in range(horses):
        true, done = float(rng.normal(*PRIOR)), []
        for who in range(works):
            other, mean, sd = partner(rng)
            done.append(known_beside(ride(rng, true, other, who, factor), mean, sd))
        belief = with_works(*PRIOR, done)
        below = np.cumsum(belief.density) - 0.5 * belief.density
        found.append(Said(true, belief.mean, belief.sd, float(np.interp(true, belief.levels_lb, below))))
    return found


def covered(found: list[Said]) -> float:
    """Return the share of horses whose truth lies in the 90 % range."""
    return float(np.mean([0.05 < one.rank < 0.95 for one in found]))


def better_by(found: list[Said]) -> tuple[float, float]:
    """Return by how much the squared error is smaller than before the works, lb^2, and its standard error."""
    less = [(one.true - PRIOR[0]) ** 2 - (one.true - one.mean) ** 2 for one in found]
    return float(np.mean(less)), float(np.std(less) / np.sqrt(len(less)))


@pytest.mark.parametrize("factor", [1.0, 2.0, 0.5])
def test_ranges_are_honest_whatever_words_mean(factor: float) -> None:
    """90 % ranges hold nine in ten true levels (less four errors at most) if words mean what is assumed, and if all
    reserves are twice or half as large; and horses are foretold better than without their works, or no worse."""
    found = many(reserves_at_random, factor, 200)
    assert covered(found) > 0.9 - 4.0 * np.sqrt(0.09 / 200)
    better, error = better_by(found)
    print(f"{factor}: better by {better:.1f} lb^2 ({error:.1f}), {covered(found):.3f} inside")
    assert better > -2.0 * error


def test_ranges_where_riders_finish_level_by_order() -> None:
    """Where riders hold them level and people judge what was left, works still tell, and ranges hold 80 in 100."""
    found = many(level_by_order, 1.0, 200)
    better, error = better_by(found)
    print(f"better by {better:.1f} lb^2 ({error:.1f}), {covered(found):.2f} inside")
    assert better > 2.0 * error
    assert covered(found) > 0.8


# The debutants of the invented country.


@dataclass(frozen=True)
class Country:
    """Debutants of the invented country with what is thought of them, and horses to work with, on one scale."""

    true: Floats
    mean: Floats
    sd: Floats
    partners: Floats


@pytest.fixture(scope="module")
def country(tmp_path_factory: pytest.TempPathFactory) -> Country:
    """Fit the country half a year before its today, and take those that ran first after it; partners had run before."""
    world = worlds.world()
    day = world.today - timedelta(days=180)
    rules = Path(tmp_path_factory.mktemp("rules")) / "rules.toml"
    rules.write_text(rulebook())
    runs = world.runs.with_columns(horse_key="source_horse")
    before = runs.filter(pl.col("date") < day)
    levels = fitting.fit_levels(world.races.filter(pl.col("date") < day), before, overrides=read_overrides(rules))
    first = runs.sort("date").group_by("horse_key", maintain_order=True).first().filter(pl.col("date") >= day)
    first = first.join(world.races.select("race_key", "prize", "rating_low", "rating_high"), on="race_key")
    mean, sd = field.debut_of(levels).levels(first)
    truth = world.truth.filter(pl.col("race_key").is_not_null())
    true = truth.select("race_key", "level_lb", horse_key="source_horse")
    debut = first.with_columns(mean=mean, sd=sd).join(true, on=["race_key", "horse_key"])
    lately = truth.filter(pl.col("date").is_between(day - timedelta(days=60), day, closed="left"))
    last = lately.sort("date").group_by("source_horse", maintain_order=True).last()
    number = {key: row for row, key in enumerate(levels.horse_keys)}
    days = np.array([float((day - date(1970, 1, 1)).days)])
    rows = []
    for key, level in zip(last["source_horse"].to_list(), last["level_lb"].to_list(), strict=True):
        if key in number:
            known = posteriors.level(levels.record, levels.posterior, number[key], days)
            rows.append((level, float(known.mean[0]) + fitting.BASE_LB, float(known.sd[0])))
    partners = np.array(rows[:200])
    scale = float(np.mean(partners[:, 1] - partners[:, 0]))
    partners[:, 0] += scale
    columns = (debut[name].to_numpy() for name in ("level_lb", "mean", "sd"))
    true_lb, mean, sd = columns
    return Country(true_lb + scale, mean, sd, partners)


def foretold(country: Country, ride: Rides, factor: float) -> tuple[float, float, float]:
    """Return by how much debutants are foretold better with three works each, lb^2, its error, and coverage."""
    rng = np.random.default_rng(4)
    less, inside = [], []
    bias = float(np.mean(country.mean - country.true))  # of the fit's debutants as a whole, which works do not judge
    for true, mean, sd in zip(country.true, country.mean - bias, country.sd, strict=True):
        done = []
        for who in rng.choice(len(country.partners), 3, replace=False).tolist():
            level, said, error = country.partners[who].tolist()
            done.append(known_beside(ride(rng, float(true), level, who, factor), said, error))
        belief = with_works(float(mean), float(sd), done)
        less.append((true - mean) ** 2 - (true - belief.mean) ** 2)
        inside.append(abs(true - belief.mean) < 1.645 * belief.sd)
    return float(np.mean(less)), float(np.std(less) / np.sqrt(len(less))), float(np.mean(inside))


@pytest.mark.parametrize("ride", [reserves_at_random, level_by_order])
def test_debutants_are_foretold_better_with_works(country: Country, ride: Rides) -> None:
    """Debutants of the invented country are foretold better after three works each than before, by two errors."""
    better, error, inside = foretold(country, ride, 1.0)
    print(f"{ride.__name__}: {len(country.true)} horses, better by {better:.1f} lb^2 ({error:.1f}), 90 %: {inside:.2f}")
    assert better > 2.0 * error
    assert inside > 0.75


def test_works_that_say_nothing_do_no_harm(country: Country) -> None:
    """Easy work, all hard held, with gaps at random: debutants are foretold as well as before, within a twentieth."""

    def easy(rng: np.random.Generator, _level: float, _other: float, who: int, _factor: float) -> JudgedWork:
        held = ridden("hard_held", "easy")
        return JudgedWork(held, (Beside(who, *PRIOR, held, float(rng.normal(0.0, 6.0)), 4.0),))

    better, _, inside = foretold(country, easy, 1.0)
    before = float(np.mean((country.true - country.mean - np.mean(country.true - country.mean)) ** 2))
    print(f"better by {better:.1f} lb^2 of {before:.1f}, {inside:.2f} inside")
    assert better > -0.05 * before
    assert inside > 0.75


# Trip.


def test_speed_in_work_hardly_says_a_trip() -> None:
    """Of a horse two standard deviations fast the trip is a fifth of a spread shorter, and its range 0.5 % narrower:
    what a normal regression with a correlation of -0.1 says."""
    piece = speed_in_work(2.0, 0.0, 3.1, 0.35)
    v = 1.0 / (0.35**-2 + piece.sd**-2)
    assert v * (3.1 * 0.35**-2 + piece.trip * piece.sd**-2) - 3.1 == pytest.approx(-0.2 * 0.35)
    assert v**0.5 / 0.35 == pytest.approx(np.sqrt(1.0 - 0.01))
    assert speed_in_work(2.0, 1.0, 3.1, 0.35).sd > 1.4 * piece.sd
