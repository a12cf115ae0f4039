"""What came of calls, case by case, and what the tool says to them."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from upsides.condition.called import DAYS, QUESTIONS, Came, Made, Ran, Sign, came_of
from upsides.condition.calls import About
from upsides.condition.tools_word import LEAST, around, first_four, fortnights, runs_to_level, without_doubt

DAY = date(2026, 5, 1)
LATER = DAY + timedelta(days=100)


def on(days: int) -> date:
    return DAY + timedelta(days=days)


def made(about: About, level: float | None = 80.0, spread: float | None = 6.0) -> Made:
    return Made(about, DAY, level, spread)


@pytest.mark.parametrize(
    ("figure", "came"), [(80.0, True), (79.0, True), (78.9, False), (95.0, True)], ids=["at", "edge", "below", "above"]
)
def test_fit_is_a_run_at_its_own_level_less_a_pound(figure: float, came: bool) -> None:  # noqa: FBT001 -- a case
    """The figure of the next run is held against the level of the call less one pound, that pound included."""
    assert came_of(made("fit"), [Ran(on(9), figure, 7)], [], LATER) == Came(came, "ran", on(9))


def test_the_next_run_counts_and_no_other() -> None:
    """Of two runs within the days the first counts, and one before the call or after the days counts for nothing."""
    runs = [Ran(on(20), 90.0, 1), Ran(on(5), 70.0, 8), Ran(on(-1), 90.0, 1), Ran(on(29), 90.0, 1)]
    assert came_of(made("fit"), runs, [], LATER) == Came(came=False, why="ran", day=on(5))
    assert came_of(made("first four"), runs, [], LATER) == Came(came=False, why="ran", day=on(5))
    assert came_of(made("fit"), runs[3:], [], LATER) == Came(None, "not run")
    assert came_of(made("fit"), [Ran(on(28), 80.0, 1)], [], LATER).came is True


def test_a_run_of_the_day_is_not_known_that_day() -> None:
    """Results count from the next morning on, and a call waits until its last day is over."""
    run = [Ran(on(5), 90.0, 1)]
    assert came_of(made("fit"), run, [], on(5)) == Came(None, "waits")
    assert came_of(made("fit"), run, [], on(6)).came is True
    assert came_of(made("fit"), [], [], on(28)) == Came(None, "waits")
    assert came_of(made("fit"), [], [], on(29)) == Came(None, "not run")


def test_a_run_without_figure_or_level_stays_open() -> None:
    """What cannot be held against anything is neither true nor false."""
    assert came_of(made("fit"), [Ran(on(5), None, None)], [], LATER) == Came(None, "no figure", on(5))
    assert came_of(made("fit", level=None), [Ran(on(5), 90.0, 1)], [], LATER) == Came(None, "no level", on(5))


@pytest.mark.parametrize(("place", "came"), [(1, True), (4, True), (5, False), (None, False)])
def test_first_four(place: int | None, came: bool) -> None:  # noqa: FBT001 -- a case
    """The fourth is among them, the fifth and one that did not finish are not; no figure is needed."""
    assert came_of(made("first four", level=None), [Ran(on(9), None, place)], [], LATER).came is came


def test_would_run_is_false_when_its_days_are_over() -> None:
    """A horse that ran did, one that did not in four weeks did not, and until then nobody knows."""
    assert came_of(made("would run"), [Ran(on(9), None, None)], [], LATER) == Came(came=True, why="ran", day=on(9))
    assert came_of(made("would run"), [], [], LATER) == Came(came=False, why="not run")
    assert came_of(made("would run"), [], [], on(20)) == Came(None, "waits")


@pytest.mark.parametrize(
    ("runs", "signs", "came"),
    [
        ([], [(3, "not right")], Came(came=False, why="not right", day=on(3))),
        ([], [(3, "found"), (2, "looked at")], Came(came=False, why="found", day=on(3))),
        ([(7, 73.9)], [], Came(came=False, why="ran", day=on(7))),
        ([(7, 74.0)], [], Came(came=True, why="ran", day=on(7))),
        ([(7, 60.0)], [(2, "not right")], Came(came=False, why="not right", day=on(2))),
        ([(7, 60.0)], [(9, "found")], Came(came=False, why="ran", day=on(7))),
        ([], [(3, "looked at")], Came(came=True, why="looked at", day=on(3))),
        ([], [], Came(None, "nobody looked")),
        ([(7, None)], [], Came(None, "no figure", on(7))),
        ([(7, None)], [(9, "looked at")], Came(came=True, why="looked at", day=on(9))),
        ([(15, 60.0)], [(15, "not right"), (-1, "found")], Came(None, "nobody looked")),
    ],
)
def test_fresh(runs: list[tuple[int, float | None]], signs: list[tuple[int, Sign]], came: Came) -> None:
    """False by the first of what was entered and a run far below; true by a run or a vet's look; else open."""
    ran = [Ran(on(day), figure, 5) for day, figure in runs]
    assert came_of(made("fresh"), ran, [(on(day), sign) for day, sign in signs], LATER) == came


def test_fresh_without_a_level_stays_open_for_that() -> None:
    """A horse that ran within the days is not told as one that did not: its run had no level to be held against."""
    assert came_of(made("fresh", level=None), [Ran(on(5), 80.0, 3)], [], LATER) == Came(None, "no level", on(5))


