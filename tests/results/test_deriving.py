from collections.abc import Sequence
from datetime import date
from typing import Any

import polars as pl
import pytest

from upsides.results.deriving import Conventions, Derived, derive
from upsides.results.schema import RACES, RUNS, polars_schema


def made(race: dict[str, Any], runs: Sequence[dict[str, Any]], conventions: Conventions) -> Derived:
    """Derive one race from what differs from an empty row."""
    first = {"race_key": "s:1", "source": "s", "race_id": "1", "date": date(2001, 5, 1)} | race
    common: dict[str, Any] = {"race_key": "s:1", "source": "s", "outcome": "finished"}
    rows = [common | {"source_horse": f"s:{i}", "line": i + 2} | run for i, run in enumerate(runs)]
    return derive(
        pl.DataFrame([first], schema=polars_schema(RACES)),
        pl.DataFrame(rows, schema=polars_schema(RUNS)),
        conventions,
    )


def test_margins_to_the_horse_in_front_are_added_up() -> None:
    """Margins to the horse in front become distances behind the winner; after an unknown one nothing is
    known.
    """
    runs: list[dict[str, Any]] = [
        {"position": 3, "beaten_lengths": 1.5},
        {"position": 1, "beaten_lengths": None},
        {"position": 2, "beaten_lengths": 0.3},
        {"position": 4, "beaten_lengths": None},
        {"position": 5, "beaten_lengths": 2.0},
        {"outcome": "pulled_up"},
    ]
    done = made({}, runs, Conventions(margin_to="horse in front"))
    assert done.runs.sort("line")["beaten_lengths"].to_list() == [1.8, 0.0, 0.3, None, None, None]


def test_dead_heaters_share_their_place() -> None:
    """Equal positions are a dead heat, and so is one the source marks though its partner is gone."""
    runs: list[dict[str, Any]] = [
        {"position": 1},
        {"position": 1},
        {"position": 3},
        {"position": 4, "dead_heat": True},
        {"outcome": "fell"},
    ]
    done = made({}, runs, Conventions())
    assert done.runs["dead_heat"].to_list() == [True, True, False, True, None]


def test_stalls_of_non_runners_are_closed_up() -> None:
    """The place started from counts only those that started (racing-standards section 8: numbers are closed
    up).
    """
    runs: list[dict[str, Any]] = [
        {"draw": 5},
        {"draw": 2},
        {"draw": 1, "outcome": "withdrawn"},
        {"draw": 9, "outcome": "unseated"},
        {},
    ]
    done = made({}, runs, Conventions())
    assert done.runs["started_from"].to_list() == [2, 1, None, 3, None]
    assert done.races["runners"].to_list() == [4]


def test_one_stall_for_two_starters_is_remarked_on() -> None:
    """Where two starters have one draw, nobody's place among them is known."""
    done = made({}, [{"draw": 1}, {"draw": 1}, {"draw": 2}], Conventions())
    assert done.runs["started_from"].to_list() == [None, None, None]
    assert done.notes["reason"].unique().to_list() == ["two starters of one race with the same draw"]


@pytest.mark.parametrize(
    ("distance", "count", "lengths"),
    [
        # The data set's own description: 400 m each from the finish back, the first is the odd one; 3
        # sections at 1000 and 1200 m, 4 from 1400 to 1650 m, 5 at 1800 and 2000 m, 6 at 2200 and 2400 m.
        (1000, 3, [200, 400, 400]),
        (1200, 3, [400, 400, 400]),
        (1400, 4, [200, 400, 400, 400]),
        (1650, 4, [450, 400, 400, 400]),
        (1800, 5, [200, 400, 400, 400, 400]),
        (2400, 6, [400, 400, 400, 400, 400, 400]),
    ],
)
def test_sections_by_rule(distance: float, count: int, lengths: list[float]) -> None:
    """Sections counted from the finish leave the odd one at the start and add up to the distance."""
    times = [24.0] * count + [None] * (7 - count)
    run = {"section_s": times, "section_position": [1] * count + [None] * (7 - count)}
    done = made({"distance_m": distance, "section_s": times}, [run], Conventions(section_m=400))
    assert done.races["section_m"].to_list() == [lengths]
    assert done.runs["section_s"].to_list() == [[24.0] * count]
    assert done.runs["section_position"].to_list() == [[1] * count]


