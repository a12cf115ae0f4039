"""What reports by hand take from the card, and what they say beside an import that holds a part of the race."""

from pathlib import Path

import polars as pl
import pytest

import programmed_yard as programmed
import worlds
from hand_reports import RESULT, declared, ours, say, told_differently, with_a_race
from upsides.books import clock
from upsides.books.queries.hand_results import hand_results
from upsides.books.services.hand_results import bring_in
from upsides.results.importing import add_frames
from upsides.results.library import Library
from upsides.results.race_cards import keep_card, read_lines

pytestmark = pytest.mark.django_db


@pytest.fixture
def library(loaded: worlds.Yard, folder: Path) -> Path:
    """A library of this test alone, with a handicap of today."""
    return with_a_race(loaded, folder)


def test_a_part_of_a_race_does_not_say_how_many_ran(loaded: worlds.Yard, library: Path) -> None:
    """An import that holds none but ours, or lacks places before them, has as many rows as it has; that more ran by the
    report is no disagreement."""
    horse = declared(library, ours(loaded))
    say(horse, **RESULT)
    races = pl.DataFrame({"race_id": ["part"], "date": [clock.today()], "course": ["Larkmoor"], "distance_m": [1600.0]})
    runs = pl.DataFrame({"race_key": ["invented:part"], "source_horse": [horse.horse_key], "horse_name": [horse.name],
                         "date": [clock.today()], "outcome": ["finished"], "position": [3]})  # fmt: skip
    add_frames(Library.open(library), races, runs, "invented")
    bring_in(library)
    assert not [line for line in told_differently(library, "invented:part") if "How many ran" in line]


def test_a_card_in_capitals_tells_the_weights(loaded: worlds.Yard, library: Path) -> None:
    """What our horse and the winner carried is taken from the card, however it writes their names: in capitals, with
    their country."""
    horse, winner = declared(library, ours(loaded)), "Marram"
    code = programmed.code_of(library, "Sedge Handicap")
    lines = read_lines(f"{horse.name.upper()} (IRE) 3 9-1\nMARRAM (GB) 1 9-6")
    keep_card(library, code, lines, clock.now())
    say(horse, place="2", ran="9", margin="1", other=winner)
    runs = hand_results(library).runs.values()
    assert {run["horse_name"]: run["carried_lb"] for run in runs} == {horse.name: 127.0, winner: 132.0}
