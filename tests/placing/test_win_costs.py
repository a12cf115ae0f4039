"""What a win would cost, exactly by programme and rules; and that nothing gives credit for losing."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planned_races import DAY, a_horse, a_race, a_run
from upsides.errors import UnreadableError
from upsides.placing.horse import Horse, Mark
from upsides.placing.race import Prize, Race
from upsides.placing.win_costs import AHEAD, Outcome, Scenario, after_race, standing, supposed, win_costs

PRIZE = Prize("GBP", 10_000.0, (6000.0, 3000.0, 1000.0))
RACE = a_race("maidens", race_class="5", prize=PRIZE, kinds=frozenset({"maiden"}))


def later(wording: str, days: int = 14, **more: object) -> Race:
    return a_race(wording, day=DAY + timedelta(days=days), title=wording, prize=PRIZE, **more)


MAIDEN = later("maidens. Weights: 9st 2lb")
NOVICE = later("which have not won more than two races. Weights: 9st 2lb; penalties, a winner of a race 7lb")
WINNERS = later("which have won at least one race. Weights: 9st 2lb")
STAKES = later("Weights: 9st; penalties, after July 1, a winner of a race worth £6,000 5lb")
OLDER = later("for four-year-olds and upwards. Weights: 9st 2lb")
AHEAD_OF_IT = (MAIDEN, NOVICE, WINNERS, STAKES, OLDER)


def test_a_win_closes_opens_and_burdens() -> None:
    """A maiden's win shuts races for maidens, opens those for winners, and brings the penalties of the wording."""
    found = win_costs(a_horse(), RACE, AHEAD_OF_IT)
    changed = {one.now.race.title: one for one in found.of(Outcome.WIN).changed}
    assert set(changed) == {MAIDEN.title, NOVICE.title, WINNERS.title, STAKES.title}
    assert changed[MAIDEN.title].closes
    assert changed[WINNERS.title].opens
    assert (changed[NOVICE.title].more, changed[STAKES.title].more) == (7, 5)
    assert [one.key for one in changed[MAIDEN.title].because] == ["won"]
    assert [(line.value, "5lb" in line.wording) for line in changed[STAKES.title].lines] == [(5, True)]
    assert found.of(Outcome.WIN).same == 1


def test_a_place_and_a_defeat_leave_conditions_of_wins_as_they_are() -> None:
    """Second or beaten, the horse stays a maiden without a penalty, and only earns what the place pays."""
    found = win_costs(a_horse(), RACE, AHEAD_OF_IT)
    assert [found.of(outcome).changed for outcome in (Outcome.PLACED, Outcome.BEATEN)] == [(), ()]
    assert [found.of(outcome).prize for outcome in Outcome] == [6000.0, 3000.0, 0.0]


def test_a_run_alone_can_open_and_close_races() -> None:
    """Races that ask for runs, or for none, change whatever the result."""
    ran, unraced = later("which have run at least once. Weights: 9st"), later("which have never run. Weights: 9st")
    found = win_costs(a_horse(), RACE, (ran, unraced))
    for outcome in Outcome:
        changed = {one.now.race.title: (one.opens, one.closes) for one in found.of(outcome).changed}
        assert changed == {ran.title: (True, False), unraced.title: (False, True)}


def test_only_the_next_90_days_are_looked_at() -> None:
    """The race itself, earlier races and those of the 91st day are left out; the 90th day is in."""
    races = [later("maidens", days) for days in (-1, 0, 1, 90, 91)]
    assert win_costs(a_horse(), RACE, races).of(Outcome.WIN).changed[-1].now.race.day == DAY + AHEAD
    assert len(win_costs(a_horse(), RACE, races).of(Outcome.WIN).changed) == 2


def test_a_penalty_that_runs_out_costs_only_until_then() -> None:
    """A race whose penalties count from a later day is left as it is by today's win."""
    soon = later("Weights: 9st; penalties, after July 1, a winner 5lb", 10)
    far = later("Weights: 9st; penalties, after July 10, a winner 5lb", 40)
    changed = win_costs(a_horse(), RACE, (soon, far)).of(Outcome.WIN).changed
    assert [one.now.race for one in changed] == [soon]


def test_a_novice_window_stays_open_after_its_day() -> None:
    """A race for horses that have not won before 1 July stays open to a winner of 5 July, unless it wins once more."""
    novice = later("which have not won a race before July 1, or more than one race. Weights: 9st")
    assert win_costs(a_horse(), RACE, (novice,)).of(Outcome.WIN).changed == ()
    again = win_costs(a_horse(runs=(a_run("2025-07-02"),)), RACE, (novice,)).of(Outcome.WIN).changed
    assert [one.closes for one in again] == [True]


def test_marks_to_come_are_scenarios_with_a_name() -> None:
    """Without a scenario the mark stays as it is; with one, what follows from it stands apart under its name."""
    handicap = later("rated 66-80; highest weight 9st 7lb", kinds=frozenset({"handicap"}), race_class="4")
    horse = a_horse(mark=76)
    raised = Scenario("raised 6", 82.0)
    found = win_costs(horse, RACE, (handicap,), scenarios={Outcome.WIN: (raised, Scenario("raised 8", 84.0))})
    assert [(one.outcome, one.scenario.named if one.scenario else None) for one in found.after] == [
        (Outcome.WIN, None),
        (Outcome.WIN, "raised 6"),
        (Outcome.WIN, "raised 8"),
        (Outcome.PLACED, None),
        (Outcome.BEATEN, None),
    ]
    assert found.of(Outcome.WIN).changed == ()
    assert found.after[1].changed[0].more == 6
    assert found.after[2].changed[0].closes


