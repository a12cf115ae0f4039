"""Whether a race that states no surface takes a horse, whose mark may not be the same on each."""

from dataclasses import replace
from datetime import date

import pytest

from planned_races import a_horse, a_race
from upsides.placing.answers import Says
from upsides.placing.bars import bars
from upsides.placing.conditions.who import PLAIN
from upsides.placing.eligible import eligible
from upsides.placing.horse import Mark

TORN = (Mark(75, date(2025, 1, 1), "turf"), Mark(85, date(2025, 1, 1), "all-weather"))


@pytest.mark.parametrize(
    ("marks", "expected"),
    [
        ((Mark(75, date(2025, 1, 1), "turf"), Mark(75, date(2025, 2, 1), "all-weather")), Says.YES),
        (TORN, Says.UNKNOWN),
        ((Mark(90, date(2025, 1, 1), "turf"), Mark(85, date(2025, 1, 1), "all-weather")), Says.NO),
        ((Mark(68, date(2025, 1, 1), "turf"), Mark(79, date(2025, 1, 1), "all-weather")), Says.YES),
        ((Mark(75, date(2025, 1, 1), "turf"),), Says.UNKNOWN),
        ((Mark(84, date(2025, 2, 1), "all-weather"), Mark(75, date(2025, 1, 1))), Says.UNKNOWN),
        ((), Says.NO),
    ],
)
def test_a_race_without_a_surface_is_judged_by_the_marks_on_each(marks: tuple[Mark, ...], expected: Says) -> None:
    """Where the programme states no surface, marks that say the same settle it, others leave it open: never a plain no
    because of the field that is missing."""
    race = a_race("rated 66-80", kinds=frozenset({"handicap"}))
    found = {one.key: one for one in eligible(replace(a_horse(4, marks=marks), doses=()), race).findings}
    one = found.get("mark") or found["marks"]
    assert one.says is expected
    if one.key == "marks":
        assert "the race's surface is not stated; its mark is" in str(one)


def test_a_benchmark_without_a_surface_is_judged_by_the_marks_on_each() -> None:
    """The same of a race for horses about a mark: both under it is yes, else it is not known."""
    for benchmark, expected in ((88, Says.YES), (78, Says.UNKNOWN)):
        race = a_race(f"Benchmark {benchmark}", jurisdiction="AU")
        found = {one.key: one.says for one in eligible(a_horse(4, marks=TORN), race).findings}
        assert found["benchmarks"] is expected


@pytest.mark.parametrize(
    ("mark", "race", "told"),
    [("XU", "HK", True), ("GB", "HK", True), ("XU", "XU", False), ("GB", "Britain", False), ("", "HK", False)],
)
def test_a_mark_of_another_country_is_told(mark: str, race: str, *, told: bool) -> None:
    """A handicap of one country does not take a mark of another as its own without a word; its own it does, however the
    country is written, and one of which nobody says whose it is."""
    horse = replace(a_horse(), marks=(Mark(70, date(2025, 1, 1), jurisdiction=mark),))
    handicap = replace(a_race(), jurisdiction=race, kinds=frozenset({"handicap"}))
    found = [one.says for one in bars(horse, handicap, PLAIN) if one.key == "mark elsewhere"]
    assert found == ([Says.UNKNOWN] if told else [])
    assert not [one for one in bars(horse, a_race(), PLAIN) if one.key == "mark elsewhere"]
