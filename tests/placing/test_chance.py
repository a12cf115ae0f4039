"""Chances in a race: against published arithmetic, simulated races and past fields; and that nothing rewards losing."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kept_levels import SETTING, SEVEN, kept
from planned_races import DAY, a_horse, a_race
from upsides.errors import CannotFitError
from upsides.placing.chance import (
    Chances,
    Kept,
    Runner,
    Setting,
    chances,
    chances_of_all,
    chances_of_each,
    earnings,
    expected_field,
    expected_standing,
    own_of,
    read_kept,
    setting_of,
)
from upsides.placing.chance.drawn import stalls_drawn, weight_lost
from upsides.placing.chance.finishing import best_performances, chances_among, chances_past
from upsides.placing.race import Prize, Race
from upsides.ratings.finishing_times import normal_places
from upsides.results.importing import add_frames
from upsides.results.library import Library
from worlds import fitted, world


def of(library: Kept, ours: Runner, *rivals: Runner) -> Chances:
    return chances(ours, SETTING, rivals, library, seed=1)


def test_places_are_those_of_the_normal_model() -> None:
    """Places with luck drawn are those of independent normals integrated (Henery 1981), to four standard errors."""
    shown = np.array([5.0, 3.0, 0.0, -2.0, -6.0])
    exact = np.cumsum(normal_places(shown, 6.0, 5), axis=1)
    rows = np.repeat(shown[None, :], 4000, axis=0)
    found = chances_among(rows, np.ones(rows.shape, dtype=bool), 6.0, 5, np.random.default_rng(2))
    error = found.std(axis=0) / np.sqrt(4000)
    assert np.all(np.abs(found.mean(axis=0) - exact) < 4 * error + 1e-9)


def test_a_field_met_once_says_the_same() -> None:
    """Chances past the best of a field, drawn once, are those of the normal model integrated (Henery 1981) too; behind
    a runner that does not run nobody is beaten."""
    shown = np.array([5.0, 3.0, 0.0, -2.0, -6.0])
    exact = np.cumsum(normal_places(shown, 6.0, 5), axis=1)[1]
    rivals = np.repeat(np.array([[5.0, 0.0, -2.0, -6.0, -np.inf]]), 4000, axis=0)
    best = best_performances(rivals, 6.0, 6, np.random.default_rng(4))
    found = chances_past(np.full(4000, 3.0), best, 6.0)
    error = found.std(axis=0) / np.sqrt(4000)
    assert np.all(np.abs(found.mean(axis=0)[:5] - exact) < 4 * error[:5] + 1e-9)
    assert found[:, 4:].min() == 1.0


def test_each_is_asked_by_itself() -> None:
    """Several horses asked at once against one field have the chances that each has alone, and in order of merit."""
    library = kept(SEVEN | {"x": 75.0, "y": 66.0})
    rivals = [Runner(key) for key in SEVEN]
    ours = [Runner("x", stall=2), Runner("y")]
    both = chances_of_each(ours, own_of(ours, library, 1), SETTING, rivals, library, seed=1)
    assert both == [of(library, one, *rivals) for one in ours]
    assert both[0].win.value > both[1].win.value


def test_rank_is_the_place_by_what_each_would_show() -> None:
    """Where levels are known to a hair the rank is that of sorting them by hand, and no luck is in it."""
    library = kept(SEVEN, sd=1e-6)
    for place, (key, _) in enumerate(sorted(SEVEN.items(), key=lambda one: -one[1]), start=1):
        found = of(library, Runner(key), *(Runner(other) for other in SEVEN if other != key))
        assert found.rank == (place, place, place)
        assert found.field_size == (7.0, 7.0, 7.0)


def test_a_place_is_among_those_that_run() -> None:
    """Against one rival that runs and two that do not, second is sure; an absentee is asked as if it ran."""
    there = np.array([[True, True, False, False]])
    found = chances_among(np.array([[1.0, 0.0, 90.0, 1.0]]), there, 6.0, 4, np.random.default_rng(3))[0]
    assert found[0, 0] < 1.0
    assert found[0, 1:].tolist() == [1.0, 1.0, 1.0]
    assert found[2, 0] > 0.999
    assert 0.0 < found[3, 0] < found[3, 1] < 1.0


def test_chances_are_those_of_simulated_races() -> None:
    """Levels known to 3 lb and runs to 6: chances agree with 200 000 races simulated from the same model."""
    library = kept(SEVEN)
    found = of(library, Runner("h6"), *(Runner(key) for key in SEVEN if key != "h6"))
    rng = np.random.default_rng(4)
    level = np.array([70.0 + 2 * k for k in range(7)])
    run = level + rng.normal(0, 3, (200_000, 7)) + rng.normal(0, 6, (200_000, 7))
    place = (run > run[:, 6:]).sum(axis=1)
    for chance, places in ((found.win, 1), (found.place, 3), (found.first_four, 4)):
        assert chance.value == pytest.approx((place < places).mean(), abs=0.02)
        assert chance.low < chance.value < chance.high
    assert found.field_size == (7.0, 7.0, 7.0)


def test_all_runners_together_win_once() -> None:
    """Over a whole field chances to win add up to 1, of the first three to 3, of the first four to 4, but for luck."""
    found = chances_of_all([Runner(key) for key in SEVEN], SETTING, kept(SEVEN), seed=2)
    assert [sum(one[k].value for one in found) for k in range(3)] == pytest.approx([1.0, 3.0, 4.0], abs=0.03)


def test_weight_counts_for_what_the_fit_found() -> None:
    """Ten pounds more cost as much as a level ten pounds lower, where a pound is worth a pound."""
    library = kept({"a": 80.0, "b": 80.0, "c": 70.0})
    light = of(library, Runner("a", 120.0), Runner("b", 120.0), Runner("c", 120.0))
    heavy = of(library, Runner("a", 130.0), Runner("b", 120.0), Runner("c", 110.0))
    assert heavy.win.value < light.win.value
    assert heavy.win.value == pytest.approx(of(kept({"a": 70.0, "b": 80.0, "c": 80.0}), Runner("a"), Runner("b"),
                                               Runner("c")).win.value, abs=0.02)  # fmt: skip
    assert weight_lost([Runner("a", 120.0), Runner("b"), Runner("c", 130.0, 4.0)], 0.5).tolist() == [-2.5, 0.0, 6.5]


def test_a_good_stall_helps_and_an_unknown_one_widens() -> None:
    """Where high stalls gain 12 lb the highest is best and the lowest worst; one not drawn is between and less sure."""
    library = kept(dict.fromkeys(SEVEN, 70.0), sd=0.5, slope=12.0)
    rivals = [Runner(f"h{k}") for k in range(1, 7)]
    low, unknown, high = (of(library, Runner("h0", stall=stall), *rivals) for stall in (1, None, 7))
    assert low.win.value < unknown.win.value < high.win.value
    assert unknown.win.high - unknown.win.low > high.win.high - high.win.low > 0
    assert unknown.draw is not None
    assert unknown.draw.slope.mean == pytest.approx(12.0)


@given(st.lists(st.integers(0, 1), min_size=2, max_size=12), st.integers(0, 99))
def test_stalls_not_yet_drawn_fill_those_that_are_left(drawn: list[int], seed: int) -> None:
    """Every draw gives each runner a place of its own, and stalls that are drawn keep their order."""
    stalls = [2 * k + 1 if one else None for k, one in enumerate(drawn)]
    found = stalls_drawn(stalls, 20, np.random.default_rng(seed))
    assert np.sort(found, axis=1).tolist() == [list(range(1, len(drawn) + 1))] * 20
    known = [k for k, one in enumerate(drawn) if one]
    assert np.all(np.diff(found[:, known], axis=1) > 0)


def test_entries_that_may_not_run_count_for_as_much() -> None:
    """Against rivals each with its own chance of a run the field is that many on average, and winning is easier."""
    library = kept(SEVEN)
    rivals = [Runner(key, runs=0.5) for key in SEVEN if key != "h3"]
    half = chances(Runner("h3", runs=0.4), SETTING, rivals, library)
    whole = of(library, Runner("h3"), *(replace(one, runs=1.0) for one in rivals))
    assert half.runs == 0.4
    assert half.field_size[0] == 4.0
    assert half.win.value > whole.win.value


def test_a_horse_twice_or_without_rivals_is_refused() -> None:
    """A field needs a rival, and each runner once."""
    with pytest.raises(CannotFitError, match="rival"):
        of(kept(SEVEN), Runner("h0"))
    with pytest.raises(CannotFitError, match="twice"):
        of(kept(SEVEN), Runner("h0"), Runner("h0"))


@settings(max_examples=40, deadline=None)
@given(st.floats(50, 90), st.floats(0, 20), st.lists(st.floats(0, 1e5), min_size=1, max_size=6), st.floats(0, 1e5))
def test_a_worse_horse_never_earns_more(level: float, worse: float, prizes: list[float], black_type: float) -> None:
    """Integrity: whatever the prizes, what is expected falls with what the horse shows, and what plans go by too."""
    field = {"b": 70.0, "c": 72.0, "d": 66.0}
    rivals = [Runner(key) for key in field]
    race = Race("invented", DAY, "Larkmoor", prize=Prize("GBP", None, tuple(prizes)), jurisdiction="GB")
    ahead = a_race("which have won at least one race", day=DAY + timedelta(days=9), kinds=frozenset({"handicap"}))
    worth = []
    for shown in (level, level - worse):
        found = chances(Runner("a"), SETTING, rivals, kept(field | {"a": shown}), seed=5)
        earned = earnings(found, prizes, share=0.7, fees=10.0, black_type=black_type)
        assert earned.net == pytest.approx(earned.prize + earned.black_type - 10.0)
        worth.append(expected_standing(earned, a_horse(mark=70), race, [ahead], {ahead: 1000.0}))
    assert worth[0] >= worth[1] - 1e-9 * max(1.0, *prizes, black_type)


def test_a_place_earns_no_more_than_the_one_in_front() -> None:
    """A second prize above the first counts as the first, and a chance of a run scales all but the fees."""
    found = SimpleNamespace(by_place=(0.2, 0.3, 0.5), runs=0.5)
    earned = earnings(found, (100.0, 500.0, 50.0), share=0.8, fees=7.0, black_type=1000.0)  # type: ignore[arg-type]
    assert earned.prize == pytest.approx(0.5 * 0.8 * (0.2 * 100 + 0.3 * 100 + 0.5 * 50))
    assert earned.black_type == pytest.approx(500.0)
    assert earned.fees == 7.0


def test_a_race_without_a_distance_has_no_setting() -> None:
    """What chances ask of a race comes from the race; without a distance nothing can be said."""
    assert setting_of(replace(a_race(), distance_m=None)) is None
    found = setting_of(a_race(prize=Prize("GBP", 9000.0), bend="left"))
    assert found is not None
    assert (found.course, found.bend, found.prize) == ("Larkmoor", "left", 9000.0)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Library, Kept]:
    """The invented country's library, fitted, with its trips and its draw."""
    library = fitted(tmp_path_factory.mktemp("fitted"))
    return library, read_kept(library, world().today)


