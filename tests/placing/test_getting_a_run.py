"""Who is left out of a field that is too large, and the chance of a run, against the rules, algebra and simulation."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planned_races import a_horse, a_race, a_run
from upsides.errors import RaceRefusedError
from upsides.placing.getting_a_mark import needed_for_mark
from upsides.placing.getting_a_run import Entered, chance_of_room, entered, getting_a_run, how_many

HANDICAP = a_race("rated 66-80; highest weight 9st 7lb", kinds=frozenset({"handicap"}), race_class="4", most_runners=2)


def test_the_lowest_weight_goes_out_first() -> None:
    """In a British handicap for two the third weight gets no run, and ties are balloted (racingquestions.co.uk)."""
    three = [Entered("a", 130.0, 77), Entered("b", 125.0, 72), Entered("c", 133.0, 80)]
    assert [(one.horse, one.chance) for one in getting_a_run(HANDICAP, three, withdrawn=0.0)] == [
        ("c", 1.0),
        ("a", 1.0),
        ("b", 0.0),
    ]
    level = [Entered("a", 125.0), Entered("b", 125.0), Entered("c", 133.0)]
    found = {one.horse: one for one in getting_a_run(HANDICAP, level, withdrawn=0.0)}
    assert (found["a"].chance, found["a"].best, found["a"].worst) == (0.5, 2, 3)


def test_a_younger_horse_of_the_same_mark_goes_out_first() -> None:
    """Elimination by weight puts a three-year-old out before an older horse with the same mark (same source)."""
    race = replace(HANDICAP, wording="3yo+; rated 66-80; highest weight 9st 7lb; lowest weight 7st", most_runners=1)
    older, younger = (replace(a_horse(age, mark=70), name=str(age)) for age in (4, 3))
    order = getting_a_run(race, [entered(younger, race), entered(older, race)], withdrawn=0.0)
    assert [one.horse for one in order] == ["4", "3"]


def test_horses_out_of_the_handicap_stand_by_their_long_weight() -> None:
    """Of two that carry the bottom weight, the lower mark goes out first."""
    low, lower = (replace(a_horse(4, mark=mark), name=str(mark)) for mark in (64, 60))
    order = getting_a_run(HANDICAP, [entered(lower, HANDICAP), entered(low, HANDICAP)], withdrawn=0.0)
    assert [one.horse for one in order] == ["64", "60"]


def test_horses_above_the_band_give_way() -> None:
    """A horse two points above the band carries more than top weight but gives way to all others (BHA, which races a
    rating allows)."""
    above, inside = (replace(a_horse(4, mark=mark), name=str(mark)) for mark in (82, 66))
    order = getting_a_run(HANDICAP, [entered(above, HANDICAP), entered(inside, HANDICAP)], withdrawn=0.0)
    assert [one.horse for one in order] == ["66", "82"]


def test_the_races_own_order_goes_before_the_rule_of_the_place() -> None:
    """Where the conditions say that the lowest rated go out first, the mark decides and not the weight, and the answer
    names them; horses above the band give way all the same."""
    three = [Entered("a", 130.0, 70), Entered("b", 125.0, 72), Entered("c", 133.0, 82, above_band=True)]
    race = replace(HANDICAP, wording=f"{HANDICAP.wording}. Horses will be eliminated in order of rating, lowest first")
    order = getting_a_run(race, three, withdrawn=0.0)
    assert [one.horse for one in order] == ["b", "a", "c"]
    assert {(one.by, one.rule.name) for one in order} == {("mark", "the race's own conditions")}


def test_pattern_races_go_by_mark_and_others_by_ballot() -> None:
    """In a listed race the lowest mark goes out first; in a novice race all are level."""
    two = [Entered("a", 128.0, 95.0), Entered("b", 131.0, 90.0)]
    listed = a_race(race_class="listed", most_runners=1)
    assert [one.chance for one in getting_a_run(listed, two, withdrawn=0.0)] == [1.0, 0.0]
    novice = a_race(race_class="5", most_runners=1)
    assert [one.chance for one in getting_a_run(novice, two, withdrawn=0.0)] == [0.5, 0.5]


@given(
    st.lists(st.floats(0, 1), max_size=12),
    st.lists(st.floats(0, 1), max_size=5),
    st.integers(1, 20),
)
def test_chances_of_numbers_add_up(before: list[float], level: list[float], room: int) -> None:
    """Chances of how many stay in add up to one with the right mean, and a chance of a run is one where all fit."""
    found = how_many(np.array(before))
    assert found.sum() == pytest.approx(1.0)
    assert found @ np.arange(len(before) + 1) == pytest.approx(sum(before), abs=1e-9)
    chance = chance_of_room(np.array(before), np.array(level), room)
    assert -1e-12 <= chance <= 1 + 1e-12
    if len(before) + len(level) < room:
        assert chance == pytest.approx(1.0)


def test_chances_agree_with_simulated_withdrawals() -> None:
    """Over 200 000 drawn fields with ballots, the share of runs is within four standard errors of the exact chance."""
    rng = np.random.default_rng(8)
    keys = np.array([9, 8, 8, 8, 7, 6, 6, 5, 5, 5, 4, 3])
    draws, room, rate = 200_000, 6, 0.3
    stays = rng.random((draws, keys.size)) < 1 - rate
    ballot = np.where(stays, keys + rng.random((draws, keys.size)), -np.inf)
    places = np.argsort(np.argsort(-ballot, axis=1), axis=1)
    race = replace(HANDICAP, most_runners=room)
    found = getting_a_run(race, [Entered(str(i), float(key)) for i, key in enumerate(keys)], withdrawn=rate)
    for one in found:
        mine = stays[:, int(one.horse)]
        share = np.mean(places[mine, int(one.horse)] < room)
        error = np.sqrt(max(share * (1 - share), 1e-4) / mine.sum())
        assert abs(share - one.chance) < 4 * error, one


def test_what_cannot_be_is_refused() -> None:
    """Without a maximum field, or with a rate that is no chance, nothing is answered."""
    with pytest.raises(RaceRefusedError, match="maximum field"):
        getting_a_run(a_race(), [], withdrawn=0.1)
    with pytest.raises(RaceRefusedError, match="0 to 1"):
        getting_a_run(HANDICAP, [], withdrawn=30)


@pytest.mark.parametrize(
    ("places", "age", "runs", "after_win"),
    [
        ((), 3, 3, 2),
        ((5,), 3, 2, 1),
        ((1,), 3, 1, 1),
        ((5, 5), 3, 1, 1),
        ((1, 5), 3, 0, 0),
        ((5, 1), 3, 0, 0),
        ((5, 5, 5), 3, 0, 0),
    ],
)
def test_runs_for_a_british_mark(places: tuple[int, ...], age: int, runs: int, after_win: int) -> None:
    """Three runs; a debut winner after its second start; a winner at its second start after it (BHA, translating
    performance figures into an initial rating)."""
    horse = a_horse(age, runs=tuple(a_run(f"2025-05-{10 + i}", place) for i, place in enumerate(places)))
    found = needed_for_mark(horse, a_race())
    assert (found.has, found.runs, found.after_win) == (False, runs, after_win)
    assert needed_for_mark(a_horse(age, mark=70), a_race()).has


def test_a_two_year_old_needs_two_runs_at_home() -> None:
    """Three runs in France leave a two-year-old two runs in Britain or Ireland short of a mark (same source)."""
    abroad = tuple(a_run(f"2025-05-{day}", 5, country="FR") for day in (10, 20, 30))
    found = needed_for_mark(a_horse(2, runs=abroad), a_race())
    assert (found.runs, found.home, found.places) == (2, 2, ("Britain", "Ireland"))
    one_home = (*abroad[:2], a_run("2025-06-10", 4, country="IRE"))
    assert needed_for_mark(a_horse(2, runs=one_home), a_race()).runs == 1
    assert needed_for_mark(a_horse(3, runs=abroad), a_race()).runs == 0
