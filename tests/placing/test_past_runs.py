"""Runs of a library as conditions ask of them."""

from datetime import date

import polars as pl

from planned_races import a_horse, a_race
from upsides.placing.answers import Says
from upsides.placing.eligible import eligible
from upsides.placing.kinds import PastRun
from upsides.placing.past_runs import past_runs
from upsides.results.schema import RACES, RUNS, polars_schema


def rows(schema: pl.Schema, *given: dict[str, object]) -> pl.DataFrame:
    """Return rows of a schema in which only some columns are filled."""
    return pl.DataFrame([dict.fromkeys(schema, None) | row for row in given], schema=schema)


def library() -> tuple[pl.DataFrame, pl.DataFrame]:
    races = rows(
        polars_schema(RACES),
        {
            "race_key": "s:2",
            "title": "Sedge Maiden Stakes (Class 5)",
            "distance_m": 1400.0,
            "surface": "turf",
            "code": "flat",
            "country": "GB",
        },
        {"race_key": "s:1", "race_class": "Group 3", "course": "Larkmoor", "code": "flat"},
    )
    runs = rows(
        polars_schema(RUNS),
        {"race_key": "s:2", "date": date(2025, 6, 1), "outcome": "finished", "position": 1, "official_rating": 70.0},
        {"race_key": "s:1", "date": date(2025, 5, 1), "outcome": "pulled_up"},
        {"race_key": "s:3", "date": date(2025, 5, 9), "outcome": "withdrawn"},
    )
    return runs, races


def test_runs_come_with_what_their_races_say() -> None:
    """Class and kind come from class and title, what a source does not say stays unknown, and a withdrawn horse has
    not run."""
    assert past_runs(*library()) == (
        PastRun(date(2025, 5, 1), None, "group 3", None, code="flat", race="Larkmoor", course="Larkmoor"),
        PastRun(
            date(2025, 6, 1),
            1,
            "5",
            frozenset({"maiden", "stakes"}),
            distance_m=1400.0,
            surface="turf",
            code="flat",
            country="GB",
            mark=70.0,
            race="Sedge Maiden Stakes (Class 5)",
        ),
    )


def test_conditions_are_asked_of_them() -> None:
    """A winner of a maiden is no maiden, and may run where only wins other than in maidens count."""
    horse = a_horse(runs=past_runs(*library()))
    found = {wording: eligible(horse, a_race(wording)) for wording in ("maidens", "have never won other than maiden")}
    said = [next(one.says for one in each.findings if one.key == "won") for each in found.values()]
    assert said == [Says.NO, Says.YES]
    worth = eligible(horse, a_race("which have not won a race worth £5,000"))
    assert "won" in {one.key for one in worth.open}