def test_expected_fields_are_those_of_later_races(demo: tuple[Library, Kept]) -> None:
    """Of later races like it nine in ten have a field inside a range for four in five, sizes counted whole."""
    library, known = demo
    then = replace(known, as_of=world().today - timedelta(days=60))
    later = library.races().filter(pl.col("date") >= then.as_of).collect().sort("race_key")
    inside = []
    for row in later.sample(40, seed=1).iter_rows(named=True):
        setting = Setting(row["date"], row["course"], row["distance_m"], row["surface"],
                          race_class=(row["race_class"] or "").lower(), prize=row["prize"])  # fmt: skip
        found = expected_field(library, then, setting)
        inside.append(found.size[1] <= row["runners"] <= found.size[2])
        assert found.level[1] <= found.level[0] <= found.level[2] <= found.best[2]
    assert np.mean(inside) > 0.65


def test_a_whole_answer_from_what_is_kept(demo: tuple[Library, Kept]) -> None:
    """Against its actual rivals and against an expected field a real horse has chances, a draw and ranges."""
    library, known = demo
    race = library.races().sort("date", descending=True).head(1).collect().row(0, named=True)
    ran = library.runs().filter(pl.col("race_key") == race["race_key"]).collect()
    setting = Setting(world().today + timedelta(days=3), race["course"], race["distance_m"], race["surface"])
    rows = ran.filter(pl.col("started_from").is_not_null()).select("horse_key", "carried_lb", "started_from").rows()
    runners = [Runner(key, float(weight), stall=stall) for key, weight, stall in rows]
    actual = chances(runners[0], setting, runners[1:], known)
    expected = chances(runners[0], setting, expected_field(library, known, setting), known)
    assert actual.draw is not None
    assert actual.notes == ()
    assert actual.expected == 0
    assert expected.expected >= 5
    for found in (actual, expected):
        assert 0 < found.win.value < found.place.value < found.first_four.value <= 1
        assert sum(found.by_place) == pytest.approx(1.0, abs=0.15)
    assert chances(runners[0], setting, runners[1:], known) == actual


def test_a_library_without_such_races_expects_nothing(tmp_path: Path) -> None:
    """Where fewer than five races are alike the field is not made up."""
    library = Library.create(tmp_path)
    w = world()
    add_frames(library, w.races.head(3), w.runs.filter(pl.col("race_key").is_in(w.races.head(3)["race_key"].implode())),
               "invented", w.register)  # fmt: skip
    empty = replace(kept({}), as_of=date(2030, 1, 1))
    with pytest.raises(CannotFitError, match="are like it"):
        expected_field(library, empty, replace(SETTING, day=w.first))