def test_fresh_is_false_at_once_and_true_only_in_the_end() -> None:
    """A finding shows it on the day; that nothing came is known when the fortnight is over."""
    signs: list[tuple[date, Sign]] = [(on(3), "found")]
    assert came_of(made("fresh"), [], signs, on(4)).came is False
    ran = [Ran(on(3), 80.0, 1)]
    assert came_of(made("fresh"), ran, [], on(14)) == Came(None, "waits")
    assert came_of(made("fresh"), ran, [], on(15)).came is True


def test_a_best_trip_is_never_seen() -> None:
    """Whatever is run, a call of a trip stays open."""
    assert came_of(made("trip"), [Ran(on(5), 120.0, 1)], [], LATER) == Came(None, "never seen")


@given(
    about=st.sampled_from(QUESTIONS),
    runs=st.lists(st.tuples(st.integers(-5, 60), st.floats(40, 120)), max_size=4),
    signs=st.lists(st.tuples(st.integers(-5, 60), st.sampled_from(["not right", "found", "looked at"])), max_size=4),
    first=st.integers(0, 70),
    more=st.integers(0, 30),
)
def test_what_was_shown_stays(
    about: About, runs: list[tuple[int, float]], signs: list[tuple[int, Sign]], first: int, more: int
) -> None:
    """Once a call came true or did not, no later day changes it."""
    ran = [Ran(on(day), figure, 3) for day, figure in runs]

    def told(day: int) -> Came:
        return came_of(made(about), ran, [(on(at), sign) for at, sign in signs if at < day], on(day))

    if told(first).came is not None:
        assert told(first + more).came is told(first).came


# What the tool says ---------------------------------------------------------------------------------------------------


def test_a_run_comes_to_its_level_as_often_as_runs_did() -> None:
    """Without doubt of the level it is the share of runs so far; with doubt it is drawn towards a half.

    For normal deviations of standard deviation s and a doubt d it is the normal's share above -1 / root(s^2 + d^2).
    """
    off = norm.ppf((np.arange(4000) + 0.5) / 4000) * 6.0
    for sd in (0.0, 8.0):
        told = runs_to_level(off, sd)
        assert told == pytest.approx(norm.cdf(1.0 / np.hypot(6.0, sd)), abs=0.001)
    assert runs_to_level(off[: LEAST - 1], 3.0) is None


@pytest.mark.parametrize("sd", [1.0, 4.0, 8.0])
def test_the_doubt_of_levels_held_is_not_counted_twice(sd: float) -> None:
    """Of simulated runs off levels held with doubts of their own, the share of a horse held with any doubt is what
    comes of it: the doubt is taken out of the deviations before its own is put in."""
    rng = np.random.default_rng(5)
    doubt = rng.choice([1.0, 4.0, 8.0], 40_000)
    off = rng.normal(0.0, 6.0, doubt.size) + rng.normal(0.0, doubt)
    told = runs_to_level(without_doubt(off, doubt), sd)
    assert told == pytest.approx(norm.cdf(1.0 / np.hypot(6.0, sd)), abs=0.012)
    assert without_doubt(off[:0], doubt[:0]).size == 0


def test_fortnights_of_few_are_drawn_to_all() -> None:
    """Many fortnights say their own share, one alone hardly moves from the whole yard's, too few say nothing."""
    told = fortnights([False] * 400 + [True], [True] * 360 + [False] * 40 + [False])
    assert told is not None
    assert told[False] == pytest.approx(0.9, abs=0.002)
    assert told[True] == pytest.approx(20 * (361 / 403) / 21, abs=1e-12)
    assert fortnights([True] * (LEAST - 1), [True] * (LEAST - 1)) is None


def test_a_trip_is_said_to_half_a_furlong_either_way() -> None:
    """What lies exactly half a furlong off counts, what lies further does not."""
    furlongs, share = np.array([5.0, 5.5, 6.0, 6.5, 7.0]), np.array([0.1, 0.2, 0.3, 0.25, 0.15])
    assert around(furlongs, share, 6.0) == pytest.approx(0.75)


def test_first_four_of_a_field() -> None:
    """Chances add up to four, are alike for like horses, are one in a field of three, and fall with a burden.

    Against 100,000 simulated races within four standard errors.
    """
    alike = first_four(np.full(10, 80.0), np.full(10, 3.0), np.full(10, 130.0), 6.0)
    assert alike == pytest.approx(0.4, abs=1e-6)
    level = np.array([84.0, 80.0, np.nan, 76.0, 79.0, 81.0])
    sd, burden = np.array([2.0, 4.0, np.nan, 3.0, 5.0, 2.0]), np.array([135.0, 128.0, 126.0, 120.0, 126.0, 130.0])
    told = first_four(level, sd, burden, 6.0)
    assert told.sum() == pytest.approx(4.0, abs=1e-6)
    rng = np.random.default_rng(4)
    mean = np.where(np.isnan(level), np.nanmean(level), level) - burden
    worth = rng.normal(mean, np.hypot(np.where(np.isnan(sd), 12.0, sd), 6.0), (100_000, 6))
    share = ((-worth).argsort(axis=1).argsort(axis=1) < 4).mean(axis=0)
    assert np.all(np.abs(told - share) < 4 * np.sqrt(share * (1 - share) / 100_000))
    assert first_four(level[:3], sd[:3], burden[:3], 6.0) == pytest.approx(1.0, abs=1e-9)


def test_every_question_but_the_trip_has_its_days() -> None:
    """Each question that can be shown says within how many days."""
    assert set(DAYS) == set(QUESTIONS) - {"trip"}