def test_a_mark_supposed_counts_on_every_surface() -> None:
    """A horse with a mark on turf and another on all-weather has the mark supposed in later handicaps on either."""
    marks = (Mark(76, date(2025, 1, 1), "turf"), Mark(70, date(2025, 6, 1), "all-weather"))
    races = [
        later("rated 60-80; highest weight 9st 7lb", days, kinds=frozenset({"handicap"}), surface=surface)
        for days, surface in ((10, "turf"), (11, "synthetic"))
    ]
    horse, won = a_horse(marks=marks), {Outcome.WIN: (Scenario("raised", 79.0), Scenario("raised more", 90.0))}
    found = win_costs(horse, RACE, races, scenarios=won)
    assert [one.more for one in found.after[1].changed] == [3, 9]
    assert [one.closes for one in found.after[2].changed] == [True, True]


@pytest.mark.parametrize("text", ["999", "201", "-5", "", "high", "8 2", "82,5", "٨٢"])
def test_a_mark_that_is_none_is_not_supposed(text: str) -> None:
    """What no authority gives as a mark is refused, with how one is written."""
    with pytest.raises(UnreadableError, match="0 to 200"):
        supposed("raised", text)
    assert supposed("raised", " 82.5 ").mark == 82.5


def test_a_scenario_counts_from_its_day() -> None:
    """A mark supposed from four days after the race leaves races before that as they are."""
    races = [later("rated 66-80; highest weight 9st 7lb", days, kinds=frozenset({"handicap"})) for days in (3, 4)]
    found = win_costs(a_horse(mark=76), RACE, races, scenarios={Outcome.WIN: (Scenario("raised", 79.0),)})
    assert [one.now.race.day for one in found.after[1].changed] == [DAY + timedelta(days=4)]


def test_a_prize_not_stated_is_not_known() -> None:
    """Where the programme states no prizes, an outcome's earnings are not known, and a defeat earns nothing."""
    found = win_costs(a_horse(), replace(RACE, prize=None), ())
    assert [one.prize for one in found.after] == [None, None, 0.0]


WORDINGS = st.sampled_from(
    [
        "maidens",
        "which have not won more than two races",
        "which have won at least one race",
        "which have not won a race worth £5,000",
        "Weights: 9st; penalties, a winner 5lb",
        "rated 66-80; highest weight 9st 7lb",
        "rated 0-60; highest weight 9st 7lb",
        "rated 86 and above",
        "for three-year-olds only, fillies",
    ]
)
PROGRAMMES = st.lists(st.tuples(WORDINGS, st.integers(1, 95), st.floats(-1e4, 1e5)), max_size=6)
RUNS = st.lists(st.tuples(st.dates(date(2025, 1, 1), date(2025, 7, 4)), st.integers(1, 9)), max_size=4)


def _priced(programme: list[tuple[str, int, float]]) -> dict[Race, float]:
    return {
        later(wording, days, kinds=frozenset({"handicap"} if "rated" in wording else ()), number=str(i)): worth
        for i, (wording, days, worth) in enumerate(programme)
    }


def _horse(runs: list[tuple[date, int]], marks: tuple[Mark, ...]) -> Horse:
    return a_horse(3, "filly", runs=tuple(a_run(day.isoformat(), place) for day, place in runs), marks=marks)


@settings(max_examples=60, deadline=None)
@given(PROGRAMMES, RUNS, st.floats(30, 110), st.lists(st.floats(0, 1e4), max_size=3))
def test_no_outcome_is_worth_more_than_a_better_one(
    programme: list[tuple[str, int, float]], runs: list[tuple[date, int]], mark: float, prizes: list[float]
) -> None:
    """Integrity: whatever programme, prizes and horse, a win stands as high as a place, and a place as a defeat."""
    horse, worth = _horse(runs, (Mark(mark, date(2025, 1, 1)),)), _priced(programme)
    race = replace(RACE, prize=Prize("GBP", None, tuple(prizes)))
    win, placed, beaten = (standing(horse, race, outcome, worth, worth) for outcome in Outcome)
    assert win >= placed >= beaten


@settings(max_examples=60, deadline=None)
@given(PROGRAMMES, RUNS, st.floats(30, 110), st.floats(0, 60), st.integers(-30, 30), st.sampled_from(Outcome))
def test_no_falling_mark_is_worth_anything(
    programme: list[tuple[str, int, float]],
    runs: list[tuple[date, int]],
    mark: float,
    fall: float,
    days: int,
    outcome: Outcome,
) -> None:
    """Integrity: a mark that falls, before the race or after it, never raises what an outcome stands at."""
    worth = _priced(programme)
    first, second = date(2025, 1, 1), DAY + timedelta(days=days)
    high = _horse(runs, (Mark(mark, first), Mark(mark, second)))
    low = _horse(runs, (Mark(mark, first), Mark(mark - fall, second)))
    assert standing(low, RACE, outcome, worth, worth) <= standing(high, RACE, outcome, worth, worth)


def test_the_races_ahead_of_a_winner_count_for_every_outcome() -> None:
    """A race for maidens ahead counts nothing, whatever happens; one for winners counts the same, whatever happens."""
    worth = {MAIDEN: 5000.0, WINNERS: 700.0}
    found = [standing(a_horse(), RACE, outcome, worth, worth) for outcome in Outcome]
    assert found == [6700.0, 3700.0, 700.0]
    assert after_race(a_horse(), RACE, Outcome.PLACED).runs[0].position == 2