def test_sections_that_cannot_be_are_emptied() -> None:
    """Lengths that miss the distance, and lists shorter than the race's, are emptied and told."""
    done = made(
        {"distance_m": 600.0, "section_s": [12.0, 24.0, 24.0]},
        [{"section_s": [12.0]}],
        Conventions(section_m=400),
    )
    assert done.races["section_m"].to_list() == [None]
    assert done.runs["section_s"].to_list() == [None]
    assert sorted(done.notes["field"]) == ["section_m", "section_s"]


def test_a_section_not_recorded_leaves_a_gap_not_a_shift() -> None:
    """A missing time between others stays an empty place in the list."""
    done = made(
        {"distance_m": 1200.0, "section_s": [24.0, 23.0, 23.0]},
        [{"section_s": [24.0, None, 23.5]}],
        Conventions(),
    )
    assert done.runs["section_s"].to_list() == [[24.0, None, 23.5]]


@pytest.mark.parametrize(
    ("birthday", "day", "foaled"),
    [
        # Official birthdays: 1 January in the north, 1 August in Australia (racing-standards, source S165).
        ((1, 1), date(2001, 5, 1), 1998),
        ((8, 1), date(2001, 7, 31), 1997),
        ((8, 1), date(2001, 8, 1), 1998),
        (None, date(2001, 5, 1), None),
    ],
)
def test_year_of_foaling_from_age(birthday: tuple[int, int] | None, day: date, foaled: int | None) -> None:
    """An age gives the year of foaling by the official birthday, and none where ages are not trusted."""
    done = made({"date": day}, [{"age": 3}], Conventions(birthday=birthday))
    assert done.runs["foaled"].to_list() == [foaled]


def test_times_that_contradict_are_remarked_on_and_kept() -> None:
    """A beaten horse quicker than the winner, and sections that miss the time, are told; values stay."""
    runs: list[dict[str, Any]] = [
        {"position": 1, "time_s": 70.0},
        {"position": 2, "time_s": 69.0, "beaten_lengths": 1.0, "section_s": [24.0, 23.0, 23.0]},
    ]
    done = made({"distance_m": 1200.0, "section_s": [24.0, 23.0, 23.0]}, runs, Conventions())
    assert done.notes["reason"].to_list() == [
        "a beaten horse's time is quicker than the winner's",
        "section times do not add up to the horse's own time",
    ]
    assert done.runs["time_s"].to_list() == [70.0, 69.0]
    assert done.races["winning_time_s"].to_list() == [70.0]


def test_impossible_years_of_foaling_are_emptied() -> None:
    """A published year that makes a horse younger than 1 or older than 30 is told and gives way to the age."""
    runs: list[dict[str, Any]] = [{"foaled": 2001}, {"foaled": 1970, "age": 3}, {"foaled": 2000}, {"foaled": 1971}]
    done = made({}, runs, Conventions(birthday=(1, 1)))
    assert done.runs["foaled"].to_list() == [None, 1998, 2000, 1971]
    assert done.notes.select("field", "value", "fate").rows() == [
        ("foaled", "2001", "field"),
        ("foaled", "1970", "field"),
    ]
    assert done.notes["reason"][0] == "the horse would be younger than 1 or older than 30 on the day"


def test_published_places_at_the_start_are_taken() -> None:
    """Where a source publishes places among the starters they stand, for starters only; nothing is worked out."""
    runs: list[dict[str, Any]] = [
        {"draw": 5, "started_from": 4},
        {"draw": 2},
        {"draw": 1, "started_from": 1, "outcome": "withdrawn"},
    ]
    assert made({}, runs, Conventions()).runs["started_from"].to_list() == [4, None, None]
